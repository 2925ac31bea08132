"""Who inhibited something and why, since when and until when; by the journal where it tells."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.index import Place
from monitor.display.state.model import Model
from monitor.display.state.text import clock_text, duration_text
from monitor.events import Event
from monitor.link.messages import AlarmState, ForcedState

_SHELVED, _OUT = "shelved by ", "out of service by "


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something is inhibited, since when and until when."""

    why: str
    since: str
    until: str


class Reasons:
    """Finds reasons for one look at a run."""

    def __init__(self, model: Model, now_ns: int) -> None:
        """Look the journal through once: the newest edit of each limit counts."""
        self._model = model
        self._now_ns = now_ns
        self._edits: dict[str, Event] = {
            event.subject: event for event in model.events if event.kind == "limit.edited"
        }

    def out_of_service(self, _place: Place, alarm: AlarmState) -> Reason:
        """Taken out of service by a person."""
        why = alarm.service_reason.removeprefix(_OUT)
        return Reason(why, _clock(alarm.out_since_ns), "until returned")

    def shelved(self, _place: Place, alarm: AlarmState) -> Reason:
        """Shelved by a person."""
        why = alarm.shelf_reason.removeprefix(_SHELVED)
        left = duration_text(alarm.shelved_until_ns - self._now_ns)
        until = f"{clock_text(alarm.shelved_until_ns)}, {left} left"
        return Reason(why, _clock(alarm.shelved_since_ns), until)

    def edited(self, _place: Place, alarm: AlarmState) -> Reason:
        """Edited by a person; the journal that is kept here may no longer reach back."""
        event = self._edits.get(alarm.id)
        if event is None:
            oldest = self._model.events[0].t_ns if self._model.events else self._now_ns
            return Reason("see the journal", f"before {clock_text(oldest)}", "end of the run")
        names = [str(event.fields[key]) for key in ("by", "second") if event.fields.get(key)]
        why = f"{' and '.join(names)}: {event.fields.get('reason') or ''}".removesuffix(": ")
        return Reason(why, clock_text(event.t_ns), "end of the run")

    def asleep(self, place: Place, _alarm: AlarmState) -> Reason:
        """Waits for its value to come inside the band."""
        since_ns = self._model.started_ns
        if place.limit.watched_in:
            since_ns = self._entered_ns(place.limit.watched_in)
        return Reason("by design", clock_text(since_ns), "once inside the band")

    def behind(self, _place: Place, alarm: AlarmState) -> Reason:
        """Suppressed while another alarm stands."""
        since = _clock(alarm.suppressed_since_ns)
        name = self._model.index.limit_name(alarm.cause)
        return Reason(f"consequence of {name}", since, f"while {name} stands")

    def by_design(self, place: Place, alarm: AlarmState) -> Reason:
        """Suppressed by the phase or the mode."""
        phase, names = self._model.phase, place.limit.suppressed_in
        is_mode = phase.mode in names and phase.name not in names
        sort, name = ("mode", phase.mode) if is_mode else ("phase", phase.name)
        title = self._model.index.place_title(name)
        since = _clock(alarm.suppressed_since_ns)
        return Reason(f"by design in {sort} {title}", since, f"end of {title}")

    def unwatched(self, place: Place, _alarm: AlarmState) -> Reason:
        """Belongs to other phases or modes."""
        titles = [self._model.index.place_title(name) for name in place.limit.watched_in]
        since_ns = max(self._model.phase.since_ns, self._model.phase.mode_since_ns)
        return Reason("by design", clock_text(since_ns), f"watched in {', '.join(titles)}")

    def forced(self, forced: ForcedState) -> Reason:
        """Forced by a person."""
        names = " and ".join(name for name in (forced.by, forced.second) if name)
        left = duration_text(forced.until_ns - self._now_ns)
        until = f"{clock_text(forced.until_ns)}, {left} left"
        return Reason(f"{names}: {forced.reason}", clock_text(forced.since_ns), until)

    def overdue(self, tag: str) -> Reason:
        """The calibration of a sensor is overdue."""
        since_ns = self._model.since_ns[self._model.index.channel[tag]]
        since = clock_text(since_ns)
        if since_ns <= self._model.first_ns:
            since = f"before {clock_text(self._model.first_ns)}"
        return Reason("the sensor's calibration is due", since, "until calibrated")

    def _entered_ns(self, names: list[str]) -> int:
        """Tell since when one of *names* is the phase or the mode."""
        phase = self._model.phase
        since = [phase.since_ns] if phase.name in names else []
        since += [phase.mode_since_ns] if phase.mode in names else []
        return min(since, default=phase.since_ns)


def _clock(t_ns: int) -> str:
    """Write a time of day; nothing where it is not known."""
    return clock_text(t_ns) if t_ns else ""
