"""From a draft without mistakes to the stand and its plan."""

from __future__ import annotations

import math
from typing import assert_never

from monitor.alarms.plan import AlarmsPlan
from monitor.channels.plan import (
    ChannelsPlan,
    Computed,
    Conversion,
    CurrentLoop,
    Linear,
    Measured,
    PlatinumRtd,
    Polynomial,
    System,
    ThermocoupleK,
    Voted,
)
from monitor.pipeline import Plan
from monitor.stand import schema
from monitor.stand.alarm_plan import RECORDING, alarm_pairs, link_tag
from monitor.stand.alarm_texts import figure_of
from monitor.stand.check_instruments import split_source
from monitor.stand.combination_plan import abort_entries, combination_pairs
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.figures import DEFAULT_SKEW_S, Figures, ns, vote_of
from monitor.stand.limit_values import window_s
from monitor.stand.model import (
    CalibrationEntry,
    ChannelEntry,
    ChartEntry,
    InstrumentEntry,
    LimitTime,
    Stand,
)
from monitor.stand.phase_plan import (
    entry_conditions,
    lapses,
    mode_entries,
    overlong_pairs,
    phase_entries,
)
from monitor.stand.safety import behind_top, quieted
from monitor.stand.timing import clock_of, delay_s, filter_of_s, sensor_s


def compile_stand(draft: Draft, text: str) -> Stand:
    """Compile a stand.

    Args:
        draft: A stand in which no check found a mistake.
        text: The file as it was read.
    """
    figures = _figures(draft)
    channels = _channels_plan(draft, figures)
    plan = _plan(draft, channels, figures)
    stand = draft.stand
    assert stand is not None
    return Stand(
        name=stand.name,
        title=stand.title or stand.name,
        lag_ns=ns(stand.lag_s),
        instruments=_instruments(draft),
        channels=tuple(
            _channel_entry(channel, channels.column[channel.tag])
            for channel in draft.channels.values()
        ),
        phases=phase_entries(draft),
        charts=_charts(draft),
        plan=plan,
        text=text,
        warnings=draft.report.problems,
        limit_times=_limit_times(draft),
        modes=mode_entries(draft),
        aborts=abort_entries(draft),
    )


def _charts(draft: Draft) -> tuple[ChartEntry, ...]:
    """List the strip charts."""
    return tuple(
        ChartEntry(chart.title or ", ".join(chart.tags), tuple(chart.tags))
        for chart in draft.charts.values()
    )


def _figures(draft: Draft) -> Figures:
    """Make the hidden columns: filters, those of limits, in the order of the file."""
    figures = Figures(draft)
    for channel in draft.channels.values():
        figures.side_of(channel)
        for kind in channel.limits:
            figures.tag_for(channel, kind)
    return figures


def _channels_plan(draft: Draft, figures: Figures) -> ChannelsPlan:
    """Lay the columns out."""
    measured = [one for one in draft.channels.values() if not one.is_computed]
    links = [System(link_tag(name)) for name in draft.instruments]
    computed = [_computed(draft.channels[tag]) for tag in draft.computed_order]
    return ChannelsPlan(
        measured=tuple(_measured(draft, channel) for channel in measured),
        system=(*links, System(RECORDING)),
        computed=(*computed, *figures.computed.values()),
        filtered=tuple(figures.filtered.values()),
        derived=tuple(figures.derived.values()),
    )


def _plan(draft: Draft, channels: ChannelsPlan, figures: Figures) -> Plan:
    """Add limits and alarms to the columns."""
    by_column = alarm_pairs(draft, channels.column, figures)
    pairs = combination_pairs(draft, [*by_column, *overlong_pairs(draft)])
    pairs = quieted(draft, pairs)
    watched = {
        channel.tag: channels.column[figures.side_of(channel)]
        for channel in draft.channels.values()
    }
    conditions, automatic = entry_conditions(draft, watched)
    alarms = AlarmsPlan(
        tuple(pair.alarm for pair in pairs),
        tuple(draft.phase_names),
        tuple(draft.mode_names),
        conditions,
        automatic,
        lapses(draft, pairs),
        {one.tag: (one.low, one.high) for one in channels.measured},
        behind_top(draft),
    )
    return Plan(channels, tuple(pair.limit for pair in pairs), alarms)


