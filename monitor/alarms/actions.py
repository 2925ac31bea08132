"""Which actions make sense: said before they are accepted, and again when they take effect."""

from __future__ import annotations

import math

from monitor.alarms.plan import AlarmsPlan
from monitor.events import Action

#: Longest shelf, in seconds: a shelf is for a shift, out of service is for longer.
LONGEST_SHELF_S = 12 * 3600.0

_NEEDS_REASON = ("shelve", "out_of_service", "note")
_ON_ALL = ("acknowledge", "reset")
_ON_NOTHING = ("silence", "lamp_test", "note")


def refusal_of(action: Action, plan: AlarmsPlan) -> str:
    """Say why *action* cannot be done on this stand; empty when it can.

    Args:
        action: What a person wants.
        plan: The stand's alarms, phases and modes.
    """
    verb, subject = action.verb, action.subject
    why = ""
    if not action.by.strip():
        why = "it needs a name: who acts?"
    elif verb in _NEEDS_REASON and not action.reason.strip():
        why = "it needs a reason" if verb != "note" else "the note is empty"
    elif verb == "shelve" and not _is_shelf_time(action.seconds):
        why = f"a shelf lasts more than 0 and at most {LONGEST_SHELF_S / 3600:.0f} h"
    elif verb == "enter_phase":
        why = "" if subject in plan.phases else f"no phase {subject!r} on this stand"
    elif verb == "enter_mode":
        why = "" if subject in plan.modes else f"no mode {subject!r} on this stand"
    elif not (verb in _ON_NOTHING or (verb in _ON_ALL and subject == "*")):
        is_known = any(alarm.id == subject for alarm in plan.alarms)
        why = "" if is_known else f"no alarm {subject!r} on this stand"
    return why


def _is_shelf_time(seconds: float) -> bool:
    """Whether *seconds* is a time that a shelf may last."""
    return math.isfinite(seconds) and 0 < seconds <= LONGEST_SHELF_S
