"""Tests for monitor.engine.only_one.

Source: Hand-worked here.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from monitor.engine.only_one import only_engine
from monitor.errors import LinkError


def test_a_second_engine_is_refused_while_the_first_lives(tmp_path: Path) -> None:
    with (
        only_engine(tmp_path),
        pytest.raises(LinkError, match="another watch was started"),
        only_engine(tmp_path),
    ):
        raise AssertionError("both hold it")


def test_the_next_engine_may_have_it(tmp_path: Path) -> None:
    with only_engine(tmp_path / "new"):
        pass

    with only_engine(tmp_path / "new"):
        held = (tmp_path / "new" / "engine.lock").exists()

    assert held
