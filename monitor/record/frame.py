"""One frame of the input log: everything the pipeline was given in one step."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.events import Control
from monitor.samples import Admitted


@dataclass(frozen=True, slots=True)
class Frame:
    """What came in one step, and how far the journal had come before it.

    Attributes:
        seq: Rising by one in the run.
        until_ns: W of this step: every reading at or before it was handed over.
        admitted: Blocks as they came, with their late marks.
        controls: Actions, link changes and host events, in their order.
        journal_count: Lines in the journal before this step.
        journal_head: Hash of the last of them, hexadecimal; empty when there are none.
    """

    seq: int
    until_ns: int
    admitted: tuple[Admitted, ...]
    controls: tuple[Control, ...]
    journal_count: int
    journal_head: str
