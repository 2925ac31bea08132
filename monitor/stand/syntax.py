"""Reads TOML, and names every table that cannot be read instead of the first one only."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from monitor.errors import Problem
from monitor.stand.locate import KeyPath, locate
from monitor.stand.report import key_text

Table = dict[str, Any]

_HEADER = re.compile(r"\s*\[\[?\s*[\w.\"' -]+\]\]?\s*(#.*)?$")
_STATEMENT = re.compile(r"\s*([\w.\"' -]+?)\s*=")
_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
_MOST_PROBLEMS = 20
#: What to do about the words of Python's parser.
_CURES = {
    "Invalid value": 'a text stands in quotes ("kPa"), a decimal point is written "."',
    "Expected newline or end of document after": 'is there a decimal comma? write "."',
    "Expected '=' after a key": "write key = value",
    "Unclosed inline table": "it ends with } in the same line",
    "Illegal character '\\n'": "a text ends with its quote in the same line",
    "Invalid statement": "write key = value, or [table]",
    "Invalid initial character for a key": (
        "a key of other signs than letters, digits, _ and - has quotes"
    ),
    "Unescaped '\\'": r"write \\ for one backslash",
}
_UNFINISHED = "begins here and does not end; a list ends with ], a text with its quotes"


def parse(file: str, text: str) -> tuple[Table | None, list[Problem]]:
    """Parse a file.

    Args:
        file: Its path, for the problems.
        text: All of it.

    Returns:
        The values, and what stands twice in the file (the first one counts). None instead of
        values when a part cannot be read at all; then the problems name each such table.
    """
    try:
        return tomllib.loads(text), []
    except tomllib.TOMLDecodeError:
        return _Salvage(file, text).parse()
    except RecursionError:
        return None, [Problem(file, 0, "file", "lists within lists, deeper than can be read")]


class _Salvage:
    """Cuts a broken file at its headers, so that one mistake does not hide the next.

    A line that looks like a header but stands within a text of several lines cuts that text;
    then a mistake may be named that is none, beside one that is.
    """

    def __init__(self, file: str, text: str) -> None:
        self._file = file
        self._lines = text.replace("\r\n", "\n").split("\n")
        heads = [number for number, line in enumerate(self._lines) if _HEADER.match(line)]
        self._heads = [0, *heads] if not heads or heads[0] else heads
        self._problems: list[Problem] = []

    def parse(self) -> tuple[Table | None, list[Problem]]:
        """Read each table alone, then what is left together."""
        for head in self._heads:
            self._read_alone(head)
        is_broken = bool(self._problems)
        while len(self._problems) < _MOST_PROBLEMS:
            error = _error_of("\n".join(self._lines))
            if error is None:
                break
            is_broken |= not self._drop_second(error)
        else:
            is_broken = True
        self._problems.sort(key=lambda problem: problem.line)
        if is_broken:
            return None, self._problems[:_MOST_PROBLEMS]
        return tomllib.loads("\n".join(self._lines)), self._problems

    def _read_alone(self, head: int) -> None:
        """Read one table; note its mistakes and blank it where it has any."""
        section = self._lines[head : self._end_of(head)]
        is_broken = False
        while len(self._problems) < _MOST_PROBLEMS:
            error = _error_of("\n".join(section))
            if error is None or str(error).startswith("Cannot"):
                break
            is_broken = True
            number = self._note(error, section, head)
            is_at_end = "end of document" in str(error)
            if is_at_end or not _is_whole(section[number]):
                break
            section[number] = ""
        if is_broken:
            self._blank(head)

    def _end_of(self, head: int) -> int:
        """Give the line after the last one of the table that begins at *head*."""
        return next((other for other in self._heads if other > head), len(self._lines))

    def _blank(self, head: int) -> None:
        for number in range(head, self._end_of(head)):
            self._lines[number] = ""

    def _note(self, error: tomllib.TOMLDecodeError, lines: list[str], head: int) -> int:
        """Note what the parser found in *lines*; give the line among them, counted from 0."""
        place = _PLACE.search(str(error))
        number = int(place[1]) - 1 if place and place[1] else len(lines) - 1
        while number > 0 and not lines[number].strip():
            number -= 1
        if place and not place[1]:
            start = self._statement_above(head + number)
            self._add(start, self._path_at(start), _UNFINISHED)
            return number
        words = _PLACE.sub("", str(error))
        cure = next((cure for start, cure in _CURES.items() if words.startswith(start)), "")
        text = f"{words}; {cure}" if cure else words
        self._add(head + number, self._path_at(head + number), text)
        return number

    def _statement_above(self, number: int) -> int:
        """Give the line in which the value began that a line belongs to."""
        head = self._head_of(number)
        lines = range(number, head - 1, -1)
        return next((line for line in lines if _STATEMENT.match(self._lines[line])), number)

    def _add(self, number: int, path: KeyPath, text: str) -> None:
        key = key_text(path) or "file"
        self._problems.append(Problem(self._file, number + 1, key, text))

    def _head_of(self, number: int) -> int:
        return max(head for head in self._heads if head <= number)

    def _path_at(self, number: int) -> KeyPath:
        """Give the key in a line, as far as it can be made out."""
        table = _header_path(self._lines[self._head_of(number)])
        found = _STATEMENT.match(self._lines[number])
        if not found:
            return table
        return table + (_statement_path(found[1]) or (found[1],))

    def _drop_second(self, error: tomllib.TOMLDecodeError) -> bool:
        """Blank what stands in the file twice; False if that is not the matter."""
        place = _PLACE.search(str(error))
        if not str(error).startswith("Cannot") or not place or not place[1]:
            number = self._note(error, self._lines, 0)
            self._blank(self._head_of(number))
            return False
        number = int(place[1]) - 1
        path = self._path_at(number)
        first = locate("\n".join(self._lines)).line(path)
        text = f"stands twice; the first one is in line {first}"
        self._add(number, path, text)
        head = self._head_of(number)
        if number != head and _error_of(self._lines[number]) is None:
            self._lines[number] = ""
            return True
        self._blank(head)
        self._blank_below(head, path)
        return True

    def _blank_below(self, head: int, path: KeyPath) -> None:
        """Blank the tables within the one at *head*, which belong to the second one too."""
        for other in self._heads:
            if other > head:
                below = _header_path(self._lines[other])
                if below == path or below[: len(path)] != path:
                    return
                self._blank(other)


def _is_whole(line: str) -> bool:
    """Tell whether a line that cannot be read leaves the lines around it alone."""
    is_even = line.count("[") == line.count("]") and line.count("{") == line.count("}")
    return (
        is_even
        and bool(line)
        and not _HEADER.match(line)
        and "'''" not in line
        and ('"""' not in line)
    )


def _error_of(text: str) -> tomllib.TOMLDecodeError | None:
    """Give what the parser says about *text*; None when it can be read."""
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return error
    except RecursionError:
        return tomllib.TOMLDecodeError("Lists within lists, deeper than can be read")
    return None


def _header_path(line: str) -> KeyPath:
    """Give the keys in a header; none when the line is no header."""
    return _only_path(line) if _HEADER.match(line) else ()


def _statement_path(key: str) -> KeyPath:
    """Give the keys of a dotted key; none when it cannot be read."""
    return _only_path(f"{key} = 1")


def _only_path(text: str) -> KeyPath:
    """Follow the only key of a text down."""
    path: KeyPath = ()
    try:
        inner: Any = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return ()
    while inner and isinstance(inner, dict | list):
        if isinstance(inner, dict):
            path += tuple(inner)
            inner = next(iter(inner.values()))
        else:
            inner = inner[0]
    return path
