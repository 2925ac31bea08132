"""Units of measurement: which ones a stand file may use, how they are shown and converted.

The only module that knows pint. It imports pint late and gives it just the units below, with
exact fractions: pint's own 900 units take 0.15 s to load, and a shorter list makes for better
hints ("PT" is no pressure tag but a petatesla to a longer one).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Any

from monitor.errors import UnitError, did_you_mean
from monitor.unit_table import HABITS, rows, spellings

#: A unit's name. The micro sign, mu, omega and the ohm sign all occur.
_LETTERS = r"[A-Za-zµμΩ\u2126][A-Za-z0-9Ω\u2126]*|[%℃℉]|°[CF]?"
_PARTS = re.compile(r"\s*(\*\*|[*·⋅/^()]|[⁻⁰¹²³⁴-⁹]+|-?\d+|" + _LETTERS + ")")
_WORD = re.compile(_LETTERS)
_SUPERSCRIPT = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
_TO_SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
#: Scales that count from a zero of their own.
_POINTS = frozenset(("°C", "°F"))
#: Longest unit text and largest power; more is a slip of the hand.
_LONGEST = 60
_LARGEST_POWER = 9


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit that was understood. Two units of one text are the same unit.

    Attributes:
        text: As it is shown, for example ``kg/h``, ``°C``; empty for the number 1.
        pint: Pint's own object.
        is_point: A scale with an offset (°C, °F), on which a product has no meaning.
        mixes_scales: Holds two units of one dimension (kPa/bar): a bare number beside it
            would be ambiguous.
    """

    text: str
    pint: Any = field(compare=False, repr=False)
    is_point: bool = False

    @property
    def mixes_scales(self) -> bool:
        """Tell whether two of its units measure the same thing."""
        registry = _registry()
        parts = [registry.get_dimensionality(name) for name in self.pint._units]
        return len(set(parts)) < len(parts) or (len(parts) > 1 and self.pint.dimensionless)


def parse_unit(text: str) -> Unit:
    """Understand a unit as a person writes it: ``kPa``, ``L/min``, ``W/(m2*K)``, ``m³``, ``1``.

    Raises:
        UnitError: Unknown, or not readable; the text says what to write instead.
    """
    unit, shown = _Reader(text).whole()
    return Unit("" if shown == "1" else shown, unit, shown in _POINTS)


def convert(source: Unit, target: Unit) -> tuple[Fraction, Fraction]:
    """Give (gain, offset) with ``target = gain * source + offset``, exactly.

    Raises:
        UnitError: The two measure different things.
    """
    quantity = _registry().Quantity
    if source.pint.dimensionality != target.pint.dimensionality:
        raise UnitError(source.text, f"measures something else than {target.text or '1'!r}")
    at_0 = quantity(Fraction(0), source.pint).to(target.pint).magnitude
    at_1 = quantity(Fraction(1), source.pint).to(target.pint).magnitude
    return Fraction(at_1) - Fraction(at_0), Fraction(at_0)


def is_same(first: Unit, second: Unit) -> bool:
    """Tell whether a number means the same in both (``mbar`` and ``hPa``)."""
    if first.text == second.text:
        return True
    if first.pint.dimensionality != second.pint.dimensionality:
        return False
    gain, offset = convert(first, second)
    return gain == 1 and offset == 0


def product(first: Unit, second: Unit) -> Unit:
    """Multiply two units, neither of them a point scale."""
    return _unit_from_pint(first.pint * second.pint)


def quotient(first: Unit, second: Unit) -> Unit:
    """Divide two units, neither of them a point scale."""
    return _unit_from_pint(first.pint / second.pint)


def power(unit: Unit, exponent: Fraction) -> Unit:
    """Raise a unit, not a point scale, to a whole or half power."""
    return _unit_from_pint(unit.pint**exponent)


def known_units() -> tuple[str, ...]:
    """Give the single units that a stand file may use, as they are shown."""
    return tuple(shown for shown, _, _ in rows())


@lru_cache(maxsize=1)
def _pint_names() -> dict[str, str]:
    """Map what is shown to the name in pint, whose names cannot hold signs."""
    return {shown: f"unit_{number}" for number, (shown, _, _) in enumerate(rows())}


@lru_cache(maxsize=1)
def _registry() -> Any:
    """Make pint's registry of the units above."""
    import pint

    registry: Any = pint.UnitRegistry(None, non_int_type=Fraction)
    names = _pint_names()
    for shown, definition, _ in rows():
        if "[" not in definition:
            definition = _WORD.sub(lambda at: names.get(at[0], at[0]), definition)
        registry.define(f"{names[shown]} = {definition}")
    return registry


