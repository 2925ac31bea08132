"""Tests for monitor.engine.waiting.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np

from drivers.reading import Block
from monitor.engine.waiting import Waiting
from monitor.events import Event
from monitor.record.frame import Frame
from monitor.samples import Admitted

#: Bytes that a frame of one row and one signal counts for: two numbers, and the rest of it.
ONE = 16 + 1000


def frame(seq: int, rows: int = 1) -> Frame:
    """Give a step; its W is ten times its number."""
    block = Block("panel", ("a",), np.arange(rows), np.zeros((rows, 1)))
    return Frame(seq, 10 * seq, (Admitted(block),), (), 0, "")


def event(number: int) -> Event:
    """Give an event."""
    return Event(number, "action.note", str(number))


def seqs(waiting: Waiting) -> list[tuple[list[int], list[int], bytes]]:
    """Take everything; give numbers of steps and of events, and the state, of each batch."""
    got = []
    while not waiting.is_empty:
        batch = waiting.take()
        steps = [frame.seq for frame in batch.frames]
        got.append((steps, [event.t_ns for event in batch.events], batch.state))
    return got


def test_steps_are_taken_together_up_to_the_first_that_made_events() -> None:
    waiting = Waiting(0)
    for seq in range(1, 6):
        waiting.put(frame(seq), [event(seq)] if seq == 3 else [], b"")

    assert len(waiting) == 5
    assert seqs(waiting) == [([1, 2, 3], [3], b""), ([4, 5], [], b"")]
    assert (len(waiting), waiting.size) == (0, 0)


def test_a_state_ends_a_batch_too() -> None:
    waiting = Waiting(0)
    waiting.put(frame(1), [], b"")
    waiting.put(frame(2), [], b"state")
    waiting.put(frame(3), [], b"")
    assert waiting.has_state

    assert seqs(waiting) == [([1, 2], [], b"state"), ([3], [], b"")]
    assert not waiting.has_state


def test_a_batch_is_bounded() -> None:
    waiting = Waiting(0)
    for seq in range(1, 5):
        # 200 000 rows of two numbers: two of them are more than a pack.
        waiting.put(frame(seq, 200_000), [], b"")

    assert [steps for steps, _, _ in seqs(waiting)] == [[1, 2], [3, 4]]


def test_the_oldest_readings_are_dropped_and_their_events_kept() -> None:
    waiting = Waiting(until_ns=7, most_bytes=2 * ONE)
    for seq in range(1, 6):
        waiting.put(frame(seq), [event(seq)] if seq in (1, 3, 5) else [], b"")

    assert (waiting.lost_frames, waiting.lost_events, waiting.size) == (3, 0, 2 * ONE)
    # From the W before the first step to that of the last one dropped.
    assert waiting.lost_ns == 30 - 7
    assert seqs(waiting) == [([], [1, 3], b""), ([4, 5], [5], b"")]


def test_a_loss_counts_from_the_last_step_taken() -> None:
    waiting = Waiting(until_ns=0, most_bytes=ONE)
    waiting.put(frame(1), [], b"")
    waiting.take()
    assert waiting.lost_ns == 0
    for seq in (2, 3, 4):
        waiting.put(frame(seq), [], b"")
    assert waiting.lost_ns == 30 - 10

    waiting.forget_loss()

    assert (waiting.lost_frames, waiting.lost_ns) == (0, 0)


def test_a_dropped_state_no_longer_waits() -> None:
    waiting = Waiting(until_ns=0, most_bytes=ONE)
    waiting.put(frame(1), [], b"s")
    waiting.put(frame(2), [], b"")

    assert not waiting.has_state


def test_one_frame_is_kept_however_large() -> None:
    waiting = Waiting(until_ns=0, most_bytes=1)
    waiting.put(frame(1, 100), [], b"")

    assert waiting.lost_frames == 0
    assert seqs(waiting) == [([1], [], b"")]


def test_events_are_bounded_and_what_is_dropped_is_counted() -> None:
    waiting = Waiting(until_ns=0, most_bytes=ONE, most_events=3)
    for seq in range(1, 5):
        waiting.put(frame(seq), [event(2 * seq), event(2 * seq + 1)], b"")

    assert waiting.lost_events == 3
    assert seqs(waiting) == [([], [5, 6, 7], b""), ([4], [8, 9], b"")]
