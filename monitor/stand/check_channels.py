"""Checks channels one by one: tag, unit, source, conversion, range, filter, calibration."""

from __future__ import annotations

import re
from collections.abc import Callable

from monitor.errors import UnitError, did_you_mean
from monitor.stand.check_instruments import split_source
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.schema import (
    SORT_KEYS,
    CurrentLoopTable,
    FilterTable,
    LinearTable,
    PlatinumTable,
    PolynomialTable,
    ThermocoupleTable,
)
from monitor.units import parse_unit

#: Letters, then digits: ``PT-101``, ``PDT-301A``, with an area in front: ``10-PT-101``.
#:
#: Source: ANSI/ISA-5.1-2009, clause 4 (identification letters, then the loop number).
_TAG = re.compile(r"(\d+-)?[A-Z]{1,5}-?\d+[A-Z]?(-\d+)?")
#: Signs that mean something in the names of limits, links and hidden channels.
_RESERVED = ".:~*"
#: What a channel is called by the key that tells its sort.
_SORTS = {"source": "measured", "formula": "computed", "vote": "voted"}
#: Longest window of a median, in samples.
_LARGEST_MEDIAN = 99


def check_channels(draft: Draft) -> None:
    """Note what is wrong with channels, each by itself and with its instrument."""
    if not draft.tags:
        draft.report.missing(("channels",), "write [channels.TAG] for each channel")
    _check_tags(draft)
    for channel in draft.channels.values():
        for check in _CHECKS:
            check(draft, channel)
    _check_signals_used_once(draft)


def _check_tags(draft: Draft) -> None:
    """Tags are shown, spoken and written down: they must not be taken for each other."""
    seen: dict[str, str] = {}
    for tag in draft.tags:
        path = ("channels", tag)
        reserved = [sign for sign in tag if sign in _RESERVED or sign.isspace()]
        if reserved or not tag:
            what = f"{reserved[0]!r} has no place in a tag" if reserved else "a tag is missing"
            draft.report.error(path, f"{what}; write letters, a dash and a number: PT-101")
        elif not _TAG.fullmatch(tag):
            wish = f"; {tag.upper()!r} would be one" if _TAG.fullmatch(tag.upper()) else ""
            draft.report.warning(
                path, f"is no instrument tag of letters and a number like PT-101{wish}"
            )
        other = seen.setdefault(tag.casefold(), tag)
        if other != tag:
            draft.report.error(path, f"differs from {other!r} by capitals only")


def _check_sort(draft: Draft, channel: ChannelDraft) -> None:
    """A channel is measured, computed or voted, and has the keys of its sort only."""
    report, path = draft.report, channel.path
    written = draft.raw["channels"][channel.tag]
    sorts = [sort for sort in SORT_KEYS if sort in written]
    if not sorts:
        report.missing(
            (*path, "source"),
            'write source = "instrument.signal", or formula with inputs, or vote with tags',
        )
        return
    if len(sorts) > 1:
        report.error((*path, sorts[1]), f"stands beside a {sorts[0]}; take one of them out")
        return
    for key in written:
        owners = [_SORTS[sort] for sort, keys in SORT_KEYS.items() if key in keys]
        if owners and key not in SORT_KEYS[sorts[0]]:
            report.error((*path, key), f"belongs to a {' or '.join(owners)} channel only")


def _check_unit(draft: Draft, channel: ChannelDraft) -> None:
    """The unit must be known; it is needed even for plain numbers."""
    path = (*channel.path, "unit")
    text = channel.table.unit
    if text is None:
        draft.report.missing(path, 'write unit = "kPa", or "1" for a plain number')
        return
    try:
        channel.unit = parse_unit(text)
    except UnitError as error:
        draft.report.error(path, error.problem)


def _check_span(draft: Draft, channel: ChannelDraft) -> None:
    """Range and span run upwards, and one of them is there for bar and chart."""
    report, path, table = draft.report, channel.path, channel.table
    for key, pair in (("range", table.range), ("span", table.span)):
        if pair is not None and not pair[0] < pair[1]:
            report.error(
                (*path, key), f"runs from {pair[0]:g} to {pair[1]:g}; write the lower end first"
            )
    span = table.span or table.range or _loop_span(channel)
    if span is not None:
        channel.span = span if span[0] < span[1] else None
    elif not any(report.has_error_at((*path, key)) for key in ("range", "convert")):
        report.missing(
            (*path, "span"), "write span = [lowest, highest] for the bar and the chart"
        )


def _loop_span(channel: ChannelDraft) -> tuple[float, float] | None:
    """A current loop gives its span by itself."""
    loop = channel.table.convert
    if not isinstance(loop, CurrentLoopTable):
        return None
    return min(loop.at_4ma, loop.at_20ma), max(loop.at_4ma, loop.at_20ma)


def _check_source(draft: Draft, channel: ChannelDraft) -> None:
    """The instrument must be there and deliver the signal."""
    source = channel.table.source
    if source is None:
        return
    path = (*channel.path, "source")
    name, signal = split_source(source)
    known = ", ".join(draft.instruments) or "none"
    if name not in draft.instruments:
        near = did_you_mean(name, draft.instruments)
        draft.report.error(path, f"unknown instrument {name!r}{near}; instruments are {known}")
        return
    if channel.period_s is None:
        channel.period_s = draft.instruments[name].period_s
    signals = draft.instruments[name].signals
    if signals is None:
        return
    offered = ", ".join(signals) or "none"
    if not signal:
        draft.report.error(path, f'write "{name}.SIGNAL"; signals of {name} are {offered}')
    elif signal not in signals:
        near = did_you_mean(signal, signals)
        draft.report.error(
            path, f"{name} has no signal {signal!r}{near}; it delivers {offered}"
        )


