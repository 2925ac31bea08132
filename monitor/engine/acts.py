"""Operators' actions: which make no sense and are refused at once, and which were seen before.

What makes sense goes into the record with its effective time; whether it is possible just then
(a reset while the value is bad) is for the pipeline to say, and for the journal to keep.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence

from monitor.errors import did_you_mean
from monitor.events import Action
from monitor.link.messages import Act, Acted
from monitor.pipeline import Plan

#: Answers kept, so that an action that is sent again is not done again.
MOST_ANSWERS = 4_096
#: Longest name, reason or subject, in characters.
LONGEST_TEXT = 2_000
#: Longest shelf, in seconds: a week; beyond that an alarm is out of service.
LONGEST_SHELF_S = 604_800.0

_ALL = "*"


class ActDesk:
    """Takes actions from all displays.

    Args:
        plan: What limits and phases there are.
        do: Gives an action to the pipeline; returns its effective time in ns.
    """

    def __init__(self, plan: Plan, do: Callable[[Action], int]) -> None:
        """Start with nothing seen."""
        self._check = _Check([limit.id for limit in plan.limits], plan.alarms.phases)
        self._do = do
        self._answers: OrderedDict[str, Acted] = OrderedDict()
        self.refused = 0

    def take(self, act: Act) -> Acted:
        """Do *act*, or say why not; the same id gets the same answer and nothing more."""
        if act.id in self._answers:
            return self._answers[act.id]
        answer = self._answer(act)
        self._answers[act.id] = answer
        if len(self._answers) > MOST_ANSWERS:
            self._answers.popitem(last=False)
        return answer

    def _answer(self, act: Act) -> Acted:
        why = self._check.refusal(act)
        if why:
            self.refused += 1
            return Acted(act.id, 0, why)
        action = Action(
            act.verb, act.subject, act.by, act.reason, act.seconds, act.second, act.changes
        )
        return Acted(act.id, self._do(action))


class _Check:
    """Says what is wrong with an action, from the plan alone."""

    def __init__(self, limits: Sequence[str], phases: Sequence[str]) -> None:
        self._limits = dict.fromkeys(limits)
        self._phases = dict.fromkeys(phases)

    def refusal(self, act: Act) -> str:
        """Give the first thing that is wrong; empty when nothing is."""
        if max(len(act.id), len(act.subject), len(act.by), len(act.reason)) > LONGEST_TEXT:
            return f"a text is longer than {LONGEST_TEXT} characters"
        if act.verb in ("acknowledge", "reset"):
            return "" if act.subject == _ALL else self._limit(act)
        if act.verb == "enter_phase":
            return _known("phase", act.subject, self._phases)
        if act.verb == "note":
            return "" if act.reason.strip() else "a note needs a text"
        if act.verb == "silence":
            return ""
        return self._limit(act) or _inhibition(act)

    def _limit(self, act: Act) -> str:
        return _known("limit", act.subject, self._limits)


def _known(what: str, name: str, known: Mapping[str, None]) -> str:
    """Refuse a name that is not known."""
    if name in known:
        return ""
    return f"this stand has no {what} {name!r}{did_you_mean(name, known)}"


def _inhibition(act: Act) -> str:
    """Refuse to inhibit an alarm without saying who, why and, for a shelf, how long."""
    if act.verb not in ("shelve", "out_of_service"):
        return ""
    if not act.by.strip():
        return "say who does it: what is inhibited stands in the register with a name"
    if not act.reason.strip():
        return "give a reason: what is inhibited stands in the register with one"
    is_time = math.isfinite(act.seconds) and 0 < act.seconds <= LONGEST_SHELF_S
    if act.verb == "shelve" and not is_time:
        return f"give the shelf a time above 0 and at most {LONGEST_SHELF_S:.0f} s"
    return ""
