"""From the events of a run to the times at which each alarm stood."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.events import Event

#: ``condition``: a limit of priority ``journal``, which nobody is ever shown.
_BEGINS = frozenset({"alarm.raised", "condition.on"})
_ENDS = frozenset({"alarm.cleared", "condition.off"})


@dataclass(frozen=True, slots=True)
class Occurrence:
    """An alarm's condition stood, delays included.

    Attributes:
        raised_ns: When it became true.
        end_ns: When it cleared; the end of the record where it did not.
        is_over: Whether it cleared before the record ended.
        shown_ns: When it was first annunciated; None where nobody was shown it.
    """

    raised_ns: int
    end_ns: int
    is_over: bool = True
    shown_ns: int | None = None


@dataclass(slots=True)
class _Open:
    """An occurrence that still stands."""

    raised_ns: int
    shown_ns: int | None


class Occurrences:
    """Gathers occurrences while a run goes by, by id of the limit."""

    def __init__(self) -> None:
        """Nothing stands."""
        self._open: dict[str, _Open] = {}
        self._done: dict[str, list[Occurrence]] = {}

    def add(self, events: Iterable[Event]) -> None:
        """Take the next events, in their order."""
        for event in events:
            if event.kind in _BEGINS:
                is_shown = event.fields.get("is_annunciated") is True
                shown_ns = event.t_ns if is_shown else None
                self._open[event.subject] = _Open(event.t_ns, shown_ns)
            elif event.kind in _ENDS:
                self._end(event.subject, event.t_ns, is_over=True)
            elif event.kind == "alarm.annunciated" and event.subject in self._open:
                standing = self._open[event.subject]
                if standing.shown_ns is None:
                    standing.shown_ns = event.t_ns

    def result(self, end_ns: int) -> dict[str, tuple[Occurrence, ...]]:
        """End the record at *end_ns*; give the occurrences of each limit that had one."""
        for limit in list(self._open):
            self._end(limit, end_ns, is_over=False)
        return {limit: tuple(found) for limit, found in self._done.items()}

    def _end(self, limit: str, t_ns: int, *, is_over: bool) -> None:
        """Put an occurrence away."""
        found = self._open.pop(limit, None)
        if found is not None:
            done = Occurrence(found.raised_ns, t_ns, is_over, found.shown_ns)
            self._done.setdefault(limit, []).append(done)
