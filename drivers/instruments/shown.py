"""Makes what came over a wire fit to be shown: nothing in it can move a cursor."""

from __future__ import annotations

#: Length to which an example is cut, in characters or bytes as they came.
_LONGEST = 160


def text_of(data: bytes) -> str:
    """Show bytes: printing ASCII as it is, everything else as hexadecimal numbers."""
    return "".join(
        chr(byte) if 32 <= byte < 127 else f"\\x{byte:02x}" for byte in data[:_LONGEST]
    )


def printable(text: str) -> str:
    """Show text: what does not print is escaped."""
    return "".join(
        letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text[:_LONGEST]
    )
