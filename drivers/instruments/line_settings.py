"""What instruments that talk in lines of text have in common: settings and their reader."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from drivers.decoding.text import Rows, TextDecoder, TextLayout
from drivers.errors import SettingsError
from drivers.framing.checksums import keep_xor_checked
from drivers.framing.lines import DELIMITERS
from drivers.framing.stamps import Ints
from drivers.instruments.checks import check_fields, check_range, check_text
from drivers.instruments.shown import text_of
from drivers.reading import Sink
from drivers.transports.port_settings import PortSettings, check_port

#: A prefix that begins so could also be the middle of a number.
_IN_NUMBERS = "0123456789+-.eE"
_NONE = np.zeros(0, np.int64)


class LineSettings(PortSettings, frozen=True, kw_only=True, forbid_unknown_fields=True):
    r"""How lines of text look.

    Attributes:
        delimiter: What ends a line: ``\n`` (a ``\r`` before it is ignored), ``\r\n``, ``\r``.
        separator: What stands between two fields; one space for any run of spaces and tabs.
        prefix: What each line begins with before the first field; may be empty.
        checksum: ``none``, or ``xor``: each line ends with ``*`` and two hexadecimal digits,
            the exclusive or of all characters before, as in NMEA 0183; a ``$`` or ``!`` in
            front is not part of it and is taken off before the prefix is looked for.
        max_len: Longest line to accept, in bytes.
    """

    delimiter: str = "\n"
    separator: str = ","
    prefix: str = ""
    checksum: Literal["none", "xor"] = "none"
    max_len: int = 1024

    @property
    def tells_whole_lines(self) -> bool:
        """Whether a whole line can be told from the tail of one.

        An exclusive or is no proof: one tail in 256 passes.
        """
        return self.prefix[:1] not in ("", *_IN_NUMBERS)


def check_lines(settings: LineSettings, fields: Sequence[str], key: str) -> None:
    """Look at port, form of lines and one list of fields.

    Args:
        settings: The settings.
        fields: Names of fields from the left.
        key: Where the fields stand in the settings, for the error.

    Raises:
        SettingsError: They make no sense.
    """
    check_port(settings)
    if settings.delimiter not in DELIMITERS:
        known = ", ".join(map(ascii, DELIMITERS))
        raise SettingsError("delimiter", f"{settings.delimiter!a} is none of {known}")
    check_text("separator", settings.separator)
    if not settings.separator:
        raise SettingsError("separator", "is empty; for runs of spaces write one space")
    if set(settings.separator) & set(_IN_NUMBERS):
        raise SettingsError("separator", f"{settings.separator!r} can be part of a number")
    check_text("prefix", settings.prefix)
    check_range("max_len", settings.max_len, (1, 1_000_000), "bytes")
    check_fields(fields, key)


class LineReader:
    """Reads whole lines: checksum, prefix, fields. Counts what is not good.

    Args:
        layout: How the fields sit in a line.
        has_checksum: Whether lines end with an exclusive or.
    """

    def __init__(self, layout: TextLayout, *, has_checksum: bool) -> None:
        """Work out once what is the same for all lines."""
        self._decoder = TextDecoder(layout)
        self._has_checksum = has_checksum

    def read(self, lines: Sequence[bytes], sink: Sink) -> tuple[Rows, Ints]:
        """Read lines without their ends.

        Returns:
            The rows, and the length of each line that ``line_of`` may point at, in bytes.
        """
        if self._has_checksum:
            lines, wrong = keep_xor_checked(lines)
            if wrong:
                sink.count("checksum wrong", len(wrong), text_of(wrong[-1]))
            if not lines:
                return Rows(np.empty((0, 0))), _NONE
        rows = self._decoder.decode(lines)
        for fault in rows.faults:
            sink.count(fault.what, fault.number, text_of(fault.example))
        return rows, np.fromiter(map(len, lines), np.int64, len(lines))


def line_reader(
    settings: LineSettings, fields: tuple[str, ...], prefix: str = ""
) -> LineReader:
    """Make the reader for one list of fields; *prefix* goes before the settings' own."""
    layout = TextLayout(fields, settings.separator, prefix or settings.prefix)
    return LineReader(layout, has_checksum=settings.checksum != "none")