def _unit_from_pint(unit: Any) -> Unit:
    """Name a unit that came out of arithmetic, dividing units last."""
    shown = {name: text for text, name in _pint_names().items()}
    powers = [(shown[name], Fraction(exponent)) for name, exponent in unit._units.items()]
    above = [_raised(name, size) for name, size in powers if size > 0]
    below = [_raised(name, -size) for name, size in powers if size < 0]
    text = "·".join(above)
    if below:
        under = "·".join(below)
        text = f"{text or '1'}/{under if len(below) == 1 else f'({under})'}"
    return Unit(text, unit)


def _raised(name: str, size: Fraction) -> str:
    """Write a unit with its power behind it."""
    if size == 1:
        return name
    return name + (
        str(size).translate(_TO_SUPERSCRIPT) if size.denominator == 1 else f"^({size})"
    )


class _Reader:
    """Reads one unit, from left to right as multiplication and division are written."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._parts = self._split()

    def whole(self) -> tuple[Any, str]:
        """Read everything; give pint's unit and the text to show."""
        if not self._text.strip():
            raise UnitError(self._text, "empty; write '1' for a plain number")
        unit, shown = self._product()
        if self._parts:
            raise self._unreadable()
        return unit, shown

    def _split(self) -> list[str]:
        if len(self._text) > _LONGEST:
            raise UnitError(self._text[:_LONGEST], f"longer than {_LONGEST} characters")
        text = self._text.strip()
        parts = _PARTS.findall(text)
        if "".join(parts) != "".join(text.split()):
            raise self._unreadable()
        return parts

    def _unreadable(self) -> UnitError:
        return UnitError(
            self._text, "cannot be read; write for example 'kPa', 'L/min', 'W/(m2*K)' or '1'"
        )

    def _product(self) -> tuple[Any, str]:
        unit, shown = self._factor()
        while self._parts and self._parts[0] in tuple("*·⋅/"):
            sign = self._parts.pop(0)
            factor, more = self._factor()
            self._refuse_points(shown, more)
            unit = unit / factor if sign == "/" else unit * factor
            shown += ("/" if sign == "/" else "·") + more
        return unit, shown

    def _factor(self) -> tuple[Any, str]:
        part = self._parts.pop(0) if self._parts else ""
        if part == "(":
            unit, shown = self._product()
            if not self._parts or self._parts.pop(0) != ")":
                raise self._unreadable()
            return self._power(unit, f"({shown})", None)
        if part == "1":
            return _registry().Unit(""), "1"
        if not _WORD.fullmatch(part):
            raise self._unreadable()
        shown, digit = self._known(part)
        return self._power(_registry().Unit(_pint_names()[shown]), shown, digit)

    def _known(self, word: str) -> tuple[str, int | None]:
        """Look a word up; ``m3`` is a known word with its power behind it."""
        known = spellings()
        if word in known:
            return known[word], None
        if word[:-1] in known and word[-1] in "234":
            return known[word[:-1]], int(word[-1])
        raise UnitError(self._text, f"unknown {word!r}{_hint(word)}")

    def _power(self, unit: Any, shown: str, digit: int | None) -> tuple[Any, str]:
        power = digit or self._written_power()
        if power == 1:
            return unit, shown
        if not 0 < abs(power) <= _LARGEST_POWER:
            raise UnitError(self._text, f"power {power} is not between -9 and 9, without 0")
        self._refuse_points(shown)
        return unit**power, shown + str(power).translate(_TO_SUPERSCRIPT)

    def _written_power(self) -> int:
        """Read ``^2``, ``**2`` or ``²``; 1 when there is none."""
        if not self._parts:
            return 1
        if self._parts[0][0] in "⁻⁰¹²³⁴⁵⁶⁷⁸⁹":
            digits = self._parts.pop(0).translate(_SUPERSCRIPT)
        elif self._parts[0] in ("^", "**"):
            self._parts.pop(0)
            digits = self._parts.pop(0) if self._parts else ""
        else:
            return 1
        if not re.fullmatch(r"-?\d{1,3}", digits):
            raise self._unreadable()
        return int(digits)

    def _refuse_points(self, *shown: str) -> None:
        for point in _POINTS.intersection(shown):
            raise UnitError(self._text, f"{point} counts from a zero of its own; write 'K'")


def _hint(word: str) -> str:
    """Say what to write instead of an unknown unit."""
    habit = HABITS.get(word) or HABITS.get(word.casefold())
    if habit:
        return f"; write {habit}"
    near = did_you_mean(word, spellings())
    return near or f"; known are {', '.join(known_units())}"
