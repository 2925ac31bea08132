"""Checks limits that look at something made of a channel: rates, deviations, states, events."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from monitor.errors import UnitError, did_you_mean
from monitor.limits.plan import Kind
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.figures import ns
from monitor.stand.limit_values import (
    RATES,
    UPWARDS,
    deadband_of,
    percent_of,
    unit_of,
)
from monitor.stand.locate import KeyPath
from monitor.stand.schema import LONGEST_S
from monitor.stand.schema_limits import (
    BudgetTable,
    DeviationTable,
    DisagreementTable,
    ExpectedTable,
    Points,
    SetpointTable,
    StateTable,
    StuckTable,
    TimeToTable,
)
from monitor.stand.timing import period_s
from monitor.units import convert

#: Kinds whose figure is never negative: nothing lies below their setpoint less as much.
_DISTANCES = frozenset({Kind.DEVIATION, Kind.DISAGREEMENT})


def check_kinds(draft: Draft) -> None:
    """Note what is wrong with limits of one kind or another."""
    for channel in draft.channels.values():
        for kind, table in channel.value_limits().items():
            path = (*channel.path, "limits", kind.value)
            if isinstance(table, SetpointTable):
                _check_deadband(draft, channel, kind, table)
            if kind in _DISTANCES | RATES:
                _check_positive(draft, path, table)
            check = _CHECKS.get(type(table))
            if check is not None:
                check(draft, channel, path, table)


def _check_deadband(
    draft: Draft, channel: ChannelDraft, kind: Kind, table: SetpointTable
) -> None:
    """A deadband is a number, or a part of the span; with it the alarm can clear."""
    path = (*channel.path, "limits", kind.value, "deadband")
    unit = unit_of(channel, kind, table) or (channel.unit.text if channel.unit else "")
    number = f"a number in {unit}" if unit else "a number"
    if isinstance(table.deadband, str):
        percent = percent_of(table.deadband)
        if kind in RATES:
            draft.report.error(path, f"of a rate is {number}: the span is none of a rate")
        elif percent is None:
            draft.report.error(
                path, f'{table.deadband!r} is neither {number} nor a part of the span as "2 %"'
            )
    deadband = deadband_of(channel, kind, table)
    lowest = min([table.setpoint, *table.setpoint_in.values()])
    if kind in _DISTANCES and 0 < lowest <= deadband:
        draft.report.error(
            path, f"{deadband:g} is not below the setpoint {lowest:g}: it would never clear"
        )


def _check_positive(draft: Draft, path: KeyPath, table: Any) -> None:
    """A distance and a speed have no sign."""
    written: dict[KeyPath, float] = {("setpoint",): table.setpoint}
    written |= {("setpoint_in", name): value for name, value in table.setpoint_in.items()}
    for end, setpoint in written.items():
        if not setpoint > 0:
            draft.report.error(
                (*path, *end), f"{setpoint:g} is not above 0; write how much, without a sign"
            )


def _check_origin(
    draft: Draft, channel: ChannelDraft, path: KeyPath, table: DeviationTable
) -> None:
    """A deviation is one from a number, from a channel, or from a profile."""
    report = draft.report
    if (table.origin is None) == (table.profile is None):
        report.error(path, 'write either from = a number or "TAG", or profile = [[s, value]]')
    elif table.profile is not None:
        _check_profile(draft, path, table, table.profile)
    elif isinstance(table.origin, str):
        _check_other(draft, channel, (*path, "from"), table.origin)
    elif channel.span is not None and not _is_in(channel.span, table.origin or 0.0):
        report.error((*path, "from"), _outside(channel.span, table.origin or 0.0))
    if table.largest_skew_s is not None and not isinstance(table.origin, str):
        report.error((*path, "largest_skew_s"), "belongs to a deviation from another channel")


def _check_profile(draft: Draft, path: KeyPath, table: DeviationTable, points: Points) -> None:
    """A profile counts the seconds of a phase."""
    _check_points(draft, (*path, "profile"), points)
    # An unknown name is told where it stands; it may be meant for a phase.
    may_be_phase = any(name not in draft.mode_names for name in table.watched_in)
    if not may_be_phase and not draft.report.has_error_at((*path, "watched_in")):
        draft.report.missing(
            (*path, "watched_in"), "a profile counts the seconds of a phase: name the phases"
        )


def _check_other(draft: Draft, channel: ChannelDraft, path: KeyPath, tag: str) -> None:
    """The channel to compare with exists and measures the same."""
    other = draft.channels.get(tag)
    if tag == channel.tag:
        draft.report.error(path, f"{tag} is this channel itself")
    elif tag not in draft.tags:
        draft.report.error(path, f"unknown channel {tag!r}{did_you_mean(tag, draft.tags)}")
    elif other is not None and other.unit is not None and channel.unit is not None:
        try:
            convert(other.unit, channel.unit)
        except UnitError as error:
            draft.report.error(
                path, f"{tag} is in {error.unit or '1'!r}, which {error.problem}"
            )


def _check_voted(
    draft: Draft, channel: ChannelDraft, path: KeyPath, _: DisagreementTable
) -> None:
    """Only redundant sensors can disagree."""
    if not channel.is_voted:
        draft.report.error(
            path, "belongs to a voted channel only; for two channels write a deviation from one"
        )


def _check_plan(draft: Draft, _: ChannelDraft, path: KeyPath, table: BudgetTable) -> None:
    """A plan is a line over time, and what is allowed beyond it is no less than nothing."""
    _check_points(draft, (*path, "plan"), table.plan)
    if table.setpoint < 0:
        draft.report.error(
            (*path, "setpoint"),
            f"{table.setpoint:g} is below 0; write how much beyond the plan",
        )


def _check_points(draft: Draft, path: KeyPath, points: Points) -> None:
    """Points over time: at least two, each later than the one before."""
    if len(points) < 2:
        draft.report.error(path, "needs two points at least: [[0, 101.3], [600, 38]]")
    elif points[0][0] < 0:
        draft.report.error((*path, 0), f"{points[0][0]:g} s is before the beginning")
    elif points[-1][0] > LONGEST_S:
        last = len(points) - 1
        draft.report.error((*path, last), f"{points[-1][0]:g} s is more than {LONGEST_S}")
        return
    for number, ((before, _), (seconds, __)) in enumerate(pairwise(points), start=1):
        # As whole nanoseconds, which is how they are compared with the time.
        if not ns(before) < ns(seconds):
            draft.report.error(
                (*path, number), f"{seconds:g} s is not after {before:g} s, the point before it"
            )


def _check_state(draft: Draft, channel: ChannelDraft, path: KeyPath, table: StateTable) -> None:
    """The state is one that the channel can be in."""
    if channel.span is not None and not _is_in(channel.span, table.state):
        draft.report.error((*path, "is"), _outside(channel.span, table.state))


def _check_bound(
    draft: Draft, channel: ChannelDraft, path: KeyPath, table: TimeToTable
) -> None:
    """What will be reached is a limit of this channel, or a number from one side."""
    where = (*path, "reaches")
    if not isinstance(table.reaches, str):
        if table.toward is None:
            draft.report.missing(
                (*path, "toward"), 'write from which side it is reached: "up" or "down"'
            )
        if channel.span is not None and not _is_in(channel.span, table.reaches):
            draft.report.error(where, _outside(channel.span, table.reaches))
        return
    if table.toward is not None:
        draft.report.error((*path, "toward"), f"follows from {table.reaches!r}; take it out")
    _check_reached(draft, channel, where, table.reaches)


def _check_reached(draft: Draft, channel: ChannelDraft, path: KeyPath, name: str) -> None:
    """The limit that will be reached is there, and stands still."""
    written = draft.raw["channels"][channel.tag].get("limits", {})
    known = [kind.value for kind in UPWARDS if kind.value in written]
    if name not in known:
        near = did_you_mean(name, known) or f"; there are {', '.join(known) or 'none'}"
        draft.report.error(path, f"{channel.tag} has no limit {name!r} on its value{near}")
        return
    reached = channel.thresholds().get(Kind(name))
    if reached is not None and reached.setpoint_in:
        places = ", ".join(reached.setpoint_in)
        draft.report.warning(
            path,
            f"{name} has another setpoint in {places}; the forecast is for "
            f"{reached.setpoint:g} everywhere",
        )


def _check_stuck(draft: Draft, channel: ChannelDraft, path: KeyPath, table: StuckTable) -> None:
    """Between two readings nothing can change."""
    period = period_s(draft, channel)
    if period is not None and table.for_s <= period:
        draft.report.error(
            (*path, "for_s"),
            f"{table.for_s:g} s is not longer than the {period:g} s between two readings; "
            f"write at least {2 * period:g}",
        )


def _check_expected(
    draft: Draft, channel: ChannelDraft, path: KeyPath, table: ExpectedTable
) -> None:
    """What has to come lies on one side of a number, at a time that is named."""
    if (table.above is None) == (table.below is None):
        draft.report.error(path, "write either above or below, with a number")
    for key, value in (("above", table.above), ("below", table.below)):
        if value is not None and channel.span is not None and not _is_in(channel.span, value):
            draft.report.error((*path, key), _outside(channel.span, value))
    if not table.watched_in:
        draft.report.missing(
            (*path, "watched_in"), "name the phases or modes in which it has to come"
        )


def _is_in(span: tuple[float, float], value: float) -> bool:
    return span[0] <= value <= span[1]


def _outside(span: tuple[float, float], value: float) -> str:
    return f"{value:g} is outside the span from {span[0]:g} to {span[1]:g}"


_Check = Callable[[Draft, ChannelDraft, KeyPath, Any], None]
_CHECKS: dict[type[Any], _Check] = {
    DeviationTable: _check_origin,
    DisagreementTable: _check_voted,
    BudgetTable: _check_plan,
    StateTable: _check_state,
    TimeToTable: _check_bound,
    StuckTable: _check_stuck,
    ExpectedTable: _check_expected,
}
