"""What the operator asked for, until the engine has answered."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field

import msgspec

from monitor.display.state.connection import is_recent
from monitor.display.state.text import clock_text
from monitor.events import Event
from monitor.link.messages import Act, Acted

#: An act that could not be delivered for longer than this is given up, not done late.
_GIVEN_UP_AFTER_S = 10.0
#: Longest subject of one act, in characters; the engine takes somewhat more.
LONGEST_SUBJECT = 15_000
#: Refusals in the journal that are remembered until the answer to their act has come.
_KEPT_REFUSALS = 50
#: Acts that may wait for an answer at one time.
MOST_WAITING = 200

VERB_TEXT: dict[str, str] = {
    "acknowledge": "Acknowledge",
    "reset": "Reset",
    "silence": "Silence the tone",
    "enter_phase": "Enter phase",
    "enter_mode": "Enter mode",
    "edit_limit": "Edit",
    "lamp_test": "Lamp test",
    "force": "Force",
    "unforce": "Let go",
    "shelve": "Shelve",
    "unshelve": "Unshelve",
    "out_of_service": "Take out of service",
    "return_to_service": "Return to service",
    "note": "Note",
}


@dataclass(frozen=True, slots=True)
class Outcome:
    """One line about the newest act. *is_trouble* when it was not done."""

    text: str = ""
    is_trouble: bool = False


@dataclass(slots=True)
class _Waiting:
    """An act and when it was asked for."""

    act: Act
    asked_ns: int


@dataclass(slots=True)
class Acts:
    """Acts on their way. Each is repeated after a lost link, and done once by the engine.

    Attributes:
        prefix: Unique for this display's run.
        outcome: What to tell about the newest act.
        given_up: Acts that could not be delivered in time.
    """

    prefix: str
    outcome: Outcome = field(default_factory=Outcome)
    given_up: int = 0
    _newest: tuple[Act, int] | None = None
    _refusals: deque[Event] = field(default_factory=lambda: deque(maxlen=_KEPT_REFUSALS))
    _number: int = 0
    _waiting: dict[str, _Waiting] = field(default_factory=dict)

    def ask(self, act: Act, now_ns: int, *, is_connected: bool) -> Act | None:
        """Give the act to send, with its id; None, and an outcome that says why, if not now."""
        name = describe(act)
        if not is_connected:
            here = " (it is silent here)" if act.verb == "silence" else ""
            self.outcome = Outcome(
                f"{name}: not done, there is no link to the watch{here}.", is_trouble=True
            )
            return None
        if len(self._waiting) >= MOST_WAITING:
            self.outcome = Outcome(
                f"{name}: not done, too many actions await an answer.", is_trouble=True
            )
            return None
        self._number += 1
        sent = msgspec.structs.replace(act, id=f"{self.prefix}-{self._number}")
        self._waiting[sent.id] = _Waiting(sent, now_ns)
        self.outcome = Outcome(f"{name}: sent ...")
        return sent

    def answered(self, acted: Acted) -> None:
        """Take the engine's answer."""
        waiting = self._waiting.pop(acted.id, None)
        if waiting is None:
            return
        name = describe(waiting.act)
        if acted.refusal:
            self.outcome = Outcome(f"{name}: refused. {acted.refusal}", is_trouble=True)
        else:
            self.outcome = Outcome(f"{name}: done at {clock_text(acted.effective_ns)} UTC.")
            self._newest = (waiting.act, acted.effective_ns)
            self._look_for_refusal()

    def heed(self, events: Iterable[Event]) -> None:
        """Learn from the journal what was accepted and could not be done just then."""
        fresh = [event for event in events if event.kind == "action.refused"]
        self._refusals.extend(fresh)
        if fresh:
            self._look_for_refusal()

    def _look_for_refusal(self) -> None:
        """Tell why the newest act could not be done, whichever word of it came first."""
        if self._newest is None:
            return
        act, effective_ns = self._newest
        for event in self._refusals:
            if event.t_ns == effective_ns and event.fields.get("verb") == act.verb:
                why = event.fields.get("why") or ""
                self.outcome = Outcome(f"{describe(act)}: refused. {why}", is_trouble=True)
                self._newest = None
                return

    def to_repeat(self, now_ns: int) -> list[Act]:
        """Give the acts to send once more on a fresh connection."""
        self.give_up_old(now_ns)
        return [waiting.act for waiting in self._waiting.values()]

    def give_up_old(self, now_ns: int) -> None:
        """Forget acts that waited too long: a late acknowledgement could meet a new alarm."""
        for key, waiting in list(self._waiting.items()):
            if not is_recent(waiting.asked_ns, now_ns, _GIVEN_UP_AFTER_S):
                del self._waiting[key]
                self.given_up += 1
                name = describe(waiting.act)
                text = f"{name}: no answer from the watch. Look, then repeat."
                self.outcome = Outcome(text, is_trouble=True)


def subjects(ids: Iterable[str]) -> list[str]:
    """Join ids to as few subjects as the engine takes: each a page with spaces between."""
    joined: list[str] = []
    for one in ids:
        if joined and len(joined[-1]) + len(one) < LONGEST_SUBJECT:
            joined[-1] = f"{joined[-1]} {one}"
        else:
            joined.append(one)
    return joined


def describe(act: Act) -> str:
    """Name an act for a person."""
    verb = VERB_TEXT.get(act.verb, act.verb)
    if act.verb in ("silence", "note", "lamp_test"):
        return verb
    many = len(act.subject.split())
    if act.verb == "acknowledge" and many > 1:
        return f"{verb} {many} alarms"
    return f"{verb} {'all' if act.subject == '*' else act.subject}".strip()
