"""Tests for monitor.engine.collector.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np

from drivers.reading import Block
from monitor.engine.collector import Collector
from monitor.events import Control, Event, HostEvent
from monitor.samples import Admitted


def admitted(t_ns: int) -> Admitted:
    return Admitted(Block("bench", ("a",), np.array([t_ns]), np.ones((1, 1))))


def control(seq: int) -> Control:
    return Control(seq, seq, HostEvent("run_started"))


NOTE = Event(1, "action.note", "")


def test_a_frame_holds_all_steps_in_order_and_the_last_w() -> None:
    collector = Collector(next_seq=5)
    first, second = admitted(1), admitted(2)
    collector.add([first], [control(1)], [NOTE], 10)
    collector.add([second], [control(2)], [], 20)

    frame, events = collector.take()

    assert (frame.seq, frame.until_ns) == (5, 20)
    assert frame.admitted == (first, second)
    assert [row.seq for row in frame.controls] == [1, 2]
    assert events == (NOTE,)


def test_the_next_frame_starts_afresh() -> None:
    collector = Collector()
    collector.add([admitted(1)], [control(1)], [NOTE, NOTE], 10)
    collector.take()
    collector.add([], [], [], 20)

    second, events = collector.take()

    assert (second.seq, second.admitted, second.controls, events) == (2, (), (), ())
    assert collector.frames == 2


def test_it_says_what_waits() -> None:
    collector = Collector()
    told = [(collector.is_empty, collector.has_events)]
    collector.add([admitted(1)], [], [], 10)
    told.append((collector.is_empty, collector.has_events))
    collector.add([], [control(1)], [], 10)
    told.append((collector.is_empty, collector.has_events))
    collector.take()
    told.append((collector.is_empty, collector.has_events))

    assert told == [(True, False), (False, False), (False, True), (True, False)]
