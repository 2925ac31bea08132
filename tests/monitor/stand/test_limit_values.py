"""Tests for monitor.stand.limit_values.

Source: hand-worked here. Deadbands of 5, 5, 2 and 1 % of the range for flow, level, pressure
and temperature: a handbook's text that quotes the guidance of ANSI/ISA-18.2 and EEMUA 191.
Delays of 15, 60, 15 and 60 s: from memory of the same guidance.
"""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from monitor.limits.plan import Kind
from monitor.stand.draft import ChannelDraft
from monitor.stand.limit_values import (
    deadband_of,
    off_delay_s,
    on_delay_s,
    percent_of,
    unit_of,
    window_s,
)
from monitor.stand.schema import ChannelTable
from monitor.stand.schema_limits import TABLES, WatchTable
from monitor.units import parse_unit

RATE = {"setpoint": 2, "per": "min", "window_s": 30}


def channel(unit: str = "kPa", **keys: object) -> ChannelDraft:
    """Make a channel with a span of 200."""
    table = msgspec.convert(keys, ChannelTable)
    return ChannelDraft("PT-1", table, unit=parse_unit(unit), span=(-50.0, 150.0))


def table(kind: Kind, **keys: object) -> Any:
    """Make the table of a limit."""
    found = msgspec.convert({"priority": "high", **keys}, TABLES[kind])
    assert isinstance(found, WatchTable)
    return found


@pytest.mark.parametrize(
    ("signal", "deadband", "delay"),
    [("flow", 10, 15), ("level", 10, 60), ("pressure", 4, 15), ("temperature", 2, 60)],
)
def test_a_signal_type_gives_the_published_starting_points(
    signal: str, deadband: float, delay: float
) -> None:
    typed = channel(signal_type=signal)
    high = table(Kind.HIGH, setpoint=100)

    assert deadband_of(typed, Kind.HIGH, high) == pytest.approx(deadband)
    assert on_delay_s(typed, Kind.HIGH, high) == delay
    assert off_delay_s(typed, Kind.HIGH, high) == delay


def test_without_a_signal_type_there_is_no_deadband_and_no_delay() -> None:
    high = table(Kind.HIGH, setpoint=100)

    assert deadband_of(channel(), Kind.HIGH, high) == 0
    assert (
        on_delay_s(channel(), Kind.HIGH, high),
        off_delay_s(channel(), Kind.HIGH, high),
    ) == (
        0,
        0,
    )


def test_what_is_written_counts_even_when_it_is_nothing() -> None:
    typed = channel(signal_type="flow")
    high = table(Kind.HIGH, setpoint=100, deadband=0, on_delay_s=0, off_delay_s=0)

    assert deadband_of(typed, Kind.HIGH, high) == 0
    assert (on_delay_s(typed, Kind.HIGH, high), off_delay_s(typed, Kind.HIGH, high)) == (0, 0)


def test_top_priority_gets_no_on_delay_by_its_signal_and_an_off_delay() -> None:
    typed = channel(signal_type="pressure")
    high = table(Kind.HIGH, setpoint=100, priority="top")

    assert on_delay_s(typed, Kind.HIGH, high) == 0
    assert off_delay_s(typed, Kind.HIGH, high) == 15


def test_counted_samples_stand_instead_of_the_delay_of_the_signal() -> None:
    typed = channel(signal_type="pressure")

    assert on_delay_s(typed, Kind.HIGH, table(Kind.HIGH, setpoint=100, n_of_m=[3, 5])) == 0


