"""Operators' actions: which make no sense and are refused at once, and which were seen before.

What makes sense goes into the record with its effective time; whether it is possible just then
(a reset while the value is bad) is for the pipeline to say, and for the journal to keep.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Collection

from monitor.alarms.actions import page_of, refusal_of
from monitor.alarms.plan import AlarmsPlan
from monitor.errors import did_you_mean
from monitor.events import Action
from monitor.link.messages import Act, Acted
from monitor.pipeline import Plan

#: Answers kept, so that an action that is sent again is not done again.
MOST_ANSWERS = 4_096
#: Longest subject of an action, and longest id of a message, in characters.
LONGEST_TEXT = 2_000
#: Longest list of alarms that are acknowledged together, in characters.
LONGEST_PAGE = 20_000

_ALL = "*"


class ActDesk:
    """Takes actions from all displays.

    Args:
        plan: What limits and phases there are.
        do: Gives an action to the pipeline; returns its effective time in ns.
    """

    def __init__(self, plan: Plan, do: Callable[[Action], int]) -> None:
        """Start with nothing seen."""
        self._check = _Check(plan.alarms)
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
        action = Action(
            act.verb, act.subject, act.by, act.reason, act.seconds, act.second, act.changes
        )
        why = self._check.refusal(act, action)
        if why:
            self.refused += 1
            return Acted(act.id, 0, why)
        return Acted(act.id, self._do(action))


class _Check:
    """Says what is wrong with an action, from the plan alone."""

    def __init__(self, plan: AlarmsPlan) -> None:
        self._plan = plan
        self._alarms = [alarm.id for alarm in plan.alarms]

    def refusal(self, act: Act, action: Action) -> str:
        """Give the first thing that is wrong; empty when nothing is.

        Names that are not known are looked at here, where a near one can be offered; all else
        is judged by the same function as in the pipeline, so that nothing is admitted here
        that is refused there for what was known here.
        """
        longest = LONGEST_PAGE if act.verb == "acknowledge" else LONGEST_TEXT
        if max(len(act.id), len(act.subject)) > longest:
            return f"a text is longer than {longest} characters"
        return self._unknown(act) or refusal_of(action, self._plan)

    def _unknown(self, act: Act) -> str:
        """Refuse what this stand does not have."""
        if act.verb in ("silence", "lamp_test", "note"):
            return ""
        if act.verb == "enter_phase":
            return _known("phase", act.subject, self._plan.phases)
        if act.verb == "enter_mode":
            return _known("mode", act.subject, self._plan.modes)
        if act.verb in ("force", "unforce"):
            return _known("measured channel", act.subject, self._plan.forcible)
        if act.verb in ("acknowledge", "reset") and act.subject == _ALL:
            return ""
        names = page_of(act.subject) if act.verb == "acknowledge" else [act.subject]
        return next(filter(None, (_known("limit", name, self._alarms) for name in names)), "")


def _known(what: str, name: str, known: Collection[str]) -> str:
    """Refuse a name that is not known."""
    if name in known:
        return ""
    return f"this stand has no {what} {name!r}{did_you_mean(name, known)}"
