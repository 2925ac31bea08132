"""What the displays are told: the newest state, and what changed since a display last looked.

Any number of displays share one board. None of them costs memory here, however slow it is:
who has fallen behind what is kept gets a new snapshot.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from monitor.engine.backlog import Backlog
from monitor.engine.history import History
from monitor.engine.rows import Rows, joined, rows_of
from monitor.engine.supervise import LinkRecord
from monitor.events import Event
from monitor.link.messages import (
    AlarmState,
    Change,
    Column,
    ForcedState,
    LinkState,
    PhaseState,
    RecordingState,
    Snapshot,
    StandInfo,
    Value,
)
from monitor.pipeline import Step
from monitor.samples import FIRST_BAD, Bytes, Floats, Grid, Ints

#: Events in a snapshot.
_SNAPSHOT_EVENTS = 2_000
#: How often W alone is worth telling, in seconds of real time.
_EMPTY_S = 0.25

_NO_ROWS = Grid(
    np.zeros((0, 0), np.int64),
    np.zeros((0, 0)),
    np.zeros((0, 0), np.uint8),
    np.zeros(0, np.int64),
)


class Standing(Protocol):
    """What stands at W, read from the pipeline."""

    def phase(self) -> PhaseState:
        """Give the phase and since when."""

    def alarm(self, position: int) -> AlarmState:
        """Give where the alarm of that position stands."""

    def forced(self) -> list[ForcedState]:
        """Give the values that are forced by hand."""

    def newest(self) -> tuple[Ints, Floats, Bytes]:
        """Give time, value and quality of each channel's newest sample, in people's order."""


@dataclass(frozen=True, slots=True)
class RunFacts:
    """What does not change in a run.

    Attributes:
        run_id: Name of the run folder.
        started_ns: When the run began, in data time.
        speed: Seconds of data time in a real second.
        stand: The stand as displays need it.
        columns: Column in the grid of each of the stand's channels.
        alarms: How many alarms there are.
    """

    run_id: str
    started_ns: int
    speed: float
    stand: StandInfo
    columns: Ints
    alarms: int


class Board:
    """Keeps what displays are shown. Everything published gets a rising number.

    Args:
        facts: What does not change.
        standing: What stands at W.
        links: The links of the instruments, by name; looked at in :meth:`note_links`.
        recording: How the recording stands now.

    Attributes:
        seq: Number of the newest thing published.
        urgent_seq: Number of the newest event: displays are told of it at once.
        until_ns: W of the newest step.
        history: The past of the run.
        listeners: Called after each thing published.
    """

    def __init__(
        self,
        facts: RunFacts,
        standing: Standing,
        links: Mapping[str, LinkRecord],
        recording: RecordingState,
    ) -> None:
        """Start with nothing published."""
        self.seq = 1
        self.urgent_seq = 1
        self.until_ns = facts.started_ns
        self.history = History(len(facts.columns), facts.started_ns)
        self.listeners: set[Callable[[], None]] = set()
        self._facts = facts
        self._standing = standing
        self._links = links
        self._backlog = Backlog()
        self._next_empty_ns = 0
        self._unremembered: list[Rows] = []
        self._alarm_seq = np.zeros(facts.alarms, np.int64)
        self._position = {standing.alarm(i).id: i for i in range(facts.alarms)}
        self._phase = (1, standing.phase())
        self._forced = (1, standing.forced())
        self._recording = (1, recording)
        self._health: tuple[int, dict[str, float]] = (1, {})
        self._told: dict[str, tuple[int, LinkState]] = {}

    def publish(self, step: Step) -> None:
        """Publish what a step gave. The history takes it later, in :meth:`remember`."""
        self.until_ns = step.until_ns
        rows = rows_of(step.grid, self._facts.columns)
        is_empty = not (len(rows) or step.events or step.changed_alarms)
        if is_empty and step.until_ns < self._next_empty_ns:
            return
        self._next_empty_ns = step.until_ns + int(_EMPTY_S * 1e9 * self._facts.speed)
        self.seq += 1
        self._backlog.add(self.seq, rows, step.events)
        if len(rows):
            self._unremembered.append(rows)
        if step.events or step.changed_alarms:
            self.urgent_seq = self.seq
            self._note_alarms(step)
        self._call_listeners()

    def _note_alarms(self, step: Step) -> None:
        """Note whose state changed, and who else is judged by other setpoints from now on."""
        self._alarm_seq[list(step.changed_alarms)] = self.seq
        for event in step.events:
            # An edit, or a limit that wakes, changes what is in force though no alarm turned.
            if event.kind.startswith("limit.") and event.subject in self._position:
                self._alarm_seq[self._position[event.subject]] = self.seq
        phase = self._standing.phase()
        if phase != self._phase[1]:
            self._phase = (self.seq, phase)
            self._alarm_seq[:] = self.seq
        forced = self._standing.forced()
        if forced != self._forced[1]:
            self._forced = (self.seq, forced)

    def recall(self, events: Sequence[Event]) -> None:
        """Show events from before a restart."""
        self.seq += 1
        self._backlog.add(self.seq, rows_of(_NO_ROWS, self._facts.columns[:0]), events)

    def remember(self) -> None:
        """Let the history take what was published; apart, because displays come first."""
        for rows in self._unremembered:
            self.history.push(rows)
        self._unremembered.clear()

    def note_links(self) -> None:
        """Publish links whose state or counters changed."""
        for name, link in self._links.items():
            state = _link_state(link)
            if name not in self._told or state != self._told[name][1]:
                self.seq += 1
                self._told[name] = (self.seq, state)
        self._call_listeners()

    def note_recording(self, recording: RecordingState) -> None:
        """Publish how the recording stands, if that changed."""
        if recording != self._recording[1]:
            self.seq += 1
            self._recording = (self.seq, recording)
            self._call_listeners()

    def note_health(self, health: dict[str, float]) -> None:
        """Publish how the engine is doing."""
        self.seq += 1
        self._health = (self.seq, health)
        self._call_listeners()

    def snapshot(self) -> Snapshot:
        """Give everything a display needs to start."""
        facts = self._facts
        return Snapshot(
            seq=self.seq,
            until_ns=self.until_ns,
            run_id=facts.run_id,
            started_ns=facts.started_ns,
            speed=facts.speed,
            stand=facts.stand,
            phase=self._standing.phase(),
            values=_values(*self._standing.newest()),
            alarms=[self._standing.alarm(i) for i in range(facts.alarms)],
            events=self._backlog.newest_events(_SNAPSHOT_EVENTS),
            links=[_link_state(link) for link in self._links.values()],
            recording=self._recording[1],
            health=self._health[1],
            forced=self._standing.forced(),
        )

    def change_since(self, seq: int) -> Snapshot | Change:
        """Give what was published after *seq*; everything when that is too long ago."""
        if not self._backlog.reaches(seq):
            return self.snapshot()
        rows = self._backlog.rows_since(seq)
        changed = np.flatnonzero(self._alarm_seq > seq).tolist()
        return Change(
            seq=self.seq,
            until_ns=self.until_ns,
            columns=_columns(joined(rows)) if rows else [],
            alarms=[self._standing.alarm(position) for position in changed],
            events=self._backlog.events_since(seq),
            links=[state for number, state in self._told.values() if number > seq],
            phase=self._phase[1] if self._phase[0] > seq else None,
            recording=self._recording[1] if self._recording[0] > seq else None,
            health=self._health[1] if self._health[0] > seq else None,
            forced=self._forced[1] if self._forced[0] > seq else None,
        )

    def _call_listeners(self) -> None:
        for listener in self.listeners:
            listener()


def _columns(rows: Rows) -> list[Column]:
    """Encode rows, a column for each channel that got some."""
    t_ns, value, quality = (
        rows.t_ns.data.cast("B"),
        rows.value.data.cast("B"),
        rows.quality.data,
    )
    start = rows.start.tolist()
    return [
        Column(
            channel,
            bytes(t_ns[8 * first : 8 * last]),
            bytes(value[8 * first : 8 * last]),
            bytes(quality[first:last]),
        )
        for channel, first, last in zip(rows.channel.tolist(), start, start[1:], strict=False)
    ]


def _values(t_ns: Ints, value: Floats, quality: Bytes) -> list[Value]:
    """Encode the newest samples; a bad one has no number."""
    numbers = zip(t_ns.tolist(), value.tolist(), quality.tolist(), strict=True)
    return [Value(t, v if q < FIRST_BAD and v == v else None, q) for t, v, q in numbers]


def _link_state(link: LinkRecord) -> LinkState:
    """Give a link's state as of now."""
    return LinkState(
        instrument=link.instrument,
        is_up=link.is_up,
        since_ns=link.since_ns,
        why=link.why,
        cure=link.cure,
        readings=link.readings,
        last_reading_ns=link.last_reading_ns,
        counts=dict(link.counts),
        examples=dict(link.examples),
    )
