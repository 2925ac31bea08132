"""Checks what every alarm has: phases, how it ends, its response, how urgent it is."""

from __future__ import annotations

from monitor.alarms.plan import Priority
from monitor.stand.alarm_names import Named, alarm_names
from monitor.stand.draft import Draft
from monitor.stand.schema_limits import SetpointTable, WatchTable

#: From this many alarms of top priority on, it is asked whether they are the rarest.
#:
#: Source: ANSI/ISA-18.2-2016 and IEC 62682:2014: the higher a priority, the less often it is
#: used. Both give shares (about 5 % for the highest of three) only for alarms that sound.
_MANY_TOP = 4


def check_alarms(draft: Draft) -> None:
    """Note what is wrong with alarms, each by itself, whatever they look at."""
    written = [one for one in alarm_names(draft).values() if one.is_written]
    for one in written:
        _check_phases(draft, one)
        _check_end(draft, one)
        _check_response(draft, one)
    _check_share_of_top(draft, written)


def _check_phases(draft: Draft, one: Named) -> None:
    """Suppressed in all phases, an alarm never comes."""
    phases = set() if draft.report.has_error_at(("phases",)) else set(draft.phase_names)
    if phases and phases <= set(one.table.suppressed_in):
        draft.report.warning((*one.path, "suppressed_in"), "names every phase: it never sounds")
    if isinstance(one.table, SetpointTable):
        for name in one.table.setpoint_in:
            draft.check_place((*one.path, "setpoint_in", name), name)


def _check_end(draft: Draft, one: Named) -> None:
    """An alarm ends by itself or by a reset, not both."""
    if one.table.latch and one.table.clears_by_itself:
        draft.report.error(
            (*one.path, "clears_by_itself"),
            "stands beside latch, which keeps it until it is reset; take one of them out",
        )


def _check_response(draft: Draft, one: Named) -> None:
    """An alarm that nobody knows what to do about is none."""
    table = one.table
    if not isinstance(table, WatchTable) or table.priority is Priority.JOURNAL:
        return
    if not table.response.strip():
        draft.report.warning(
            (*one.path, "response"), 'missing; write what to do, or priority = "journal"'
        )


def _check_share_of_top(draft: Draft, alarms: list[Named]) -> None:
    """Warn when the highest priority is no rarer than the next one."""
    watching = [one for one in alarms if isinstance(one.table, WatchTable)]
    top = [one for one in watching if one.table.priority is Priority.TOP]
    high = [one for one in watching if one.table.priority is Priority.HIGH]
    if len(top) >= _MANY_TOP and len(top) >= len(high):
        draft.report.warning(
            (*top[0].path, "priority"),
            f"{len(top)} alarms are of top priority and {len(high)} of high: the higher, the "
            "rarer, or the word loses its meaning; of the alarms that sound, about 5 % are to "
            "be of the highest of three priorities, less than 1 % of a fourth above them",
        )
