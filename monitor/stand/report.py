"""Collects the mistakes of one stand file, each with its line, in the order of the file."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

from monitor.errors import Problem, nearest
from monitor.stand.locate import KeyPath, Locations

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


class Report:
    """Mistakes and warnings of one file.

    Args:
        file: KeyPath of the file, as the user gave it.
        places: Lines of its keys.
    """

    def __init__(self, file: str, places: Locations) -> None:
        self._file = file
        self._places = places
        self._found: dict[Problem, None] = {}
        #: Keys that were probably meant by unknown ones.
        self._misspelt: set[KeyPath] = set()

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything found so far, by line; of one line in the order in which it was found."""
        return tuple(sorted(self._found, key=lambda problem: problem.line))

    @property
    def errors(self) -> int:
        """Count what forbids watching the stand."""
        return sum(not problem.is_warning for problem in self._found)

    def add(self, problem: Problem) -> None:
        """Note a problem that has its line already."""
        self._found[problem] = None

    def error(self, path: KeyPath, text: str) -> None:
        """Note a mistake at *path*; noting it twice changes nothing."""
        self._add(path, text, is_warning=False)

    def warning(self, path: KeyPath, text: str) -> None:
        """Note something that is probably not meant, and can be watched all the same."""
        self._add(path, text, is_warning=True)

    def has_error_at(self, path: KeyPath) -> bool:
        """Tell whether a mistake was noted at *path* or below it."""
        key = key_text(path)
        return any(
            not problem.is_warning
            and (problem.key == key or problem.key.startswith((f"{key}.", f"{key}[")))
            for problem in self._found
        )

    def unknown_key(self, path: KeyPath, known: Sequence[str]) -> None:
        """Note a key that is not among those *known* at its place."""
        near = nearest(str(path[-1]), known)
        if near:
            self._misspelt.add((*path[:-1], near))
        hint = f"did you mean {near!r}?" if near else f"known are {', '.join(known)}"
        self.error(path, f"unknown key; {hint}")

    def missing(self, path: KeyPath, cure: str) -> None:
        """Note a key that is not there, unless it is there misspelt or was noted already."""
        if path not in self._misspelt and not self.has_error_at(path):
            self.error(path, f"missing; {cure}")

    def _add(self, path: KeyPath, text: str, *, is_warning: bool) -> None:
        line = self._places.line(path)
        self.add(Problem(self._file, line, key_text(path), text, is_warning))


def key_text(path: KeyPath) -> str:
    """Write a path as in a stand file; entries of a list are counted from 1."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part + 1}]"
            continue
        shown = part if _BARE_KEY.fullmatch(part) else json.dumps(part, ensure_ascii=False)
        text += f".{shown}" if text else shown
    return text