def _check_times(draft: Draft, channel: ChannelDraft) -> None:
    """A value must not go stale between two readings that are on time."""
    period = channel.period_s
    stale = channel.stale_after_s
    path = (*channel.path, "stale_after_s")
    if period is None or channel.is_computed or draft.report.has_error_at(path):
        return
    if stale <= period:
        draft.report.error(
            path,
            f"{stale:g} s is not longer than the {period:g} s between two readings; "
            f"write at least {2 * period:g}",
        )


def _check_conversion(draft: Draft, channel: ChannelDraft) -> None:
    """Each conversion must give different values for different readings."""
    table = channel.table.convert
    if isinstance(table, LinearTable) and table.gain == 0:
        draft.report.error(
            (*channel.path, "convert", "gain"), "is 0: nothing would be measured"
        )
    elif isinstance(table, PolynomialTable) and not any(table.coefficients[1:]):
        draft.report.error(
            (*channel.path, "convert", "coefficients"),
            "needs at least two numbers, the first for the constant part",
        )
    elif isinstance(table, CurrentLoopTable) and table.at_4ma == table.at_20ma:
        draft.report.error(
            (*channel.path, "convert", "at_20mA"),
            f"is {table.at_20ma:g} as at_4mA: nothing would be measured",
        )
    elif isinstance(table, PlatinumTable | ThermocoupleTable):
        _check_thermometer(draft, channel)


def _check_thermometer(draft: Draft, channel: ChannelDraft) -> None:
    """Thermometers give °C."""
    if channel.unit is not None and channel.unit.text != "°C":
        draft.report.error(
            (*channel.path, "unit"), f"is {channel.unit.text!r}; this conversion gives 'degC'"
        )
    table = channel.table.convert
    if isinstance(table, ThermocoupleTable):
        _check_cold_junction(draft, channel, table)


def _check_cold_junction(draft: Draft, channel: ChannelDraft, table: ThermocoupleTable) -> None:
    """The cold junction is a fixed temperature or a measured channel."""
    path = (*channel.path, "convert", "cold_junction")
    tag = table.cold_junction
    if (tag is None) == (table.cold_junction_degc is None):
        draft.report.error(path, "write either cold_junction (a tag) or cold_junction_degC")
        return
    if tag is None:
        return
    other = draft.channels.get(tag)
    if tag not in draft.tags:
        draft.report.error(path, f"unknown channel {tag!r}{did_you_mean(tag, draft.tags)}")
    elif other is not None:
        if other.is_computed:
            draft.report.error(path, f"{tag} is computed; a cold junction must be measured")
        elif isinstance(other.table.convert, ThermocoupleTable):
            draft.report.error(
                path, f"{tag} is a thermocouple itself; name another thermometer"
            )
        elif other.table.unit is not None and not _is_celsius(other.table.unit):
            draft.report.error(path, f"{tag} is in {other.table.unit!r}; it must be in 'degC'")


def _is_celsius(text: str) -> bool:
    """Tell whether a unit is °C; one that cannot be read is told elsewhere."""
    try:
        return parse_unit(text).text == "°C"
    except UnitError:
        return True


def _check_filter(draft: Draft, channel: ChannelDraft) -> None:
    """A filter is a median of an odd number of samples, a lag or a moving average."""
    table: FilterTable | None = channel.table.filter
    if table is None:
        return
    path = (*channel.path, "filter")
    written = [table.median_of, table.lag_s, table.mean_s]
    if len(written) - written.count(None) != 1:
        draft.report.error(path, "write one of median_of (an odd number), lag_s and mean_s")
        return
    size = table.median_of
    if size is not None and not (size % 2 and 3 <= size <= _LARGEST_MEDIAN):
        draft.report.error(
            (*path, "median_of"), f"must be odd, from 3 to {_LARGEST_MEDIAN}, is {size}"
        )


def _check_calibration(draft: Draft, channel: ChannelDraft) -> None:
    """A calibration ends after it began; one that has ended is told."""
    table = channel.table.calibration
    if table is None:
        return
    path = (*channel.path, "calibration", "due")
    if table.due <= table.date:
        draft.report.error(path, f"{table.due} is not after the calibration on {table.date}")
    elif table.due < draft.today:
        days = (draft.today - table.due).days
        draft.report.warning(
            path, f"overdue by {days} days: every value is uncertain until it is calibrated"
        )


def _check_signals_used_once(draft: Draft) -> None:
    """Two channels on one signal are allowed, and mostly a slip of copying."""
    first: dict[str, str] = {}
    for channel in draft.channels.values():
        source = channel.table.source
        if source is None:
            continue
        other = first.setdefault(source, channel.tag)
        if other != channel.tag:
            draft.report.warning(
                (*channel.path, "source"), f"{source!r} is read by {other} already"
            )


_CHECKS: tuple[Callable[[Draft, ChannelDraft], None], ...] = (
    _check_sort,
    _check_unit,
    _check_span,
    _check_source,
    _check_times,
    _check_conversion,
    _check_filter,
    _check_calibration,
)
