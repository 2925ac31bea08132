"""What each strip chart shows: its lines, limits and range, and the words at its right end."""

from __future__ import annotations

import math
from dataclasses import dataclass

from monitor.display.state.axis import Range, close_range
from monitor.display.state.index import StandIndex
from monitor.display.state.kinds import KIND_TEXT, ON_AXIS, setpoint_now
from monitor.display.state.model import Model
from monitor.display.state.rows import ChannelRow
from monitor.display.state.severity import PRIORITIES, Severity
from monitor.display.state.text import number_text
from monitor.display.state.trace import Line

_MOST_PER_CHART = 6
#: A close-up is never closer than this share of the span, or noise would fill the chart.
_CLOSEST = 0.02


@dataclass(frozen=True, slots=True)
class ChartPlan:
    """A chart as laid out for a stand. *channels* are positions in the stand."""

    title: str
    unit: str
    channels: tuple[int, ...]
    span: Range


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit across a chart. *line* is the position of its channel in the chart."""

    at: float
    text: str
    line: int
    severity: Severity


@dataclass(frozen=True, slots=True)
class EndLabel:
    """Tag and value at the right end of a line. *at* is None where there is no value."""

    tag: str
    value: str
    at: float | None
    line: int
    severity: Severity
    alarm: str


def chart_plans(index: StandIndex) -> tuple[ChartPlan, ...]:
    """Lay out the stand's charts; without any, one for each unit in each group."""
    wanted = [(chart.title, chart.tags) for chart in index.stand.charts] or _by_unit(index)
    plans = []
    for title, tags in wanted:
        numbers = tuple(index.channel[tag] for tag in tags if tag in index.channel)
        if numbers:
            plans.append(plan_of(index, title, numbers))
    return tuple(plans)


def plan_of(index: StandIndex, title: str, channels: tuple[int, ...]) -> ChartPlan:
    """Lay out one chart over *channels*."""
    infos = [index.stand.channels[number] for number in channels]
    low, high = min(info.low for info in infos), max(info.high for info in infos)
    if not (math.isfinite(low) and math.isfinite(high) and high > low):
        low, high = 0.0, 1.0
    units = " / ".join(dict.fromkeys(info.unit for info in infos if info.unit))
    return ChartPlan(title, units, channels, Range(low, high))


def _by_unit(index: StandIndex) -> list[tuple[str, list[str]]]:
    """Group the channels by group and unit, at most six to a chart."""
    groups: dict[tuple[str, str], list[str]] = {}
    for info in index.stand.channels:
        groups.setdefault((info.group, info.unit), []).append(info.tag)
    charts = []
    for (group, unit), tags in groups.items():
        title = f"{group}, {unit}" if group and unit else group or unit or "Channels"
        for start in range(0, len(tags), _MOST_PER_CHART):
            charts.append((title, tags[start : start + _MOST_PER_CHART]))
    return charts


def limit_lines(model: Model, plan: ChartPlan) -> tuple[LimitLine, ...]:
    """List the limits of a chart's channels that are in force; active ones stand out."""
    lines = []
    for position, number in enumerate(plan.channels):
        info = model.index.stand.channels[number]
        for limit in info.limits:
            setpoint = setpoint_now(limit, model.alarms) if limit.kind in ON_AXIS else None
            if setpoint is None:
                continue
            state = model.alarms.get(limit.id)
            is_loud = state is not None and state.is_annunciated and state.is_active
            loud = is_loud and limit.priority in PRIORITIES
            severity = Severity(limit.priority) if loud else Severity.CALM
            text = f"{info.tag} {KIND_TEXT[limit.kind]}"
            lines.append(LimitLine(setpoint, text, position, severity))
    return tuple(lines)


def end_labels(
    model: Model, plan: ChartPlan, rows: tuple[ChannelRow, ...]
) -> tuple[EndLabel, ...]:
    """Write tag and value of each line, as the channel table has them."""
    return tuple(
        EndLabel(
            rows[number].tag,
            rows[number].value,
            model.values[number].value,
            position,
            rows[number].severity,
            rows[number].alarm if rows[number].is_active else "",
        )
        for position, number in enumerate(plan.channels)
    )


def held_labels(
    model: Model, labels: tuple[EndLabel, ...], lines: tuple[Line, ...], plan: ChartPlan
) -> tuple[EndLabel, ...]:
    """Write what each line says at its right end instead of the present value."""
    held = []
    for label, line, number in zip(labels, lines, plan.channels, strict=True):
        last = float(line.y[-1]) if line.y.size else math.nan
        decimals = model.index.stand.channels[number].decimals
        at = last if math.isfinite(last) else None
        severity = Severity.CALM if at is not None else Severity.BAD
        text = number_text(at, decimals)
        held.append(EndLabel(label.tag, text, at, label.line, severity, ""))
    return tuple(held)


def shown_range(
    plan: ChartPlan, lines: tuple[Line, ...], marks: tuple[float, ...], now: Range | None
) -> Range:
    """Choose the value range so that all that is drawn is in it.

    Args:
        plan: The chart.
        lines: Lines as drawn.
        marks: Values that must be in it as well: the limits, or none for a close-up.
        now: Range shown at present.
    """
    inside = [mark for mark in marks if plan.span.low <= mark <= plan.span.high]
    some = [line for line in lines if line.low == line.low]
    if not some and not inside:
        return now or plan.span
    low = min([line.low for line in some] + inside)
    high = max([line.high for line in some] + inside)
    return close_range(low, high, now, plan.span.width * _CLOSEST)
