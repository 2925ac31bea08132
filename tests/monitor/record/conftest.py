"""What the tests of the record share: steps with known content."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from drivers.reading import Block
from monitor.events import Action, Control, Event
from monitor.record.frame import Frame
from monitor.samples import Admitted

START_NS = 1_795_000_000_000_000_000
STEP_NS = 100_000_000


def frame_of(seq: int, *, rows: int = 5) -> Frame:
    """Give a step whose readings all follow from its number."""
    t_ns = START_NS + seq * STEP_NS + np.arange(1, rows + 1) * (STEP_NS // rows)
    counts = seq * 1000.0 + np.arange(rows)
    values = np.stack((counts, counts / 100, np.where(counts % 3 == 0, np.nan, counts)), axis=1)
    control = Control(int(t_ns[-1]), seq, Action("note", "", "A. Roe", f"step {seq}"))
    return Frame(
        seq=seq,
        until_ns=START_NS + (seq + 1) * STEP_NS,
        admitted=(Admitted(Block("panel", ("a", "b", "c"), t_ns, values)),),
        controls=(control,) if seq % 4 == 0 else (),
        journal_count=0,
        journal_head="",
    )


def plain(frame: Frame) -> object:
    """Give everything in a step but its place in the journal, to compare."""
    blocks = [
        (
            part.block.instrument,
            part.block.signals,
            part.block.t_ns.tolist(),
            part.block.values.view(np.int64).tolist(),
            None if part.block.device_ns is None else part.block.device_ns.tolist(),
            part.block.is_old,
            None if part.late is None else part.late.tolist(),
        )
        for part in frame.admitted
    ]
    return (frame.seq, frame.until_ns, blocks, frame.controls)


@pytest.fixture
def make_frame() -> Callable[..., Frame]:
    """Give :func:`frame_of`."""
    return frame_of


@pytest.fixture
def flat() -> Callable[[Frame], object]:
    """Give :func:`plain`."""
    return plain


@pytest.fixture
def make_event() -> Callable[[int], Event]:
    """Give what makes the event of a number."""

    def make(number: int) -> Event:
        fields = {"number": number, "value": number / 8, "text": "drück", "none": None}
        return Event(START_NS + number * STEP_NS, "action.note", f"PT-{number}", dict(fields))

    return make
