"""The stand as its displays need it. Pure."""

from __future__ import annotations

from monitor.alarms.plan import Alarm
from monitor.limits.plan import FLAG_KINDS, Limit
from monitor.link.messages import (
    AbortInfo,
    ChannelInfo,
    ChartInfo,
    LimitInfo,
    ModeInfo,
    PhaseInfo,
    StandInfo,
)
from monitor.stand.model import AbortEntry, ChannelEntry, PhaseEntry, Stand

_S_PER_NS = 1e-9


def described(stand: Stand) -> StandInfo:
    """Describe *stand*; each limit stands with its channel, or apart when it has none."""
    by_tag: dict[str, list[LimitInfo]] = {entry.tag: [] for entry in stand.channels}
    system: list[LimitInfo] = []
    for limit, alarm in zip(stand.plan.limits, stand.plan.alarms.alarms, strict=True):
        by_tag.get(alarm.tag, system).append(_limit(limit, alarm))
    return StandInfo(
        name=stand.name,
        title=stand.title,
        channels=[_channel(entry, by_tag[entry.tag]) for entry in stand.channels],
        phases=[_phase(row) for row in stand.phases],
        charts=[ChartInfo(row.title, list(row.tags)) for row in stand.charts],
        instruments=[row.name for row in stand.instruments],
        system_limits=system,
        lag_s=stand.lag_ns * _S_PER_NS,
        modes=[ModeInfo(row.name, row.title, row.note) for row in stand.modes],
        aborts=[_abort(row) for row in stand.aborts],
        behind_top=sorted(stand.plan.alarms.behind_top),
    )


def _phase(entry: PhaseEntry) -> PhaseInfo:
    """Describe one phase; a time that the file does not state is 0."""
    return PhaseInfo(
        name=entry.name,
        title=entry.title,
        note=entry.note,
        sort=entry.sort,
        planned_s=entry.planned_s or 0.0,
        longest_s=entry.longest_s or 0.0,
        is_quiet=entry.is_quiet,
        entry=entry.automatic,
    )


def _abort(entry: AbortEntry) -> AbortInfo:
    """Describe one abort criterion."""
    return AbortInfo(
        entry.limit, entry.title, entry.when, list(entry.looks_at), entry.safe_state
    )


def _channel(entry: ChannelEntry, limits: list[LimitInfo]) -> ChannelInfo:
    """Describe one channel with its limits."""
    return ChannelInfo(
        tag=entry.tag,
        title=entry.title,
        unit=entry.unit,
        decimals=entry.decimals,
        low=entry.low,
        high=entry.high,
        group=entry.group,
        instrument=entry.instrument,
        formula=entry.formula,
        limits=limits,
    )


def _limit(limit: Limit, alarm: Alarm) -> LimitInfo:
    """Describe one limit and its alarm."""
    return LimitInfo(
        id=limit.id,
        kind=limit.kind.value,
        priority=alarm.priority.value,
        message=alarm.message,
        response=alarm.response,
        setpoint=limit.setpoint if is_told(limit) else None,
        setpoint_in=dict(limit.setpoint_in),
        deadband=limit.deadband,
        on_delay_s=limit.on_delay_ns * _S_PER_NS,
        off_delay_s=limit.off_delay_ns * _S_PER_NS,
        is_latching=alarm.is_latching,
        suppressed_in=sorted(alarm.suppressed_in),
        unit=alarm.unit,
        watched_in=sorted(limit.watched_in),
        suppressed_by=list(alarm.suppressed_by),
        realarm_s=alarm.realarm_ns * _S_PER_NS,
        group=alarm.group,
        safe_state=alarm.safe_state,
        n_of_m=limit.n_of_m,
        is_arming=limit.is_arming,
    )


def is_told(limit: Limit) -> bool:
    """Whether a limit has a setpoint that says something to people."""
    return limit.compares and limit.kind not in FLAG_KINDS
