"""Tests for monitor.record.tally.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.events import Event
from monitor.record.tally import ChannelTally, EventTally
from monitor.samples import Quality

S = 1_000_000_000


def add(tally: ChannelTally, *rows: tuple[float, float, int]) -> None:
    """Add rows of time in s, value and quality."""
    t_s, value, quality = (np.array(each) for each in zip(*rows, strict=True))
    tally.add((t_s * S).astype(np.int64), value.astype(float), quality.astype(np.uint8))


def test_good_and_uncertain_values_are_counted_and_bad_time_is_summed() -> None:
    tally = ChannelTally(start_ns=0)
    add(tally, (2, 10.0, Quality.GOOD), (3, 14.0, Quality.FORCED), (4, np.nan, Quality.STALE))
    add(tally, (5, np.nan, Quality.STALE))
    add(tally, (7, 6.0, Quality.GOOD), (8, np.nan, Quality.CURRENT_FAULT))

    # Bad: 2 s until the first value, 4 to 7, and 8 to the end.
    assert tally.result(10 * S) == {
        "samples": 6,
        "good": 3,
        "min": 6.0,
        "max": 14.0,
        "mean": 10.0,
        "bad_s": 2 + 3 + 2,
    }


def test_a_channel_that_never_gave_a_value_was_bad_all_the_time() -> None:
    tally = ChannelTally(start_ns=5 * S)
    tally.add(np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.uint8))

    assert tally.result(9 * S) == {
        "samples": 0,
        "good": 0,
        "min": None,
        "max": None,
        "mean": None,
        "bad_s": 4.0,
    }


def test_a_channel_that_stays_good_is_not_bad_at_the_end() -> None:
    tally = ChannelTally(start_ns=0)
    add(tally, (0, 1.0, Quality.GOOD))

    assert tally.result(9 * S)["bad_s"] == 0


def event(t_s: float, kind: str, subject: str = "", **fields: object) -> Event:
    """Give an event."""
    return Event(int(t_s * S), kind, subject, fields)  # type: ignore[arg-type]


def test_alarms_are_counted_with_the_time_their_condition_stood() -> None:
    tally = EventTally()
    tally.add([event(1, "alarm.raised", "PT-1.high"), event(2, "condition.on", "FT-1.low")])
    tally.add([event(3, "alarm.cleared", "PT-1.high"), event(3.5, "condition.off", "FT-1.low")])
    tally.add([event(5, "alarm.raised", "PT-1.high"), event(6, "alarm.cleared", "XX-9.low")])

    assert tally.alarms(9 * S) == {
        "FT-1.low": {"raised": 1, "active_s": 1.5},
        "PT-1.high": {"raised": 2, "active_s": 2 + 4},
    }


def test_phases_last_until_the_next_one() -> None:
    tally = EventTally()
    tally.add([event(1, "phase.entered", "ground"), event(4, "phase.entered", "climb")])
    tally.add([event(9, "phase.entered", "ground")])

    assert tally.phases(10 * S) == [
        {"name": "ground", "since_ns": 1 * S, "lasted_s": 3.0},
        {"name": "climb", "since_ns": 4 * S, "lasted_s": 5.0},
        {"name": "ground", "since_ns": 9 * S, "lasted_s": 1.0},
    ]
    assert EventTally().phases(S) == []


@pytest.mark.parametrize(
    ("kinds", "is_closed", "resumes"),
    [
        ([], False, 0),
        (["run.started"], False, 0),
        (["run.started", "run.closed"], True, 0),
        (["run.started", "run.closed", "run.resumed"], False, 1),
        (["run.started", "run.resumed", "run.closed", "link.down"], True, 1),
    ],
)
def test_the_newest_word_says_whether_a_run_is_closed(
    kinds: list[str], is_closed: bool, resumes: int
) -> None:
    tally = EventTally()
    tally.add([event(number, kind) for number, kind in enumerate(kinds)])

    assert (tally.is_closed, tally.resumes) == (is_closed, resumes)


def test_drops_and_stops_are_summed() -> None:
    tally = EventTally()
    tally.add([event(1, "readings.dropped", rows=3), event(2, "readings.dropped", rows=4)])
    tally.add([event(3, "recording.stopped"), event(4, "readings.dropped", detail="?")])

    assert (tally.dropped_rows, tally.stops) == (7, 1)
