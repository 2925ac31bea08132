"""Turns lines of text into rows of numbers, many lines at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from operator import methodcaller

import numpy as np
from numpy.typing import NDArray

from drivers.decoding.numbers import numbers_in, plain_numbers

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
        self._separators_in = methodcaller("count", self._separator)

    def decode(self, lines: Sequence[bytes]) -> Rows:
        """Read lines without their ends, oldest first."""
        if not self._prefix and not self._is_spaced:
            quick = self._quickly(lines)
            if quick is not None:
                return quick
        return self._carefully(lines)

    def _quickly(self, lines: Sequence[bytes]) -> Rows | None:
        """Read lines that are right in every way; None when something is wrong."""
        if not self._is_all_wanted:
            return None
        if list(map(self._separators_in, lines)).count(self._fields - 1) != len(lines):
            return None
        joined = self._separator.join(lines)
        if self._separator != b",":
            if b"," in joined:
                return None
            joined = joined.replace(self._separator, b",")
        flat = plain_numbers(joined)
        if flat is None:
            return None
        return Rows(np.array(flat).reshape(len(lines), self._fields))

    def _carefully(self, lines: Sequence[bytes]) -> Rows:
        """Read lines of which some may be wrong, column by column."""
        tally = _Tally()
        places, bodies = self._bodies(lines, tally)
        pieces = self._separator.join(bodies).split(self._separator) if bodies else []
        values = np.empty((len(bodies), len(self._columns)))
        for column, place in enumerate(self._columns):
            values[:, column] = numbers_in(pieces[place :: self._fields])
        is_missing = np.isnan(values)
        if is_missing.any():
            keep = self._judge(lines, places, pieces, is_missing, tally)
            values, places = values[keep], [places[row] for row in keep]
        line_of = None if len(places) == len(lines) else np.array(places, np.int64)
        return Rows(values, line_of, tally.faults())

    def _bodies(self, lines: Sequence[bytes], tally: _Tally) -> tuple[list[int], list[bytes]]:
        """Give places and bodies of the lines that have the right form."""
        bodies: list[bytes] = list(lines)
        if self._is_spaced:
            bodies = [line.strip() for line in lines]
        places = list(range(len(lines)))
        if self._prefix:
            places = [k for k in places if self._begins_right(bodies[k], tally)]
            bodies = [bodies[k][len(self._prefix) :] for k in places]
        if self._is_spaced:
            bodies = [self._separator.join(body.split()) for body in bodies]
        counts = list(map(self._separators_in, bodies))
        # A blank line has as many separators as a line of one field.
        if counts.count(self._fields - 1) == len(bodies) and self._fields > 1:
            return places, bodies
        right = [
            row
            for row, count in enumerate(counts)
            if self._has_form(lines[places[row]], bodies[row], count, tally)
        ]
        return [places[row] for row in right], [bodies[row] for row in right]

    def _begins_right(self, line: bytes, tally: _Tally) -> bool:
        """Say whether the line begins with the prefix; count it if not."""
        if line.startswith(self._prefix):
            return True
        tally.add(_why_not(line, OTHER_START), line)
        return False

    def _has_form(self, line: bytes, body: bytes, count: int, tally: _Tally) -> bool:
        """Say whether the body has the right number of fields; count the line if not."""
        if count == self._fields - 1 and body.strip():
            return True
        has_digit = body.translate(None, _DIGITS) != body
        tally.add(_why_not(line, WRONG_COUNT if has_digit else NO_NUMBER), line)
        return False

    def _judge(
        self,
        lines: Sequence[bytes],
        places: list[int],
        pieces: list[bytes],
        is_missing: NDArray[np.bool_],
        tally: _Tally,
    ) -> list[int]:
        """Give the rows to keep where some fields hold no number; count the others."""
        keep = []
        for row, missing in enumerate(is_missing.sum(axis=1).tolist()):
            if missing:
                own = pieces[row * self._fields : (row + 1) * self._fields]
                wanted = [own[place] for place in self._columns]
                what = _why_missing(wanted)
                tally.add(what, lines[places[row]], missing if what == NOT_A_NUMBER else 1)
                if what != NOT_A_NUMBER or missing == len(wanted):
                    continue
            keep.append(row)
        return keep


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
    if any(_is_unreadable(piece) for piece in wanted):
        return GARBLED
    # ``nan`` and ``inf`` have no digit, but are what an instrument says about a number.
    text = b"".join(wanted)
    names_number = text.translate(None, _DIGITS) != text or b"nan" in text.lower()
    return NOT_A_NUMBER if names_number or b"inf" in text.lower() else NO_NUMBER


def _why_not(line: bytes, otherwise: str) -> str:
    """Give the reason for refusing a line of the wrong form."""
    if not line.strip():
        return BLANK
    return GARBLED if _is_unreadable(line) else otherwise
