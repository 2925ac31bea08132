"""The rows of the channel table: what a person reads off for each channel."""

from __future__ import annotations

from collections.abc import Mapping
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

#: A good value older than this, in ns of real time, shows its age: nobody should have to ask.
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
        is_active: Its condition stands; otherwise the value itself is normal again.
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
    is_active: bool


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
    quiet_ns = -1 if is_frozen else _quiet_age_ns(model)
    quality = _quality_text(value, model.since_ns[number], now_ns, quiet_ns)
    alarm = _alarm_of(info, model.alarms)
    return ChannelRow(
        tag=info.tag,
        title=info.title,
        group=info.group,
        value=NO_NUMBER
        if severity is Severity.BAD
        else number_text(value.value, info.decimals),
        unit=info.unit,
        band=band(info, value.value, model.alarms),
        trend=None if severity in (Severity.BAD, Severity.FROZEN) else trend,
        quality=quality,
        severity=severity,
        alarm=alarm.priority,
        is_unacknowledged=alarm.is_unacknowledged,
        is_active=alarm.is_active,
    )


def _quiet_age_ns(model: Model) -> int:
    """Give the age up to which a good value needs no word: some real seconds and the lag."""
    return int(_QUIET_AGE_NS * max(1.0, model.clock.speed) + model.index.stand.lag_s * NS)


def _quality_text(value: Value, since_ns: int, now_ns: int, quiet_ns: int) -> str:
    """Say what is wrong with a value and for how long, or how old it is."""
    phrase = QUALITY_TEXT.get(value.quality, f"quality {value.quality:#04x}")
    if value.quality == Quality.WAITING or value.t_ns == 0:
        return QUALITY_TEXT[Quality.WAITING]
    if severity_of_quality(value.quality) is Severity.BAD:
        return f"{phrase} {age_text(now_ns - since_ns)}"
    age_ns = now_ns - value.t_ns
    if age_ns > quiet_ns:
        old = f"{age_text(age_ns)} old"
        return old if value.quality == Quality.GOOD else f"{phrase}, {old}"
    return phrase


@dataclass(frozen=True, slots=True)
class _Standing:
    """An alarm that is annunciated for a channel."""

    priority: str
    is_unacknowledged: bool
    is_active: bool


def _alarm_of(info: ChannelInfo, alarms: Mapping[str, AlarmState]) -> _Standing:
    """Find the alarm to show for a channel: the most urgent that is active, else that was.

    It wants attention while any of the channel's alarms does: a gone one must not hide an
    active one, nor the other way round.
    """
    standing = [
        _Standing(limit.priority, not state.is_acknowledged, state.is_active)
        for limit in info.limits
        if (state := alarms.get(limit.id)) is not None and state.is_annunciated
    ]
    if not standing:
        return _Standing("", False, False)
    worst = min(standing, key=lambda one: (not one.is_active, rank_of(one.priority)))
    wants = any(one.is_unacknowledged for one in standing)
    return _Standing(worst.priority, wants, worst.is_active)
