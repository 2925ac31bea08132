"""Tests for monitor.rehearse.feed.

Source: hand-worked here.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from drivers.reading import Block
from monitor.events import HostEvent
from monitor.pipeline import Pipeline
from monitor.record.log_reader import read_log
from monitor.rehearse.feed import Hole, Portion, joined, portions
from monitor.samples import Admitted


def block(
    times: list[int],
    instrument: str = "a",
    signals: tuple[str, ...] = ("x",),
    late: list[bool] | None = None,
) -> Admitted:
    """Make a block whose values are its times."""
    t_ns = np.array(times)
    values = np.repeat(t_ns[:, None].astype(float), len(signals), axis=1)
    marks = None if late is None else np.array(late)
    return Admitted(Block(instrument, signals, t_ns, values), marks)


def times(parts: list[Admitted]) -> list[tuple[str, list[int]]]:
    """Give the times of each block."""
    return [(part.block.instrument, part.block.t_ns.tolist()) for part in parts]


def test_blocks_of_one_instrument_become_one() -> None:
    whole = joined([block([1, 2]), block([5], "b"), block([3]), block([6, 7], "b")])

    assert times(whole) == [("a", [1, 2, 3]), ("b", [5, 6, 7])]
    assert whole[0].block.values[:, 0].tolist() == [1.0, 2.0, 3.0]


def test_rows_that_came_too_late_are_left_out() -> None:
    whole = joined([block([1, 2]), block([0, 3], late=[True, False]), block([4])])

    assert times(whole) == [("a", [1, 2, 3, 4])]
    assert whole[0].late is None


def test_times_that_turn_back_are_left_as_they_came() -> None:
    parts = [block([1, 5]), block([3])]

    assert joined(parts) == parts


def test_an_instrument_that_sends_blocks_of_two_kinds_is_left_as_it_came() -> None:
    parts = [block([1]), block([1], signals=("x", "y")), block([2])]

    assert joined(parts) == parts


def test_what_the_broker_kept_stays_apart() -> None:
    fresh = block([1])
    old = Admitted(Block("a", ("x",), np.array([2]), np.array([[2.0]]), None, True))

    assert joined([fresh, old]) == [fresh, old]


def test_a_log_comes_in_portions_with_everything_in_it(bench: Any) -> None:
    bench.ramp([1, 2, 3])
    bench.close()

    found = list(portions(bench.folder, 5))

    assert len(found) == 1
    (portion,) = found
    assert isinstance(portion, Portion)
    assert [len(part.block.t_ns) for part in portion.admitted] == [12]
    assert [control.what.what for control in portion.controls] == ["run_started", "run_closed"]
    assert portion.until_ns == bench.pipeline.until_ns


@pytest.mark.parametrize(
    ("most", "value", "expected"),
    [("_MOST_CELLS", 40, [2, 2, 1]), ("_MOST_FRAMES", 2, [1, 2, 2, 0])],
)
def test_a_portion_is_bounded(
    bench: Any, monkeypatch: pytest.MonkeyPatch, most: str, value: int, expected: list[int]
) -> None:
    # Seven steps: the start, five of four rows (20 cells in five columns), the end.
    bench.ramp([1, 2, 3, 4, 5])
    bench.close()
    monkeypatch.setattr(f"monitor.rehearse.feed.{most}", value)

    found = [
        sum(len(part.block.t_ns) for part in item.admitted) // 4
        for item in portions(bench.folder, 5)
        if isinstance(item, Portion)
    ]

    assert found == expected


def test_portions_give_the_same_events_as_the_steps_of_the_record(bench: Any) -> None:
    bench.ramp([1, 12, 3])
    late = bench.block(16)
    bench.ramp([12, 1])
    bench.step((Admitted(late.block, late.block.t_ns > 0), bench.block(5)))
    bench.say(HostEvent("readings_dropped", "x", {"rows": 3}))
    bench.close()
    start_ns = bench.pipeline.until_ns - 9 * 10**9
    steps, whole = Pipeline(bench.plan, start_ns), Pipeline(bench.plan, start_ns)
    by_steps = [
        event
        for frame in read_log(bench.folder)
        if hasattr(frame, "admitted")
        for event in steps.step(frame.admitted, frame.controls, frame.until_ns).events
    ]

    by_portions = [
        event
        for item in portions(bench.folder, 5)
        if isinstance(item, Portion)
        for event in whole.step(item.admitted, item.controls, item.until_ns).events
    ]

    assert by_portions == by_steps
    assert len(by_steps) > 5


def test_what_is_missing_is_told_where_it_is_missing(bench: Any) -> None:
    bench.ramp([1])
    bench.step((bench.block(5),), is_recorded=False)
    bench.ramp([2])
    bench.close()

    found = [item for item in portions(bench.folder, 5) if isinstance(item, Hole)]

    assert found == [Hole("steps 3 to 3 are in no file")]
