"""Tests for monitor.units.

Source: pint's own definitions of the same units (an independent table); NIST SP 811 (2008),
appendix B.8, for the torr; offsets of °C and °F from their definitions. Hand-worked otherwise.
"""

from __future__ import annotations

import math
import subprocess
import sys
from fractions import Fraction
from typing import Any

import pint
import pytest

from monitor.errors import UnitError
from monitor.unit_table import rows
from monitor.units import (
    Unit,
    convert,
    is_same,
    known_units,
    parse_unit,
    power,
    product,
    quotient,
)

#: Sizes of units that pint does not know, in SI base units.
NOT_IN_PINT = {"ppb": 1e-9, "rev": 2 * math.pi, "Torr": 133.3224}
#: NIST prints the torr with seven digits; doubles give sixteen.
TOLERANCE = {"Torr": 5e-7}


@pytest.fixture(scope="module")
def pints_own() -> Any:
    return pint.UnitRegistry()


def size_in_si(unit: Unit) -> float:
    """Give the size of a unit in SI base units, angles in rad."""
    turned_by_angle = "[angle]" in unit.pint.dimensionality
    factor = unit.pint._REGISTRY.get_base_units(unit.pint)[0]
    return float(factor) * (math.pi / 180 if turned_by_angle else 1.0)


@pytest.mark.parametrize("shown", [row[0] for row in rows() if row[0] not in ("°C", "°F")])
def test_each_unit_has_the_size_that_another_table_gives_it(shown: str, pints_own: Any) -> None:
    expected = NOT_IN_PINT.get(shown)
    if expected is None:
        expected = pints_own.Quantity(1.0, pints_own.Unit(shown)).to_base_units().magnitude

    got = size_in_si(parse_unit(shown))

    assert got == pytest.approx(expected, rel=TOLERANCE.get(shown, 1e-14))


@pytest.mark.parametrize(
    ("source", "target", "gain", "offset"),
    [
        ("degC", "K", Fraction(1), Fraction(27315, 100)),
        ("degF", "degC", Fraction(5, 9), Fraction(-160, 9)),
        ("bar", "kPa", Fraction(100), Fraction(0)),
        ("kPa", "mbar", Fraction(10), Fraction(0)),
        ("L/min", "m3/h", Fraction(6, 100), Fraction(0)),
        ("kPa*L", "J", Fraction(1), Fraction(0)),
        ("Wh", "kJ", Fraction(36, 10), Fraction(0)),
    ],
)
def test_conversions_are_exact_fractions(
    source: str, target: str, gain: Fraction, offset: Fraction
) -> None:
    assert convert(parse_unit(source), parse_unit(target)) == (gain, offset)


def test_boiling_water_is_212_fahrenheit() -> None:
    gain, offset = convert(parse_unit("degC"), parse_unit("degF"))

    assert gain * 100 + offset == 212


def test_units_of_different_things_are_not_converted() -> None:
    with pytest.raises(UnitError, match="measures something else than 'K'"):
        convert(parse_unit("kPa"), parse_unit("K"))


def test_revolutions_per_minute_are_no_hertz() -> None:
    with pytest.raises(UnitError, match="something else"):
        convert(parse_unit("rpm"), parse_unit("Hz"))


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("kPa", "kPa"),
        ("degC", "°C"),
        ("℃", "°C"),
        ("ohm", "Ω"),
        ("\u2126", "Ω"),
        ("um", "µm"),
        ("l/min", "L/min"),
        ("m3/h", "m³/h"),
        ("m^3/h", "m³/h"),
        ("m**3 / h", "m³/h"),
        ("m³/h", "m³/h"),
        ("kg*m^-3", "kg·m⁻³"),
        ("kg⋅m⁻³", "kg·m⁻³"),
        ("W/(m2*K)", "W/(m²·K)"),
        ("(m/s)^2", "(m/s)²"),
        ("1/min", "1/min"),
        ("mmH2O", "mmH2O"),
        ("1", ""),
        (" % ", "%"),
    ],
)
def test_a_unit_is_shown_in_one_way(written: str, shown: str) -> None:
    assert parse_unit(written).text == shown


