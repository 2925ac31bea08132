"""What one alarm did, read off its events one after another."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from monitor.alarms.core import Core
from monitor.events import Event, EventKind
from monitor.figures.stretch import Activation, Answer, Held, Inhibit, Mark

_NORMAL = Core.NORMAL.value
_UNACKNOWLEDGED = frozenset(
    {
        Core.UNACKNOWLEDGED.value,
        Core.RETURNED_UNACKNOWLEDGED.value,
        Core.LATCHED_UNACKNOWLEDGED.value,
    }
)

#: The flag that an event sets or clears.
_SETS: dict[EventKind, Inhibit] = {
    "alarm.suppressed": "suppressed",
    "alarm.shelved": "shelved",
    "alarm.out_of_service": "out of service",
}
_CLEARS: dict[EventKind, Inhibit] = {
    "alarm.unsuppressed": "suppressed",
    "alarm.unshelved": "shelved",
    "alarm.returned_to_service": "out of service",
}


@dataclass(slots=True)
class Timer:
    """Notes from when until when something was so."""

    since_ns: int | None = None
    done: list[Held] = field(default_factory=list)

    def set(self, t_ns: int, subject: str, priority: str, *, is_so: bool) -> None:
        """Say whether it is so from now on."""
        if is_so and self.since_ns is None:
            self.since_ns = t_ns
        elif not is_so and self.since_ns is not None:
            self.done.append(Held(subject, priority, self.since_ns, t_ns, is_over=True))
            self.since_ns = None

    def end(self, t_ns: int, subject: str, priority: str) -> None:
        """The data ends."""
        if self.since_ns is not None:
            self.done.append(Held(subject, priority, self.since_ns, t_ns, is_over=False))


class OneAlarm:
    """Follows one alarm.

    Attributes:
        activations: How often it was shown to people; see :mod:`monitor.figures.follow`.
        answers: How often it was acknowledged.
        marks: What is only counted.
        shown: When it was annunciated.
        standing: When it was annunciated and its condition stood.
        waiting: When it was annunciated and not acknowledged.
    """

    def __init__(self, subject: str) -> None:
        """Nothing has happened to it."""
        self.activations: list[Activation] = []
        self.answers: list[Answer] = []
        self.marks: list[Mark] = []
        self.shown, self.standing, self.waiting = Timer(), Timer(), Timer()
        self._subject = subject
        self._priority = ""
        self._core: str = _NORMAL
        self._is_active = False
        # Of this occurrence; the flags alone do not tell, since suppression of an alarm that
        # is normal is not in the journal.
        self._was_shown = False
        self._flags: set[Inhibit] = set()
        self._may_flee = False

    def take(self, event: Event) -> None:
        """Take the next event."""
        self._priority = str(event.fields.get("priority", self._priority))
        if event.kind == "alarm.raised":
            self._raised(event)
        elif event.kind == "alarm.annunciated":
            self._flags.clear()
            self._show(event.t_ns)
        elif event.kind == "alarm.realarmed":
            self._realarmed(event)
        elif event.kind == "alarm.cleared":
            self._cleared(event)
        elif event.kind in ("alarm.acknowledged", "alarm.reset"):
            self._answered(event)
        else:
            self._inhibit(event)
        self._set_timers(event.t_ns)

    def end(self, t_ns: int) -> None:
        """The data ends."""
        for timer in (self.shown, self.standing, self.waiting):
            timer.end(t_ns, self._subject, self._priority)

    def _raised(self, event: Event) -> None:
        """A new occurrence, shown at once or hidden."""
        self._core, self._is_active = Core.UNACKNOWLEDGED.value, True
        self._was_shown = self._may_flee = False
        if event.fields.get("is_annunciated") is True:
            self._flags.clear()
            self._show(event.t_ns)
        else:
            self.marks.append(Mark(event.t_ns, "hidden"))

    def _realarmed(self, event: Event) -> None:
        """It has stood for long: shown anew at once, or when nothing inhibits it any more."""
        self._core = Core.UNACKNOWLEDGED.value
        if event.fields.get("is_annunciated") is True:
            self.marks.append(Mark(event.t_ns, "realarm"))

    def _show(self, t_ns: int) -> None:
        """It is shown to people; an occurrence that was shown before is shown anew."""
        if self._was_shown:
            self.marks.append(Mark(t_ns, "realarm"))
            return
        self._was_shown = self._may_flee = True
        self.activations.append(Activation(t_ns, self._subject, self._priority))

    def _cleared(self, event: Event) -> None:
        """Its condition is gone."""
        self._core, self._is_active = str(event.fields.get("state", _NORMAL)), False
        if self._may_flee:
            last = self.activations[-1]
            self.activations[-1] = replace(last, fled_ns=event.t_ns - last.t_ns)
        self._may_flee = False

    def _answered(self, event: Event) -> None:
        """Somebody acknowledged it, or reset its latch."""
        self._core = str(event.fields.get("state", _NORMAL))
        self._may_flee = False
        if event.kind == "alarm.acknowledged" and self.waiting.since_ns is not None:
            waited_ns = event.t_ns - self.waiting.since_ns
            self.answers.append(Answer(event.t_ns, self._subject, waited_ns))

    def _inhibit(self, event: Event) -> None:
        """Somebody, or the design, set it aside, or took it back."""
        if event.kind in _SETS:
            flag = _SETS[event.kind]
            self._flags.add(flag)
            self.marks.append(Mark(event.t_ns, flag))
            self._may_flee = False
        elif event.kind in _CLEARS:
            self._flags.discard(_CLEARS[event.kind])

    def _set_timers(self, t_ns: int) -> None:
        """Say what it is in from now on."""
        is_shown = self._was_shown and self._core != _NORMAL and not self._flags
        is_waiting = is_shown and self._core in _UNACKNOWLEDGED
        about = (t_ns, self._subject, self._priority)
        self.shown.set(*about, is_so=is_shown)
        self.standing.set(*about, is_so=is_shown and self._is_active)
        self.waiting.set(*about, is_so=is_waiting)
