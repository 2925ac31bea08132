"""Where each key of a TOML file stands: tomllib gives values without their lines."""

from __future__ import annotations

import contextlib
import re
import tomllib
from bisect import bisect_right
from collections.abc import Mapping

#: Keys from the top of the file; a number counts the entries of a list from 0.
KeyPath = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
#: Long strings before short ones; a long one may end in up to five quotes.
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}' r"|'''.*?'{3,5}" r'|"(?:\\.|[^"\\\n])*"' r"|'[^'\n]*'",
    re.DOTALL,
)
#: A number, a date or true and false: all that ends at a sign of structure.
_PLAIN = re.compile(r"[^,\]}#\n]*")
#: Lists within lists beyond this are not followed.
_DEEPEST = 40


class Locations:
    """Lines of a file by key path, counted from 1."""

    def __init__(self, lines: Mapping[KeyPath, int]) -> None:
        self._lines = lines

    def line(self, path: KeyPath) -> int:
        """Give the line of *path*, or of the nearest table around it; 0 when there is none."""
        for length in range(len(path), 0, -1):
            line = self._lines.get(path[:length])
            if line is not None:
                return line
        return 0


def locate(text: str) -> Locations:
    """Find the line of every key and list entry in a file that tomllib can read.

    A file that it can not read gives the lines up to the place that makes no sense.
    """
    scanner = _Scanner(text)
    with contextlib.suppress(_LostError):
        scanner.document()
    return Locations(scanner.lines)


class _LostError(Exception):
    """The text makes no sense as TOML from here on."""


class _Scanner:
    """Walks through the text once, noting where keys begin."""

    def __init__(self, text: str) -> None:
        self.lines: dict[KeyPath, int] = {}
        self._text = text
        self._at = 0
        self._ends = [found.start() for found in re.finditer("\n", text)]
        #: Number of entries so far of each list that is written with double brackets.
        self._entries: dict[KeyPath, int] = {}

    def document(self) -> None:
        """Walk through headers and the keys below them."""
        table: KeyPath = ()
        self._skip(_BLANK)
        while self._at < len(self._text):
            if self._peek() == "[":
                table = self._header()
            else:
                self._key_and_value(table, 0)
            self._skip(_BLANK)

    def _peek(self) -> str:
        return self._text[self._at : self._at + 1]

    def _skip(self, pattern: re.Pattern[str]) -> str:
        """Go past what *pattern* matches here, which may be nothing."""
        found = pattern.match(self._text, self._at)
        if found is None:
            return ""
        self._at = found.end()
        return found[0]

    def _expect(self, sign: str) -> None:
        self._skip(_SPACE)
        if not self._text.startswith(sign, self._at):
            raise _LostError
        self._at += len(sign)

    def _note(self, path: KeyPath, at: int) -> None:
        """Keep the first place of each key."""
        self.lines.setdefault(path, bisect_right(self._ends, at - 1) + 1)

    def _header(self) -> KeyPath:
        """Read ``[a.b]`` or ``[[a.b]]``; give the table that follows."""
        start = self._at
        is_list = self._text.startswith("[[", self._at)
        self._at += 2 if is_list else 1
        parts = self._key()
        self._expect("]]" if is_list else "]")
        path: KeyPath = ()
        for number, part in enumerate(parts):
            path = (*path, part)
            self._note(path, start)
            is_last = number == len(parts) - 1
            if is_last and is_list:
                self._entries[path] = self._entries.get(path, 0) + 1
            if path in self._entries:
                path = (*path, self._entries[path] - 1)
                self._note(path, start)
        return path

    def _key(self) -> list[str]:
        """Read a key with its dots."""
        parts = [self._key_part()]
        self._skip(_SPACE)
        while self._peek() == ".":
            self._at += 1
            parts.append(self._key_part())
            self._skip(_SPACE)
        return parts

    def _key_part(self) -> str:
        self._skip(_SPACE)
        quoted = self._skip(_STRING) if self._peek() in ('"', "'") else ""
        part = _unquoted(quoted) if quoted else self._skip(_BARE_KEY)
        if not part and not quoted:
            raise _LostError
        return part

    def _key_and_value(self, table: KeyPath, depth: int) -> None:
        self._skip(_SPACE)
        start = self._at
        path = table
        for part in self._key():
            path = (*path, part)
            self._note(path, start)
        self._expect("=")
        self._skip(_SPACE)
        self._value(path, depth)

    def _value(self, path: KeyPath, depth: int) -> None:
        if depth > _DEEPEST:
            raise _LostError
        sign = self._peek()
        if sign == "[":
            self._list(path, depth)
        elif sign == "{":
            self._inline_table(path, depth)
        elif not self._skip(_STRING if sign in ('"', "'") else _PLAIN):
            raise _LostError

    def _list(self, path: KeyPath, depth: int) -> None:
        self._at += 1
        number = 0
        self._skip(_BLANK)
        while self._peek() != "]":
            self._note((*path, number), self._at)
            self._value((*path, number), depth + 1)
            number += 1
            self._comma("]")
        self._at += 1

    def _inline_table(self, path: KeyPath, depth: int) -> None:
        self._at += 1
        self._skip(_BLANK)
        while self._peek() != "}":
            self._key_and_value(path, depth + 1)
            self._comma("}")
        self._at += 1

    def _comma(self, end: str) -> None:
        """Go past the comma after an entry; none is needed before the end."""
        self._skip(_BLANK)
        if self._peek() == ",":
            self._at += 1
            self._skip(_BLANK)
        elif self._peek() != end:
            raise _LostError


def _unquoted(quoted: str) -> str:
    """Give the key that a quoted one stands for."""
    if quoted[0] == "'" or "\\" not in quoted:
        return quoted[1:-1]
    try:
        return str(tomllib.loads(f"key = {quoted}")["key"])
    except tomllib.TOMLDecodeError as error:
        raise _LostError from error
