"""Tests for monitor.loading.

Source: hand-worked here.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import monitor.stand.load
from monitor.alarms.plan import AlarmsPlan
from monitor.channels.plan import ChannelsPlan
from monitor.errors import Problem
from monitor.loading import load
from monitor.pipeline import Plan
from monitor.stand.model import Stand


def test_an_unfit_stand_file_ends_the_command_and_says_how_much_is_to_mend(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bench.toml"
    path.write_text("[stand]\nnaem = 'bench'\n", encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        load(path, {})

    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert "did you mean 'name'?" in said
    assert f"to mend in {path}; nothing was started." in said


def test_a_fit_one_is_given_with_its_warnings_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    slow = Problem("bench.toml", 9, "channels.PT-2.limits", "slow", is_warning=True)
    plan = Plan(ChannelsPlan(()), (), AlarmsPlan((), ()))
    stand = Stand("bench", "", 0, (), (), (), (), plan, "", (slow,))
    monkeypatch.setattr(monitor.stand.load, "load_stand", lambda *_: stand)

    assert load(tmp_path / "bench.toml", {}) is stand
    assert capsys.readouterr() == ("", f"{slow}\n")
