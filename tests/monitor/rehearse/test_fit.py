"""Tests for monitor.rehearse.fit.

Source: hand-worked here.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from monitor.channels.plan import Measured
from monitor.errors import StandError
from monitor.rehearse.fit import load_new, notes_on
from monitor.stand.load import load_stand
from monitor.stand.model import Stand
from tests.monitor.replay.conftest import KIND, START_NS

KINDS = {"pretended": KIND}


@pytest.fixture
def old(new_stand: Any) -> Stand:
    """Give the stand of a run."""
    return load_stand(new_stand(), KINDS, today=date(2020, 5, 1))


def load(path: Path, old: Stand) -> Stand:
    """Load a stand for that run."""
    return load_new(path, KINDS, "run-1", old, START_NS)


def test_calibrations_are_judged_as_of_the_day_of_the_run(old: Stand, new_stand: Any) -> None:
    due = load(new_stand(("due = 2020-06-01", "due = 2020-05-01")), old)
    over = load(new_stand(("due = 2020-06-01", "due = 2020-04-30")), old)

    rows = [stand.plan.channels.measured[0] for stand in (due, over)]
    assert [isinstance(row, Measured) and row.is_calibration_overdue for row in rows] == [
        False,
        True,
    ]


def test_a_mistake_in_the_new_stand_is_told(old: Stand, new_stand: Any) -> None:
    with pytest.raises(StandError, match="baar"):
        load(new_stand(('unit = "bar"\nsource', 'unit = "baar"\nsource')), old)


def test_a_channel_of_a_signal_that_no_channel_used_is_allowed(
    new_stand: Any, tmp_path: Path
) -> None:
    # Everything that an instrument sends is recorded, used or not.
    path = new_stand(('fields = ["ma", "counts"]', 'fields = ["ma", "counts", "spare"]'))
    run = load_stand(path, KINDS, today=date(2020, 5, 1))
    new = new_stand(
        ('fields = ["ma", "counts"]', 'fields = ["ma", "counts", "spare"]'),
        ('"panel.counts"', '"panel.spare"'),
    )

    assert load(new, run).channels[1].signal == "spare"


def test_every_signal_that_is_not_there_is_told_at_once(old: Stand, new_stand: Any) -> None:
    new = new_stand(
        ("[instruments.panel]", "[instruments.other]"),
        ('"panel.ma"', '"other.ma"'),
        ('"panel.counts"', '"other.counts"'),
    )

    with pytest.raises(StandError) as caught:
        load(new, old)

    assert [problem.key for problem in caught.value.problems] == [
        "channels.PT-1.source",
        "channels.TT-1.source",
    ]


def test_of_the_same_stand_nothing_is_noted(old: Stand, new_stand: Any) -> None:
    assert notes_on(old, load(new_stand(), old)) == []


def test_instruments_that_are_new_or_set_up_otherwise_are_noted(
    old: Stand, new_stand: Any
) -> None:
    extra = '[instruments.extra]\nkind = "pretended"\nfields = ["x"]\n\n[instruments.panel]'
    new = new_stand(
        ("[instruments.panel]", extra),
        ('fields = ["ma", "counts"]', 'fields = ["counts", "ma"]'),
    )

    assert notes_on(old, load(new, old)) == [
        "extra was not there: its link counts as up all the time",
        "panel is set up otherwise: what it sent then is used",
    ]


def test_a_mode_that_is_no_more_is_noted(old: Stand, new_stand: Any) -> None:
    modes = (
        '[[modes]]\nname = "normal"\n\n[[modes]]\nname = "loop"\n\n[[phases]]\nname = "ground"'
    )
    with_modes = load(new_stand(('[[phases]]\nname = "ground"', modes)), old)

    assert notes_on(with_modes, old) == ["has no mode 'normal', 'loop'"]
