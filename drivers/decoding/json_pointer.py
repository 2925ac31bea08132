"""Finds a value inside a JSON document by its pointer, for example ``/cabin/values/0``."""

from __future__ import annotations

import re
from typing import Final

_INDEX = re.compile(r"0|[1-9][0-9]*", re.ASCII)
_BAD_ESCAPE = re.compile(r"~(?![01])")


class Missing:
    """The pointer leads nowhere in this document."""


MISSING: Final = Missing()


def parse_pointer(pointer: str) -> tuple[str, ...]:
    """Take a pointer apart.

    Returns:
        Its reference tokens; none for the empty pointer, which means the whole document.

    Raises:
        ValueError: It does not begin with ``/``, or ``~`` stands before neither 0 nor 1.

    Source:
        RFC 6901, sections 3 and 4.
    """
    if not pointer:
        return ()
    if not pointer.startswith("/"):
        raise ValueError(f"{pointer!r} must begin with '/' (or be empty for the whole payload)")
    if _BAD_ESCAPE.search(pointer):
        raise ValueError(f"{pointer!r}: '~' must be written '~0'")
    # ~1 first, so that ~01 becomes ~1 and not /.
    return tuple(
        token.replace("~1", "/").replace("~0", "~") for token in pointer[1:].split("/")
    )


def value_at(document: object, tokens: tuple[str, ...]) -> object:
    """Follow a pointer.

    Args:
        document: Decoded JSON.
        tokens: What :func:`parse_pointer` gave.

    Returns:
        The value; :data:`MISSING` where the pointer leads nowhere.

    Source:
        RFC 6901, section 4: an index has no leading zero; ``-`` is past the end.
    """
    for token in tokens:
        if isinstance(document, dict):
            document = document.get(token, MISSING)
        elif isinstance(document, list) and _INDEX.fullmatch(token):
            # No list is so long that its index has more digits.
            place = int(token[:10])
            document = document[place] if place < len(document) else MISSING
        else:
            return MISSING
    return document