@pytest.mark.parametrize(
    ("kind", "keys", "delay"),
    [
        (Kind.LOW_LOW, {"setpoint": 1}, 15),
        (Kind.DEVIATION, {"setpoint": 1, "from": 3}, 15),
        (Kind.DISAGREEMENT, {"setpoint": 1}, 15),
        (Kind.RATE_OF_RISE, RATE, 0),
        (Kind.BUDGET, {"setpoint": 1, "plan": [[0, 0], [1, 1]]}, 0),
        (Kind.STATE, {"is": 1}, 0),
    ],
)
def test_the_signal_delays_values_and_their_differences_only(
    kind: Kind, keys: dict[str, object], delay: float
) -> None:
    typed, limit = channel(signal_type="flow"), table(kind, **keys)

    assert (on_delay_s(typed, kind, limit), off_delay_s(typed, kind, limit)) == (delay, delay)


@pytest.mark.parametrize("kind", [Kind.DEVIATION, Kind.DISAGREEMENT])
def test_the_signal_gives_a_difference_no_deadband(kind: Kind) -> None:
    assert deadband_of(channel(signal_type="flow"), kind, table(kind, setpoint=1)) == 0


@pytest.mark.parametrize(
    ("text", "percent"),
    [("2 %", 2), ("2%", 2), (" 0.5 % ", 0.5), (".5 %", 0.5), ("2", None), ("-2 %", None)],
)
def test_a_part_of_the_span_is_written_with_its_sign(text: str, percent: float | None) -> None:
    assert percent_of(text) == percent


def test_a_deadband_in_percent_is_one_of_the_span() -> None:
    assert deadband_of(
        channel(), Kind.HIGH, table(Kind.HIGH, setpoint=1, deadband="2 %")
    ) == pytest.approx(4.0)


def test_a_forecast_has_a_deadband_in_seconds() -> None:
    keys: dict[str, object] = {"reaches": "high", "within_s": 300, "window_s": 60}
    forecast = table(Kind.TIME_TO_LIMIT, deadband=20, **keys)

    assert deadband_of(channel(), Kind.TIME_TO_LIMIT, forecast) == 20


@pytest.mark.parametrize(
    ("kind", "keys", "delay"),
    [
        (Kind.STUCK, {"for_s": 60}, 60),
        (Kind.LATE, {"after_s": 1900}, 1900),
        (Kind.MISSED, {"after_s": 2400}, 2400),
        (Kind.OVERLONG, {"longest_s": 45}, 45),
        (Kind.EXPECTED, {"above": 0.5, "within_s": 30}, 30),
    ],
)
def test_a_time_of_its_own_is_the_delay(
    kind: Kind, keys: dict[str, object], delay: float
) -> None:
    limit = table(kind, **keys)

    assert on_delay_s(channel(), kind, limit) == delay
    assert deadband_of(channel(), kind, limit) == 0


def test_only_rates_and_forecasts_have_a_window() -> None:
    forecast = table(Kind.TIME_TO_LIMIT, reaches="high", within_s=300, window_s=60)

    assert window_s(table(Kind.RATE_OF_RISE, **RATE)) == 30
    assert window_s(forecast) == 60
    assert window_s(table(Kind.HIGH, setpoint=1)) == 0


@pytest.mark.parametrize(
    ("unit", "kind", "keys", "expected"),
    [
        ("kPa", Kind.RATE_OF_RISE, RATE, "kPa/min"),
        ("degC", Kind.RATE_OF_FALL, RATE, "K/min"),
        ("1", Kind.RATE_OF_RISE, RATE, "1/min"),
        ("degC", Kind.DEVIATION, {"setpoint": 1, "from": 3}, "K"),
        ("kPa", Kind.DEVIATION, {"setpoint": 1, "from": 3}, ""),
        ("degC", Kind.HIGH, {"setpoint": 1}, ""),
        ("kPa", Kind.TIME_TO_LIMIT, {"reaches": 1, "within_s": 3, "window_s": 3}, "s"),
    ],
)
def test_the_unit_of_what_is_compared_is_told_where_it_is_another(
    unit: str, kind: Kind, keys: dict[str, object], expected: str
) -> None:
    assert unit_of(channel(unit), kind, table(kind, **keys)) == expected