def _measured(draft: Draft, channel: ChannelDraft) -> Measured:
    """Compile a measured channel."""
    table = channel.table
    instrument, signal = split_source(table.source or "")
    low, high = table.range or (-math.inf, math.inf)
    due = table.calibration.due if table.calibration else draft.today
    return Measured(
        tag=channel.tag,
        instrument=instrument,
        signal=signal,
        conversion=_conversion(table.convert),
        stale_after_ns=ns(channel.stale_after_s),
        low=low,
        high=high,
        is_calibration_overdue=due < draft.today,
    )


def _conversion(table: schema.Conversion | None) -> Conversion:
    """Compile a conversion; without one the reading is the value."""
    match table:
        case None:
            return Linear()
        case schema.LinearTable():
            return Linear(table.gain, table.offset)
        case schema.PolynomialTable():
            return Polynomial(tuple(table.coefficients))
        case schema.CurrentLoopTable():
            return CurrentLoop(table.at_4ma, table.at_20ma)
        case schema.PlatinumTable():
            return PlatinumRtd(table.r0_ohm)
        case schema.ThermocoupleTable():
            return ThermocoupleK(table.cold_junction_degc or 0.0, table.cold_junction or "")
        case _:
            assert_never(table)


def _computed(channel: ChannelDraft) -> Computed | Voted:
    """Compile a computed or voted channel."""
    if channel.is_voted:
        return vote_of(channel)
    formula, clock = channel.formula, clock_of(channel)
    assert formula is not None
    assert clock is not None
    skew_s = channel.table.largest_skew_s
    tags = channel.input_tags()
    return Computed(
        tag=channel.tag,
        formula=formula,
        inputs=tuple((name, tags[name]) for name in formula.names),
        clock=clock,
        largest_skew_ns=ns(skew_s or DEFAULT_SKEW_S),
    )


def _instruments(draft: Draft) -> tuple[InstrumentEntry, ...]:
    """List the instruments to start."""
    found = []
    for one in draft.instruments.values():
        assert one.kind is not None
        assert one.settings is not None
        found.append(InstrumentEntry(one.name, one.kind.name, one.settings))
    return tuple(found)


def _channel_entry(channel: ChannelDraft, column: int) -> ChannelEntry:
    """Describe a channel for people."""
    table = channel.table
    assert channel.span is not None
    assert channel.unit is not None
    instrument, signal = split_source(table.source or "")
    kept = table.calibration
    return ChannelEntry(
        tag=channel.tag,
        title=channel.title,
        unit=channel.unit.text,
        decimals=_decimals(channel.span) if table.decimals is None else table.decimals,
        low=channel.span[0],
        high=channel.span[1],
        group=table.group,
        instrument=instrument,
        formula=_formula_text(channel),
        column=column,
        signal=signal,
        calibration=CalibrationEntry(kept.date, kept.due, kept.by) if kept else None,
    )


def _formula_text(channel: ChannelDraft) -> str:
    """Say what a channel is made of; nothing for a measured one."""
    if channel.is_voted:
        vote = vote_of(channel)
        return f"{vote.needed} of {len(vote.inputs)} vote: {', '.join(vote.inputs)}"
    return channel.formula.text if channel.formula else ""


def _decimals(span: tuple[float, float]) -> int:
    """Show about a thousandth of the span."""
    return min(max(math.ceil(3 - math.log10(span[1] - span[0])), 0), 9)


def _limit_times(draft: Draft) -> tuple[LimitTime, ...]:
    """Add up how late each limit on a value is."""
    return tuple(
        LimitTime(
            id=f"{channel.tag}.{kind}",
            sensor_s=sensor_s(draft, channel),
            filter_s=filter_of_s(draft, channel, limit),
            delay_s=delay_s(draft, channel, kind, limit),
            respond_s=limit.time_to_respond_s,
            window_s=window_s(limit),
            figure=figure_of(channel, kind, limit),
        )
        for channel in draft.channels.values()
        for kind, limit in channel.value_limits().items()
    )