@pytest.mark.parametrize("shown", [*known_units(), "kg/h", "W/(m²·K)", "kg·m⁻³", "m³/h"])
def test_what_is_shown_can_be_read_again(shown: str) -> None:
    assert parse_unit(shown).text == shown


@pytest.mark.parametrize(
    ("written", "problem"),
    [
        ("kpa", "unknown 'kpa'; did you mean 'kPa'?"),
        ("mbra", "unknown 'mbra'; did you mean 'mbar'?"),
        ("C", "unknown 'C'; write degC"),
        ("barg", "unknown 'barg'; write bar (say in the title that it is gauge)"),
        ("SLPM", "unknown 'SLPM'; write L/min (say in the title at which conditions)"),
        ("kg/qqq", "unknown 'qqq'; known are m, s, kg"),
        ("m5", "unknown 'm5'"),
        ("", "empty; write '1' for a plain number"),
        ("  ", "empty; write '1' for a plain number"),
        ("N m", "cannot be read; write for example 'kPa', 'L/min', 'W/(m2*K)' or '1'"),
        ("kPa/", "cannot be read"),
        ("/s", "cannot be read"),
        ("kPa;", "cannot be read"),
        ("(m", "cannot be read"),
        ("(m)2", "cannot be read"),
        ("2*m", "cannot be read"),
        ("m^", "cannot be read"),
        ("m^x", "cannot be read"),
        ("m^9999", "cannot be read"),
        ("m**2**2", "cannot be read"),
        ("m^0", "power 0 is not between -9 and 9"),
        ("m^10", "power 10 is not between -9 and 9"),
        ("W/degC", "°C counts from a zero of its own; write 'K'"),
        ("degC2", "°C counts from a zero of its own; write 'K'"),
        ("1/degF", "°F counts from a zero of its own; write 'K'"),
        ("m*" * 40 + "m", "longer than 60 characters"),
    ],
)
def test_a_unit_that_cannot_be_used_is_refused_with_a_cure(written: str, problem: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_unit(written)

    assert caught.value.problem.startswith(problem)


def test_an_error_of_a_unit_names_the_unit_first() -> None:
    with pytest.raises(UnitError, match=r"^unit 'kpa': unknown"):
        parse_unit("kpa")


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        ("mbar", "hPa", True),
        ("N*m", "J", True),
        ("kPa", "kPa", True),
        ("count", "1", True),
        ("kPa", "bar", False),
        ("%", "1", False),
        ("degC", "K", False),
        ("kPa", "K", False),
    ],
)
def test_units_are_the_same_when_a_number_means_the_same(
    first: str, second: str, same: bool
) -> None:
    assert is_same(parse_unit(first), parse_unit(second)) is same


@pytest.mark.parametrize(
    ("unit", "mixes"),
    [("kPa/bar", True), ("g/h*min", True), ("kPa*m2/N", True), ("kPa", False), ("%", False)],
)
def test_a_unit_that_holds_two_scales_of_one_thing_is_told(unit: str, mixes: bool) -> None:
    assert parse_unit(unit).mixes_scales is mixes


def test_products_and_powers_are_named_with_divisors_last() -> None:
    pressure, volume, mass = parse_unit("kPa"), parse_unit("L"), parse_unit("kg")

    assert product(pressure, volume).text == "kPa·L"
    assert quotient(pressure, volume).text == "kPa/L"
    assert quotient(pressure, product(volume, mass)).text == "kPa/(L·kg)"
    assert quotient(parse_unit("1"), pressure).text == "1/kPa"
    assert quotient(pressure, pressure).text == ""
    assert power(pressure, Fraction(2)).text == "kPa²"
    assert power(pressure, Fraction(1, 2)).text == "kPa^(1/2)"


def test_half_powers_of_squares_are_whole_again() -> None:
    area = parse_unit("m2")

    assert is_same(power(area, Fraction(1, 2)), parse_unit("m"))


def test_pint_is_not_imported_before_a_unit_is_read() -> None:
    code = "import sys, monitor.units; print('pint' in sys.modules)"

    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert done.stdout.strip() == "False"


def test_only_scales_with_a_zero_of_their_own_are_points() -> None:
    points = [shown for shown in known_units() if parse_unit(shown).is_point]

    assert points == ["°C", "°F"]
