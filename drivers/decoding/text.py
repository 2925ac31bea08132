"""Turns lines of text into rows of numbers, many lines at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from operator import methodcaller

import numpy as np
from numpy.typing import NDArray

from drivers.decoding.numbers import NumberReader

BLANK = "blank line"
GARBLED = "garbled line"
NO_NUMBER = "line without number"
NOT_A_NUMBER = "not a number"
OTHER_START = "line with another beginning"
WRONG_COUNT = "wrong number of fields"

#: Bytes of a readable line: printing ASCII and the tabulator.
_READABLE = bytes([9, *range(32, 127)])
_DIGITS = b"0123456789"


@dataclass(frozen=True, slots=True)
class TextLayout:
    """How the numbers sit in a line.

    Attributes:
        fields: Name of each field from the left; empty for a field to skip.
        separator: What stands between two fields; one space for any run of spaces and tabs.
        prefix: What each line begins with, not part of the first field; may be empty.
    """

    fields: tuple[str, ...]
    separator: str = ","
    prefix: str = ""

    @property
    def signals(self) -> tuple[str, ...]:
        """Names of the fields that are not skipped."""
        return tuple(name for name in self.fields if name)


@dataclass(frozen=True, slots=True)
class Fault:
    """Some lines or fields that could not be used, and the newest of them."""

    what: str
    number: int
    example: bytes


@dataclass(slots=True)
class Rows:
    """What a bunch of lines gave.

    Attributes:
        values: (rows, signals) float64; NaN where a field held no number.
        line_of: (rows,) which line each row came from; None when every line gave its row.
        faults: What could not be used, by reason.
    """

    values: NDArray[np.float64]
    line_of: NDArray[np.int64] | None = None
    faults: list[Fault] = field(default_factory=list)


class TextDecoder:
    """Reads lines of one layout.

    A line is refused as a whole when it is blank, begins otherwise than it should, has
    another number of fields, holds no number in any wanted field, or has an unreadable byte
    in a wanted field. A field that is readable and no finite number (``----``, ``OVER``,
    ``nan``, ``1e999``) becomes NaN; the other fields of its line are kept.
    """

    def __init__(self, layout: TextLayout) -> None:
        """Work out once what is the same for all lines."""
        self._columns = [place for place, name in enumerate(layout.fields) if name]
        self._is_all_wanted = len(self._columns) == len(layout.fields)
        self._fields = len(layout.fields)
        self._is_spaced = layout.separator == " "
        # Fields between runs of white space are put together anew, with a byte between
        # them that is in no readable line.
        self._separator = b"\x1f" if self._is_spaced else layout.separator.encode()
        self._prefix = layout.prefix.encode()
        self._begins_right = methodcaller("startswith", self._prefix)
        self._numbers = [NumberReader() for _ in range(1 + self._fields)]

    def decode(self, lines: Sequence[bytes]) -> Rows:
        """Read lines without their ends, oldest first."""
        tally = _Tally()
        places: list[int] | None = None
        bodies = self._right_bodies(lines)
        if bodies is None:
            places, bodies = self._sifted_bodies(lines, tally)
        values = self._values(bodies)
        is_missing = np.isnan(values)
        if is_missing.any():
            places = list(range(len(lines))) if places is None else places
            keep = self._judge([lines[place] for place in places], bodies, is_missing, tally)
            values, places = values[keep], [places[row] for row in keep]
        if places is None:
            return Rows(values)
        return Rows(values, np.array(places, np.int64), tally.faults())

    def _right_bodies(self, lines: Sequence[bytes]) -> Sequence[bytes] | None:
        """Give the bodies of lines that all have the right form; None when one has not."""
        bodies = lines
        if self._is_spaced:
            if any(self._separator in line for line in lines):
                return None
            bodies = [line.lstrip() for line in bodies]
        if self._prefix:
            if not all(map(self._begins_right, bodies)):
                return None
            bodies = [line[len(self._prefix) :] for line in bodies]
        if self._is_spaced:
            bodies = [self._separator.join(body.split()) for body in bodies]
        separator = self._separator
        counts = [body.count(separator) for body in bodies]
        return bodies if counts.count(self._fields - 1) == len(counts) else None

    def _sifted_bodies(
        self, lines: Sequence[bytes], tally: _Tally
    ) -> tuple[list[int], list[bytes]]:
        """Give places and bodies of the lines that have the right form; count the others."""
        places: list[int] = []
        bodies: list[bytes] = []
        for place, line in enumerate(lines):
            right = self._right_bodies([line])
            if right is not None:
                places.append(place)
                bodies.extend(right)
            else:
                tally.add(self._why_not(line), line)
        return places, bodies

    def _values(self, bodies: Sequence[bytes]) -> NDArray[np.float64]:
        """Read bodies of the right form; NaN where there is no number."""
        joined = self._separator.join(bodies)
        if not bodies:
            return np.empty((0, len(self._columns)))
        if self._is_all_wanted and self._separator == b",":
            flat = self._numbers[-1].read_joined(joined)
            return flat.reshape(len(bodies), self._fields)
        pieces = joined.split(self._separator)
        if self._is_all_wanted:
            flat = self._numbers[-1].read(pieces)
            return flat.reshape(len(bodies), self._fields)
        values = np.empty((len(bodies), len(self._columns)))
        for column, place in enumerate(self._columns):
            values[:, column] = self._numbers[place].read(pieces[place :: self._fields])
        return values

    def _judge(
        self,
        lines: Sequence[bytes],
        bodies: Sequence[bytes],
        is_missing: NDArray[np.bool_],
        tally: _Tally,
    ) -> list[int]:
        """Give the rows to keep where some fields hold no number; count the others."""
        keep = []
        for row, missing in enumerate(is_missing.sum(axis=1).tolist()):
            if missing:
                own = bodies[row].split(self._separator)
                what = _why_missing([own[place] for place in self._columns])
                tally.add(what, lines[row], missing if what == NOT_A_NUMBER else 1)
                if what != NOT_A_NUMBER or missing == len(self._columns):
                    continue
            keep.append(row)
        return keep

    def _why_not(self, line: bytes) -> str:
        """Give the reason for refusing a line of the wrong form."""
        if not line.strip():
            return BLANK
        if _is_unreadable(line):
            return GARBLED
        if not line.lstrip().startswith(self._prefix):
            return OTHER_START
        has_digit = line.translate(None, _DIGITS) != line
        return WRONG_COUNT if has_digit else NO_NUMBER


class _Tally:
    """Counts faults by reason."""

    def __init__(self) -> None:
        self._found: dict[str, tuple[int, bytes]] = {}

    def add(self, what: str, example: bytes, number: int = 1) -> None:
        """Add to a reason; the example replaces the one before."""
        self._found[what] = (self._found.get(what, (0, b""))[0] + number, example)

    def faults(self) -> list[Fault]:
        """Give what was counted."""
        return [Fault(what, *rest) for what, rest in self._found.items()]


def _is_unreadable(text: bytes) -> bool:
    """Whether a byte is neither printing ASCII nor white space at an end."""
    return bool(text.strip().translate(None, _READABLE))


def _why_missing(wanted: list[bytes]) -> str:
    """Give the reason why at least one of the wanted fields of a line is no finite number."""
    text = b"".join(wanted)
    if len(wanted) == 1 and not text.strip():
        return BLANK
    if any(_is_unreadable(piece) for piece in wanted):
        return GARBLED
    # ``nan`` and ``inf`` have no digit, but are what an instrument says about a number.
    names_number = text.translate(None, _DIGITS) != text or b"nan" in text.lower()
    return NOT_A_NUMBER if names_number or b"inf" in text.lower() else NO_NUMBER
