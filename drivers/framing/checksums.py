"""Checksums at the end of a text line: keep the lines that pass."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

_STAR = ord("*")


def xor_of(data: bytes) -> int:
    """Give the exclusive or of all bytes; 0 for none.

    Source:
        NMEA 0183, the checksum field: exclusive or of the 8-bit characters between ``$`` or
        ``!`` and ``*``, these not included.
    """
    return int(np.bitwise_xor.reduce(np.frombuffer(data, np.uint8))) if data else 0


def keep_xor_checked(lines: Sequence[bytes]) -> tuple[list[bytes], list[bytes]]:
    r"""Check lines like ``$12.5,0.3*4F`` and take their checksums off.

    A ``$`` or ``!`` in front is not part of the sum and is taken off too. White space at the
    ends (a ``\r``) is ignored, the two hexadecimal digits may be in either case.

    Args:
        lines: Whole lines without their ends.

    Returns:
        The bodies of the lines that pass, and the lines that do not, both in order.
    """
    bodies: list[bytes] = []
    wrong: list[bytes] = []
    for line in lines:
        body, expected = _taken_apart(line.strip())
        if expected is not None and xor_of(body) == expected:
            bodies.append(body)
        else:
            wrong.append(line)
    return bodies, wrong


def _taken_apart(line: bytes) -> tuple[bytes, int | None]:
    """Give the body and the stated sum; None where there is none."""
    if len(line) < 3 or line[-3] != _STAR:
        return line, None
    try:
        stated = int(line[-2:], 16)
    except ValueError:
        return line, None
    first = 1 if line[:1] in (b"$", b"!") else 0
    return line[first:-3], stated
