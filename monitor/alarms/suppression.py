"""Suppressed by design: by where the test stands, and by the alarms whose consequence it is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from monitor.alarms.book import Book
from monitor.alarms.core import Prompt
from monitor.alarms.items import Item, Moved
from monitor.alarms.lifecycle import Lifecycle
from monitor.alarms.tell import place_fields
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Place


class Suppression:
    """Which alarms are suppressed by design.

    What begins to suppress does so at once; what ceases to, after all edges of its instant: so
    a consequence that goes together with its cause is not shown for no time at all.

    Attributes:
        place: Phase and mode now.
        has_lapsed: The phase lasts longer than it may, and suppresses nothing any more.
    """

    def __init__(self, book: Book, lifecycle: Lifecycle, place: Place, start_ns: int) -> None:
        """Start in *place*, with no alarm standing."""
        self._book = book
        self._lifecycle = lifecycle
        self.place = place
        self.has_lapsed = False
        alarms, position = book.plan.alarms, book.position
        self._causes = [
            tuple(sorted({position[name] for name in alarm.suppressed_by if name in position}))
            for alarm in alarms
        ]
        self._consequences: dict[int, list[int]] = {}
        for i, causes in enumerate(self._causes):
            for cause in causes:
                self._consequences.setdefault(cause, []).append(i)
        self._placed = [i for i, alarm in enumerate(alarms) if alarm.suppressed_in]
        self._lapses = dict(book.plan.lapses)
        self._rank = _depths(self._causes)
        self._waiting: set[int] = set()
        for i in self._placed:
            if self._is_suppressed_here(i):
                book.status[i].turn_flag(Prompt.SUP)
                book.status[i].suppressed_since_ns = start_ns

    def in_order(self, items: Sequence[Item]) -> Sequence[Item]:
        """Put the edges of each instant in order: causes before their consequences."""
        if not self._consequences:
            return items
        ordered: list[Item] = []
        for _, together in groupby(items, key=_instant_of_edge):
            ordered += sorted(together, key=self._rank_of)
        return ordered

    def _rank_of(self, item: Item) -> int:
        """Give how many causes lie behind each other under an edge's alarm."""
        return self._rank[item.limit] if isinstance(item, Edge) else 0

    def move(self, moved: Moved) -> None:
        """Be in another phase or mode: what it suppresses changes at once."""
        self.place = moved.place
        if moved.what == "phase":
            self.has_lapsed = False
        self._look_at(moved.t_ns, self._placed)

    def turn(self, edge: Edge) -> None:
        """Look at what a limit that has turned suppresses now, or suppresses no more."""
        consequences = self._consequences.get(edge.limit)
        if consequences and edge.turn in (Turn.RAISED, Turn.CLEARED):
            self._waiting.update(consequences)
            if edge.turn is Turn.RAISED:
                status = self._book.status
                shown = [i for i in consequences if not status[i].is_suppressed]
                self._look_at(edge.t_ns, shown)
        if edge.turn is Turn.RAISED and self._lapses.get(edge.limit) == self.place.phase:
            self._lapse(edge.t_ns)

    def _lapse(self, t_ns: int) -> None:
        """The phase lasts longer than it may: it must not hide anything any more."""
        if not self.has_lapsed:
            self.has_lapsed = True
            self._book.say(t_ns, "phase.lapsed", self.place.phase, {})
            self._waiting.update(self._placed)

    def go_on(self, place: Place, *, has_lapsed: bool) -> None:
        """Go on, after a restart, where the test stood; each status is restored already."""
        self.place, self.has_lapsed = place, has_lapsed

    def settle(self, t_ns: int) -> None:
        """Let go what nothing suppresses any more, now that the edges of *t_ns* are through."""
        if self._waiting:
            waiting, self._waiting = sorted(self._waiting), set()
            self._look_at(t_ns, waiting)

    def _look_at(self, t_ns: int, chosen: Iterable[int]) -> None:
        """Bring the flag of each of *chosen* up to date."""
        for i in chosen:
            status = self._book.status[i]
            before, cause = status.cause, self._cause_of(i)
            if cause != before:
                status.cause = cause
                self._book.touch(i)
            is_suppressed = cause != "" or self._is_suppressed_here(i)
            if is_suppressed != status.is_suppressed:
                prompt = Prompt.SUP if is_suppressed else Prompt.UNSUP
                why = place_fields(self.place)
                if cause != before:
                    why = {"cause": cause or before}
                self._lifecycle.suppress(t_ns, i, prompt, why)

    def _cause_of(self, i: int) -> str:
        """Give the first of an alarm's causes that stands; empty for none."""
        status = self._book.status
        return next((status[c].id for c in self._causes[i] if status[c].is_active), "")

    def _is_suppressed_here(self, i: int) -> bool:
        """Whether phase or mode suppress an alarm."""
        names = self._book.plan.alarms[i].suppressed_in
        is_by_phase = self.place.phase in names and not self.has_lapsed
        return is_by_phase or self.place.mode in names


def _instant_of_edge(item: Item) -> int | None:
    """Give when an edge counts; None for anything else, which keeps its place."""
    return item.t_ns if isinstance(item, Edge) else None


def _depths(causes: Sequence[tuple[int, ...]]) -> list[int]:
    """Give for each alarm how many causes lie behind each other under it.

    A loop, which the check of a stand refuses, ends after as many rounds as there are alarms
    with a cause.
    """
    depth = [0] * len(causes)
    caused = [i for i, under in enumerate(causes) if under]
    for _ in caused:
        before = list(depth)
        for i in caused:
            depth[i] = 1 + max(depth[cause] for cause in causes[i])
        if depth == before:
            break
    return depth
