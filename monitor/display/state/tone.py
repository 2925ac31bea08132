"""Whether a tone sounds, and which: the newest unacknowledged alarm nobody has silenced."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from monitor.display.state.alarm_rows import wants_attention
from monitor.display.state.index import Place
from monitor.display.state.severity import PRIORITIES, rank_of
from monitor.events import Event
from monitor.link.messages import AlarmState


class ToneDecision:
    """Remembers which occurrences were silenced. A new occurrence sounds again."""

    def __init__(self) -> None:
        self._silenced: set[tuple[str, int]] = set()

    def sounding(self, places: Mapping[str, Place], alarms: Mapping[str, AlarmState]) -> str:
        """Give the priority to sound, the most urgent one; empty for silence."""
        wanted = _wanting(places, alarms)
        self._silenced &= set(wanted)
        heard = [wanted[key] for key in wanted if key not in self._silenced]
        return min(heard, key=rank_of, default="")

    def is_silenced(self) -> bool:
        """Tell whether something would sound if nobody had silenced it."""
        return bool(self._silenced)

    def silence(
        self,
        places: Mapping[str, Place],
        alarms: Mapping[str, AlarmState],
        until_ns: int | None,
    ) -> None:
        """Silence all that sounds; with *until_ns*, only what was annunciated by then."""
        for alarm_id, annunciated_ns in _wanting(places, alarms):
            if until_ns is None or annunciated_ns <= until_ns:
                self._silenced.add((alarm_id, annunciated_ns))

    def heed(
        self,
        events: Iterable[Event],
        places: Mapping[str, Place],
        alarms: Mapping[str, AlarmState],
    ) -> None:
        """Take silencing from the journal: another screen may have done it."""
        for event in events:
            if event.kind == "action.silence":
                self.silence(places, alarms, event.t_ns)


def _wanting(
    places: Mapping[str, Place], alarms: Mapping[str, AlarmState]
) -> dict[tuple[str, int], str]:
    """Give the priority of each occurrence that wants attention."""
    return {
        (alarm.id, alarm.annunciated_ns): places[alarm.id].limit.priority
        for alarm in alarms.values()
        if wants_attention(alarm) and places[alarm.id].limit.priority in PRIORITIES
    }
