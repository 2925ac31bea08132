"""Tests for monitor.rehearse.together.

Source: hand-worked here.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from monitor.errors import StandError
from monitor.rehearse.subject import SuggestError
from monitor.rehearse.together import rehearse_all
from tests.monitor.replay.conftest import Bench


@pytest.fixture
def two(bench: Any, tmp_path: Path) -> list[Path]:
    """Record two runs, one of three seconds and one of seven."""
    other = Bench(tmp_path / "other")
    for one, bars in ((bench, [12]), (other, [1, 12, 1, 12, 1])):
        one.ramp(bars)
        one.close()
    return [bench.folder, other.folder]


def test_runs_are_told_in_the_order_in_which_they_were_named(
    two: list[Path], new_stand: Any
) -> None:
    found = rehearse_all(two[::-1], new_stand(("setpoint = 10", "setpoint = 13")))

    lost = [
        sum(len(row.differences) for row in one.limits if row.differs) for one in found.outcomes
    ]
    assert lost == [2, 1]
    assert found.suggestion is None


def test_a_suggestion_is_made_from_all_runs(two: list[Path], new_stand: Any) -> None:
    found = rehearse_all(two, new_stand(), "PT-1.high")

    assert found.suggestion is not None
    assert found.suggestion.verdicts[0].alarms == 3


def test_the_bar_goes_through_all_runs_by_their_length(two: list[Path], new_stand: Any) -> None:
    shares: list[float] = []
    rehearse_all(two, new_stand(), progress=shares.append)

    assert shares == [pytest.approx(0.3), 1.0]


def test_a_journal_that_is_not_there_does_not_matter(two: list[Path], new_stand: Any) -> None:
    shares: list[float] = []
    for folder in two:
        (folder / "journal.jsonl").unlink()
    rehearse_all(two, new_stand(), progress=shares.append)

    assert shares[-1] == 1.0


@pytest.mark.parametrize("limit", ["PT-9.high", "PT-1.stale"])
def test_what_can_be_refused_is_refused_before_any_reading(
    two: list[Path], new_stand: Any, limit: str
) -> None:
    shares: list[float] = []
    with pytest.raises(SuggestError):
        rehearse_all(two, new_stand(), limit, shares.append)

    assert shares == []


def test_a_stand_that_does_not_fit_the_second_run_is_refused_at_once(
    two: list[Path], new_stand: Any
) -> None:
    copy = two[1] / "stand.toml"
    copy.write_text(
        copy.read_text().replace('"counts"', '"others"').replace("panel.counts", "panel.others")
    )
    shares: list[float] = []

    with pytest.raises(StandError, match=r"'panel.counts' was not recorded"):
        rehearse_all(two, new_stand(), progress=shares.append)
    assert shares == []
