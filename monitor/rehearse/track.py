"""What one column did in a run, and where the test stood meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from monitor.alarms.phases import BY_CONDITIONS, start_place
from monitor.events import Event
from monitor.limits.plan import Limit, Place
from monitor.pipeline import Plan, Step
from monitor.rehearse.side import is_start
from monitor.samples import Bytes, Flags, Floats, Ints


@dataclass(frozen=True, slots=True)
class Move:
    """The test is in another place.

    Attributes:
        t_ns: Since when.
        first_ns: Rows from here on count there: those of the instant at which a phase was
            entered by itself come before it.
        place: Phase and mode.
        is_phase: Whether a phase was entered, and not a mode.
    """

    t_ns: int
    first_ns: int
    place: Place
    is_phase: bool = True


@dataclass(frozen=True, slots=True)
class Track:
    """One column through a run.

    Attributes:
        run: The run's name.
        start_ns: When it began.
        end_ns: Its last W.
        t_ns: (rows,) strictly rising.
        value: (rows,) NaN where bad.
        quality: (rows,) see :class:`monitor.samples.Quality`.
        moves: Where the test stood, by time; the first from the beginning on.
    """

    run: str
    start_ns: int
    end_ns: int
    t_ns: Ints
    value: Floats
    quality: Bytes
    moves: tuple[Move, ...]

    def stays(self) -> Iterator[tuple[Place, slice]]:
        """Give each stay in one place with its rows; some have none."""
        starts = [move.first_ns for move in self.moves[1:]]
        edges = [0, *np.searchsorted(self.t_ns, starts).tolist(), self.t_ns.size]
        for move, first, end in zip(self.moves, edges[:-1], edges[1:], strict=True):
            yield move.place, slice(first, end)

    def setpoints(self, limit: Limit) -> Floats:
        """Give (rows,) the setpoint in force; NaN while the limit is not watched or asleep."""
        found: Floats = np.full(self.t_ns.size, np.nan)
        is_awake = not limit.is_arming
        for place, rows in self.stays():
            if not limit.is_watched(place):
                is_awake = not limit.is_arming
                continue
            setpoint = limit.chosen_setpoint(place)
            first = rows.start
            if not is_awake:
                inside = np.flatnonzero(_is_inside(self.value[rows], setpoint, limit))
                is_awake = inside.size > 0
                first = rows.start + int(inside[0]) if is_awake else rows.stop
            found[first : rows.stop] = setpoint
        return found

    def beyond(self, limit: Limit) -> Flags:
        """Give (rows,) whether the value is beyond the setpoint; false where it is bad."""
        setpoint = self.setpoints(limit)
        found: Flags = self.value > setpoint if limit.is_high else self.value < setpoint
        return found


def _is_inside(value: Floats, setpoint: float, limit: Limit) -> Flags:
    """Tell (rows,) where a value is inside the band, deadband included."""
    if limit.is_high:
        return value < setpoint - limit.deadband
    return value > setpoint + limit.deadband


@dataclass(slots=True)
class TrackWriter:
    """Follows a column while a run goes by; give it each step of the pipeline.

    Attributes:
        run: The run's name.
        plan: The plan of the pipeline.
        column: The column to follow.
        start_ns: When the run began.
    """

    run: str
    plan: Plan
    column: int
    start_ns: int
    _t_ns: list[Ints] = field(default_factory=list)
    _value: list[Floats] = field(default_factory=list)
    _quality: list[Bytes] = field(default_factory=list)
    _moves: list[Move] = field(default_factory=list)
    _until_ns: int = 0

    def __post_init__(self) -> None:
        """Stand where a run begins."""
        place = start_place(self.plan.alarms)
        self._moves.append(Move(self.start_ns, self.start_ns, place))
        self._until_ns = self.start_ns

    def take(self, step: Step) -> None:
        """Take the rows and the moves of a step."""
        grid, column = step.grid, self.column
        rows = int(grid.count[column])
        self._t_ns.append(grid.t_ns[:rows, column].copy())
        self._value.append(grid.value[:rows, column].copy())
        self._quality.append(grid.quality[:rows, column].copy())
        self._until_ns = step.until_ns
        for event in step.events:
            if event.kind in ("phase.entered", "mode.entered") and not is_start(event):
                self._moves.append(self._move(event))

    def _move(self, event: Event) -> Move:
        """Tell where the test stands from an event on."""
        before = self._moves[-1].place
        is_phase = event.kind == "phase.entered"
        place = (
            Place(event.subject, before.mode)
            if is_phase
            else Place(before.phase, event.subject)
        )
        first_ns = event.t_ns + (event.fields["by"] == BY_CONDITIONS)
        return Move(event.t_ns, first_ns, place, is_phase)

    def track(self) -> Track:
        """Give all of it."""
        return Track(
            self.run,
            self.start_ns,
            self._until_ns,
            np.concatenate([*self._t_ns, np.zeros(0, np.int64)]),
            np.concatenate([*self._value, np.zeros(0)]),
            np.concatenate([*self._quality, np.zeros(0, np.uint8)]),
            tuple(self._moves),
        )
