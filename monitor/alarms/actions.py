"""Which actions make sense: said before they are accepted, and again when they take effect."""

from __future__ import annotations

import math
import re

from monitor.alarms.plan import AlarmsPlan, Priority
from monitor.events import Action

#: Longest shelf, in seconds: a shelf is for a shift, out of service is for longer.
LONGEST_SHELF_S = 12 * 3600.0
#: Longest name of a person, in characters.
LONGEST_NAME = 120
#: Longest reason or note, in characters.
LONGEST_REASON = 2_000
#: An edited delay stays below this, in seconds: ten days.
DELAYS_BELOW_S = 864_000.0

_NEEDS_REASON = ("shelve", "out_of_service", "edit_limit", "force", "note")
_NEEDS_SECOND = ("shelve", "out_of_service", "edit_limit", "force")
#: What changes what other alarms look at, too.
_FEEDS = ("edit_limit", "force")
_FOR_A_TIME = {"shelve": "a shelf", "force": "a forced value"}
_ON_ALL = ("acknowledge", "reset")
_ON_NOTHING = ("silence", "lamp_test")
_ALL = "*"

_DELAYS = ("on_delay_s", "off_delay_s")
_CHANGES = ("setpoint", "deadband", *_DELAYS)
_SETPOINT_IN = "setpoint_in."

#: Control characters, line ends, marks that turn the writing round, and halves of characters:
#: in a journal they would hide what is written or break its lines. Listed here and not asked
#: of the language, whose tables change with its version.
_UNWRITABLE = re.compile(
    "[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]"
)


def refusal_of(action: Action, plan: AlarmsPlan) -> str:
    """Say why *action* cannot be done on this stand; empty when it can.

    Decided by the plan alone: whether something can be done just then is another matter.

    Args:
        action: What a person wants.
        plan: The stand's alarms, phases and modes.
    """
    return (
        _refusal_of_person("name", action.by)
        or _refusal_of_person("second name", action.second)
        or _refusal_of_reason(action)
        or _refusal_of_shelf(action)
        or _refusal_of_subject(action, plan)
        or _refusal_of_changes(action, plan)
        or _refusal_of_value(action, plan)
        or _refusal_of_second(action, plan)
    )


def page_of(subject: str) -> list[str]:
    """Give the ids that *subject* names, each once: a page is several with spaces between."""
    return list(dict.fromkeys(subject.split()))


def _refusal_of_person(what: str, name: str) -> str:
    """Refuse who cannot be written down; a second one need not be."""
    if what == "name" and not name.strip():
        return "it needs a name: who acts?"
    if len(name) > LONGEST_NAME:
        return f"the {what} is longer than {LONGEST_NAME} characters"
    return f"the {what} holds control characters" if _UNWRITABLE.search(name) else ""


def _refusal_of_reason(action: Action) -> str:
    """Refuse a reason that is missing or cannot be written down."""
    if action.verb in _NEEDS_REASON and not action.reason.strip():
        return "it needs a reason" if action.verb != "note" else "the note is empty"
    if len(action.reason) > LONGEST_REASON:
        return f"the reason is longer than {LONGEST_REASON} characters"
    return "the reason holds control characters" if _UNWRITABLE.search(action.reason) else ""


def _refusal_of_shelf(action: Action) -> str:
    """Refuse a shelf or a forced value without an end, or with one too far off."""
    seconds = action.seconds
    is_time = math.isfinite(seconds) and 0 < seconds <= LONGEST_SHELF_S
    if action.verb not in _FOR_A_TIME or is_time:
        return ""
    what = _FOR_A_TIME[action.verb]
    return f"{what} lasts more than 0 and at most {LONGEST_SHELF_S / 3600:.0f} h"


def _refusal_of_subject(action: Action, plan: AlarmsPlan) -> str:
    """Refuse what this stand does not have."""
    verb, subject = action.verb, action.subject
    if verb in _ON_NOTHING or (verb in _ON_ALL and subject == _ALL):
        return ""
    if verb == "note":
        is_fit = len(subject) <= LONGEST_NAME and not _UNWRITABLE.search(subject)
        return "" if is_fit else "a note is on one thing, with a name that can be written"
    if verb == "enter_phase":
        return "" if subject in plan.phases else f"no phase {subject!r} on this stand"
    if verb == "enter_mode":
        return "" if subject in plan.modes else f"no mode {subject!r} on this stand"
    if verb in ("force", "unforce"):
        return "" if subject in plan.forcible else f"no measured channel {subject!r}"
    known = {alarm.id for alarm in plan.alarms}
    wanted = (page_of(subject) if verb == "acknowledge" else []) or [subject]
    strange = next((name for name in wanted if name not in known), None)
    return "" if strange is None else f"no alarm {strange!r} on this stand"


def _refusal_of_changes(action: Action, plan: AlarmsPlan) -> str:
    """Refuse an edit that changes nothing, something unknown, or to something senseless."""
    if action.verb != "edit_limit":
        return ""
    if not action.changes:
        return "it changes nothing"
    places = (*plan.phases, *plan.modes)
    for name, value in action.changes.items():
        where = name.removeprefix(_SETPOINT_IN)
        if name not in _CHANGES and (where == name or where not in places):
            return f"{name!r} cannot be changed"
        if not math.isfinite(value):
            return f"{name} must be a finite number"
        if value < 0 and name in ("deadband", *_DELAYS):
            return f"{name} must not be negative"
        if value >= DELAYS_BELOW_S and name in _DELAYS:
            return f"{name} must be below {DELAYS_BELOW_S:.0f} s"
    return ""


def _refusal_of_value(action: Action, plan: AlarmsPlan) -> str:
    """Refuse to force a channel to what its sensor cannot give."""
    if action.verb != "force":
        return ""
    value = action.changes.get("value", math.nan)
    if set(action.changes) != {"value"} or not math.isfinite(value):
        return "it needs a value, and nothing else"
    low, high = plan.forcible[action.subject]
    if not low <= value <= high:
        return f"{value:g} is outside what the sensor can give, {low:g} to {high:g}"
    return ""


def _refusal_of_second(action: Action, plan: AlarmsPlan) -> str:
    """Refuse to inhibit, edit or feed what is of top priority without a second person."""
    tops = [alarm for alarm in plan.alarms if alarm.priority is Priority.TOP]
    top = {alarm.tag if action.verb == "force" else alarm.id for alarm in tops}
    behind = plan.behind_top - top if action.verb in _FEEDS else frozenset()
    if action.verb not in _NEEDS_SECOND or action.subject not in top | behind:
        return ""
    if not action.second.strip():
        is_behind = action.subject in behind
        what = "what is of top priority goes by it" if is_behind else "it is of top priority"
        return f"{what}: a second person must agree, by name"
    is_same = _spelled_alike(action.by, action.second)
    return "the second person must not be the first" if is_same else ""


def _spelled_alike(name: str, other: str) -> bool:
    """Whether two names differ in spaces and capitals at most."""
    return "".join(name.split()).casefold() == "".join(other.split()).casefold()
