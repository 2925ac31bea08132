"""What persons do to alarms. What cannot be done is refused on record, never ignored."""

from __future__ import annotations

from collections.abc import Callable

from monitor.alarms.actions import page_of, refusal_of
from monitor.alarms.book import Book
from monitor.alarms.forced import Forced
from monitor.alarms.lifecycle import Lifecycle
from monitor.events import Action, EventKind

#: Gives the quality byte of a limit's column just before an instant.
QualityBefore = Callable[[int, int], int]

_ALL = "*"
#: What comes of these arrives as an item of its own; the action itself only when refused.
_MADE_BEFORE = ("enter_phase", "enter_mode", "edit_limit")
_TOLD_ONLY: dict[str, EventKind] = {
    "silence": "action.silence",
    "lamp_test": "action.lamp_test",
}


class ByHand:
    """Carries out actions on alarms."""

    def __init__(self, book: Book, lifecycle: Lifecycle, forced: Forced) -> None:
        """Find out for each alarm which milder ones are acknowledged with it."""
        self._book = book
        self._forced = forced
        self._lifecycle = lifecycle
        self._milder = [_milder(book, i) for i in range(len(book.status))]

    def act(self, t_ns: int, action: Action, quality_before: QualityBefore) -> None:
        """Do what *action* says, or write down why not."""
        verb = action.verb
        refusal = refusal_of(action, self._book.plan)
        if not refusal and verb in _MADE_BEFORE:
            refusal = "it could not be carried out here"
        if refusal:
            self._book.refuse(t_ns, action, refusal)
        elif verb in _TOLD_ONLY:
            self._book.say(t_ns, _TOLD_ONLY[verb], "", {"by": action.by})
        elif verb == "acknowledge":
            self._acknowledge(t_ns, action)
        elif verb == "reset":
            self._reset(t_ns, action, quality_before)
        else:
            self._act_on_one(t_ns, action)

    def _act_on_one(self, t_ns: int, action: Action) -> None:
        """Do what concerns one thing."""
        if action.verb == "note":
            fields = {"by": action.by, "text": action.reason}
            self._book.say(t_ns, "action.note", action.subject, {**fields})
        elif action.verb == "force":
            self._forced.force(t_ns, action)
        elif action.verb == "unforce":
            self._forced.release(t_ns, action)
        else:
            self._set_aside(t_ns, self._book.position[action.subject], action)

    def _annunciated(self) -> list[int]:
        """Give the alarms that are annunciated, in the order of the plan."""
        return [i for i, status in enumerate(self._book.status) if status.is_annunciated]

    def _acknowledge(self, t_ns: int, action: Action) -> None:
        """Acknowledge one, a page, or all that are annunciated.

        Always allowed. Only of a single one is it said that there was nothing to acknowledge:
        of a page somebody else may have acknowledged a part just before.
        """
        is_all, ids = action.subject == _ALL, page_of(action.subject)
        for i in self._annunciated() if is_all else [self._book.position[x] for x in ids]:
            if not self._book.status[i].is_acknowledged:
                self._acknowledge_with_milder(t_ns, i, action.by)
            elif not is_all and len(ids) == 1:
                self._book.refuse(t_ns, action, "there is nothing to acknowledge")

    def _acknowledge_with_milder(self, t_ns: int, i: int, by: str) -> None:
        """Who acknowledges high-high has seen high."""
        self._lifecycle.acknowledge(t_ns, i, by)
        for milder in self._milder[i]:
            if not self._book.status[milder].is_acknowledged:
                severe = self._book.status[i].id
                self._lifecycle.acknowledge(t_ns, milder, by, along_with=severe)

    def _reset(self, t_ns: int, action: Action, quality_before: QualityBefore) -> None:
        """Let one latch go, or all that are annunciated."""
        is_all = action.subject == _ALL
        chosen = self._annunciated() if is_all else [self._book.position[action.subject]]
        for i in chosen:
            status = self._book.status[i]
            is_latched = status.is_latched
            why = self._lifecycle.reset(t_ns, i, action.by, quality_before(i, t_ns))
            if why and (is_latched or not is_all):
                self._book.refuse(t_ns, action, why, subject=status.id)

    def _set_aside(self, t_ns: int, i: int, action: Action) -> None:
        """Shelve or take out of service, or take that back."""
        status, verb = self._book.status[i], action.verb
        if verb == "shelve":
            self._lifecycle.shelve(t_ns, i, action)
        elif verb == "unshelve" and status.is_shelved:
            self._lifecycle.unshelve(t_ns, i, action.by)
        elif verb == "unshelve":
            self._book.refuse(t_ns, action, "it is not shelved")
        elif (verb == "out_of_service") is status.is_out_of_service:
            self._book.refuse(t_ns, action, "it is so already")
        elif verb == "out_of_service":
            self._lifecycle.take_out(t_ns, i, action)
        else:
            self._lifecycle.put_back(t_ns, i, action)


def _milder(book: Book, i: int) -> tuple[int, ...]:
    """Give the milder alarms of one, and the milder ones of those; each once."""
    found: list[int] = []
    name = book.plan.alarms[i].milder
    while name in book.position and book.position[name] not in found:
        found.append(book.position[name])
        name = book.plan.alarms[found[-1]].milder
    return tuple(found)
