"""Everything the display knows, built from a Snapshot and brought up to date by Changes."""

from __future__ import annotations

from collections import deque

import numpy as np

from monitor.display.state.clock import DataClock
from monitor.display.state.index import StandIndex
from monitor.display.state.series import Series
from monitor.events import Event
from monitor.link.messages import (
    AlarmState,
    Change,
    Column,
    ForcedState,
    LinkState,
    Part,
    PhaseState,
    RecordingState,
    Snapshot,
    Value,
)
from monitor.samples import FIRST_BAD

#: Newest lines of the journal that the display keeps; the journal itself keeps all.
KEPT_EVENTS = 2000


class Model:
    """One run as the display knows it.

    Attributes:
        values: Newest sample of each channel, in the order of the stand.
        since_ns: When each channel's quality became what it is.
        series: Past of each channel.
        forced: Values that people have set, by tag.
        first_ns: W of the snapshot: what holds since then may have held for longer.
        event_total: Lines of the journal taken, those no longer held included.
        strange: Parts of messages that named a channel or alarm the stand does not have.
        late_history: Parts of history that came too late to be put in.
    """

    def __init__(self, snapshot: Snapshot, mono_ns: int) -> None:
        """Start from *snapshot*, taken at *mono_ns* of the display's monotonic clock."""
        self.index = StandIndex(snapshot.stand)
        self.run_id = snapshot.run_id
        self.started_ns = snapshot.started_ns
        self.first_ns = snapshot.until_ns
        self.until_ns = snapshot.until_ns
        self.clock = DataClock(self._engine_now(snapshot.until_ns), mono_ns, snapshot.speed)
        self.phase: PhaseState = snapshot.phase
        self.values: list[Value] = list(snapshot.values)
        self.since_ns = [value.t_ns for value in snapshot.values]
        self.series = [Series() for _ in snapshot.values]
        self.alarms: dict[str, AlarmState] = {}
        self.events: deque[Event] = deque(maxlen=KEPT_EVENTS)
        self.links: dict[str, LinkState] = {link.instrument: link for link in snapshot.links}
        self.recording: RecordingState = snapshot.recording
        self.health: dict[str, float] = dict(snapshot.health)
        self.event_total = 0
        self.strange = 0
        self.late_history = 0
        self.forced = _by_tag(snapshot.forced)
        self._take_alarms(snapshot.alarms)
        self._take_events(snapshot.events)

    def _engine_now(self, until_ns: int) -> int:
        """Tell the engine's present from the W that it worked up to."""
        return until_ns + int(self.index.stand.lag_s * 1e9)

    def apply(self, change: Change, mono_ns: int) -> None:
        """Take what is new."""
        self.until_ns = change.until_ns
        self.heard(self._engine_now(change.until_ns), mono_ns)
        for column in change.columns:
            self._take_column(column)
        self._take_alarms(change.alarms)
        self._take_events(change.events)
        self.links.update({link.instrument: link for link in change.links})
        self.phase = change.phase or self.phase
        self.recording = change.recording or self.recording
        if change.health is not None:
            self.health = dict(change.health)
        if change.forced is not None:
            self.forced = _by_tag(change.forced)

    def heard(self, now_ns: int, mono_ns: int) -> None:
        """Set the data clock by what the engine said."""
        self.clock = self.clock.heard(now_ns, mono_ns)

    def take_part(self, part: Part) -> None:
        """Put history in front of what is there."""
        if not 0 <= part.channel < len(self.series):
            self.strange += 1
            return
        t_ns = np.frombuffer(part.t_ns, "<i8")
        value = np.frombuffer(part.value, "<f8")
        if not self.series[part.channel].put_before(t_ns, value):
            self.late_history += 1

    def _take_column(self, column: Column) -> None:
        """Take new rows of one channel."""
        quality = np.frombuffer(column.quality, np.uint8)
        if not 0 <= column.channel < len(self.series):
            self.strange += 1
            return
        if quality.size == 0:
            return
        t_ns = np.frombuffer(column.t_ns, "<i8")
        value = np.frombuffer(column.value, "<f8")
        bad = quality >= FIRST_BAD
        if bad.any():
            value = np.where(bad, np.nan, value)
        self.series[column.channel].append(t_ns, value)
        newest = None if bad[-1] or not np.isfinite(value[-1]) else float(value[-1])
        self._note_quality(column.channel, t_ns, quality)
        self.values[column.channel] = Value(int(t_ns[-1]), newest, int(quality[-1]))

    def _note_quality(
        self,
        channel: int,
        t_ns: np.ndarray[tuple[int], np.dtype[np.int64]],
        quality: np.ndarray[tuple[int], np.dtype[np.uint8]],
    ) -> None:
        """Remember since when the newest quality has held."""
        other = np.flatnonzero(quality != quality[-1])
        if other.size:
            self.since_ns[channel] = int(t_ns[other[-1] + 1])
        elif self.values[channel].quality != quality[-1]:
            self.since_ns[channel] = int(t_ns[0])

    def _take_alarms(self, alarms: list[AlarmState]) -> None:
        """Take the newest state of alarms."""
        for alarm in alarms:
            if alarm.id in self.index.limits:
                self.alarms[alarm.id] = alarm
            else:
                self.strange += 1

    def _take_events(self, events: list[Event]) -> None:
        """Add lines to the event list."""
        self.event_total += len(events)
        self.events.extend(events)


def _by_tag(forced: list[ForcedState]) -> dict[str, ForcedState]:
    """Give forced values by their channels."""
    return {one.tag: one for one in forced}
