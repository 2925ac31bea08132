"""A recorded log in large portions, for pipelines that it was not recorded by."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from drivers.reading import Block
from monitor.events import Control
from monitor.record.frame import Frame
from monitor.record.log_reader import LogDamage, MissingSteps, read_log
from monitor.samples import Admitted, Flags

#: Size of the grid that a portion may make: rows of the fastest instrument times columns. Few
#: enough that a portion stays in the processor's cache, enough that its overhead is nothing.
_MOST_CELLS = 300_000
_MOST_FRAMES = 20_000


@dataclass(frozen=True, slots=True)
class Portion:
    """Recorded steps that are taken as one: how a run is cut changes nothing.

    Attributes:
        admitted: Their readings, without those that came too late.
        controls: Their actions, link changes and host events.
        until_ns: W of the last one.
    """

    admitted: tuple[Admitted, ...]
    controls: tuple[Control, ...]
    until_ns: int


@dataclass(frozen=True, slots=True)
class Hole:
    """Something of the log that is not there. *text* is for a person."""

    text: str


def portions(folder: Path, columns: int) -> Iterator[Portion | Hole]:
    """Read a log from its beginning.

    The states that are saved in it are left alone: they belong to the stand of the run.

    Args:
        folder: The run's folder.
        columns: Columns of the widest grid that is made of it.

    Raises:
        RecordError: There is no log, or a newer version wrote it.
    """
    frames: list[Frame] = []
    rows: Counter[str] = Counter()
    for item in read_log(folder):
        if isinstance(item, Frame):
            frames.append(item)
            for part in item.admitted:
                rows[part.block.instrument] += len(part.block.t_ns)
            most = max(rows.values(), default=0)
            if most * columns >= _MOST_CELLS or len(frames) >= _MOST_FRAMES:
                yield _portion(frames)
                frames.clear()
                rows.clear()
        elif isinstance(item, MissingSteps):
            yield Hole(f"steps {item.first} to {item.end - 1} are in no file")
        elif isinstance(item, LogDamage):
            where = f"{item.file}: {item.length} bytes from byte {item.offset}"
            yield Hole(f"{where}: {item.why}")
    if frames:
        yield _portion(frames)


def _portion(frames: Sequence[Frame]) -> Portion:
    """Put steps together."""
    return Portion(
        tuple(joined([part for frame in frames for part in frame.admitted])),
        tuple(control for frame in frames for control in frame.controls),
        frames[-1].until_ns,
    )


#: Instrument, its signals, whether the broker had kept the values.
_Origin = tuple[str, tuple[str, ...], bool]


def joined(parts: Sequence[Admitted]) -> list[Admitted]:
    """Make one block of the blocks of each instrument, where that changes nothing.

    It does where an instrument sends blocks of several kinds: of two readings of one instant
    the one that came first counts. It does not where times turn back.
    """
    by_origin: dict[_Origin, list[Admitted]] = {}
    for part in parts:
        block = part.block
        origin = (block.instrument, block.signals, block.is_old)
        by_origin.setdefault(origin, []).append(part)
    kinds = Counter(instrument for instrument, _, _ in by_origin)
    if max(kinds.values(), default=0) > 1:
        # Rare, and their order matters across origins: leave everything as it came.
        return list(parts)
    found: list[Admitted] = []
    for parts_of_one in by_origin.values():
        whole = _whole(parts_of_one)
        found += parts_of_one if whole is None else [whole]
    return found


def _whole(parts: Sequence[Admitted]) -> Admitted | None:
    """Join blocks of one origin, without what came late; None where times turn back."""
    t_ns = np.concatenate([part.block.t_ns for part in parts])
    values = np.concatenate([part.block.values for part in parts])
    if any(part.late is not None for part in parts):
        on_time: Flags = ~np.concatenate([_late(part) for part in parts])
        t_ns, values = t_ns[on_time], values[on_time]
    if not (t_ns[1:] > t_ns[:-1]).all():
        return None
    block = parts[0].block
    return Admitted(Block(block.instrument, block.signals, t_ns, values, None, block.is_old))


def _late(part: Admitted) -> Flags:
    """Give one mark a row."""
    none: Flags = np.zeros(len(part.block.t_ns), dtype=np.bool_)
    return none if part.late is None else part.late
