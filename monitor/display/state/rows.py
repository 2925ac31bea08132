"""The rows of the channel table: what a person reads off for each channel."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.band import Band, band
from monitor.display.state.model import Model
from monitor.display.state.severity import (
    Severity,
    rank_of,
    severity_of_quality,
)
from monitor.display.state.text import NO_NUMBER, NS, age_text, number_text
from monitor.link.messages import AlarmState, ChannelInfo, Value
from monitor.samples import QUALITY_TEXT, Quality

#: A good value older than this shows its age: nobody should have to ask how old it is.
_QUIET_AGE_NS = 3 * NS


@dataclass(frozen=True, slots=True)
class ChannelRow:
    """A channel as one row.

    Attributes:
        tag: Instrument tag.
        title: What it measures.
        group: Heading it stands under.
        value: Number with its decimals, or ``---``.
        unit: Unit of the number.
        band: Bar against the limits.
        trend: -2 to 2, None when unknown.
        quality: One short phrase, with the age where it matters.
        severity: Of the value itself: calm, doubt, bad, frozen.
        alarm: Most urgent priority that nobody has acknowledged, else most urgent one that
            stands; empty when none does.
        is_unacknowledged: Somebody must still acknowledge it.
    """

    tag: str
    title: str
    group: str
    value: str
    unit: str
    band: Band
    trend: int | None
    quality: str
    severity: Severity
    alarm: str
    is_unacknowledged: bool


def channel_rows(
    model: Model, trends: list[int | None], now_ns: int, *, is_frozen: bool
) -> tuple[ChannelRow, ...]:
    """Build every row.

    Args:
        model: The run.
        trends: Trend of each channel, worked out less often than the rows.
        now_ns: Present data time.
        is_frozen: The engine is not heard: every value is of the past.
    """
    return tuple(
        _row(model, number, trends[number], now_ns, is_frozen=is_frozen)
        for number in range(len(model.values))
    )


def _row(
    model: Model, number: int, trend: int | None, now_ns: int, *, is_frozen: bool
) -> ChannelRow:
    """Build the row of one channel."""
    info, value = model.index.stand.channels[number], model.values[number]
    severity = severity_of_quality(value.quality)
    if is_frozen and severity is not Severity.BAD:
        severity = Severity.FROZEN
    quality = _quality_text(value, model.since_ns[number], now_ns, is_frozen=is_frozen)
    alarm, is_unacknowledged = _alarm_of(info, model.alarms)
    return ChannelRow(
        tag=info.tag,
        title=info.title,
        group=info.group,
        value=NO_NUMBER
        if severity is Severity.BAD
        else number_text(value.value, info.decimals),
        unit=info.unit,
        band=band(info, value.value, model.phase.name, model.alarms),
        trend=None if severity in (Severity.BAD, Severity.FROZEN) else trend,
        quality=quality,
        severity=severity,
        alarm=alarm,
        is_unacknowledged=is_unacknowledged,
    )


def _quality_text(value: Value, since_ns: int, now_ns: int, *, is_frozen: bool) -> str:
    """Say what is wrong with a value and for how long, or how old it is."""
    phrase = QUALITY_TEXT.get(value.quality, f"quality {value.quality:#04x}")
    if value.quality == Quality.WAITING or value.t_ns == 0:
        return QUALITY_TEXT[Quality.WAITING]
    if severity_of_quality(value.quality) is Severity.BAD:
        return f"{phrase} {age_text(now_ns - since_ns)}"
    age_ns = now_ns - value.t_ns
    if is_frozen or age_ns > _QUIET_AGE_NS:
        old = f"{age_text(age_ns)} old"
        return old if value.quality == Quality.GOOD else f"{phrase}, {old}"
    return phrase


def _alarm_of(info: ChannelInfo, alarms: dict[str, AlarmState]) -> tuple[str, bool]:
    """Find the alarm to show for a channel: one that wants attention, else the most urgent."""
    standing = [
        (limit.priority, alarms[limit.id])
        for limit in info.limits
        if limit.id in alarms and alarms[limit.id].is_annunciated
    ]
    if not standing:
        return "", False
    waiting = [priority for priority, state in standing if not state.is_acknowledged]
    most_urgent = min(waiting or [priority for priority, _ in standing], key=rank_of)
    return most_urgent, bool(waiting)
