"""The errors that ``monitor`` raises.

* :class:`MonitorError`
    * :class:`StandError` -- the stand file must be changed by a person
    * :class:`FormulaError` -- the formula of a computed channel must be changed by a person
    * :class:`UnitError` -- a unit must be written otherwise by a person
    * :class:`RecordError` -- a run folder cannot be written or read
    * :class:`LinkError` -- engine and display do not understand each other
    * :class:`RefusedActionError` -- an operator's action is not possible now
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches


class MonitorError(Exception):
    """Root of everything that ``monitor`` raises on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One mistake in a stand file.

    Attributes:
        file: Path of the file, as the user gave it.
        line: Line number from 1; 0 when the place has none.
        key: Dotted path of the key, for example ``channels.PT-101.limits.high.setpoint``.
        text: What is wrong and what to do, with the offending value and the nearest valid name.
        is_warning: True when the stand may be watched all the same.
    """

    file: str
    line: int
    key: str
    text: str
    is_warning: bool = False

    def __str__(self) -> str:
        """Give the one line that a person sees."""
        grade = "warning" if self.is_warning else "error"
        return f"{self.file}:{self.line}: {grade}: {self.key}: {self.text}"


class StandError(MonitorError):
    """A stand file cannot be used.

    Attributes:
        problems: Every mistake found, in the order of the file.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        """Keep all problems: a person wants to mend them in one go."""
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = tuple(problems)


class FormulaError(MonitorError):
    """A formula cannot be used.

    Attributes:
        formula: The whole formula as it was written.
        column: Where in it the trouble begins, counted in characters from 1.
        problem: What is wrong and what to do.
    """

    def __init__(self, formula: str, column: int, problem: str) -> None:
        """Name the place first."""
        super().__init__(f"column {column} of {formula!r}: {problem}")
        self.formula = formula
        self.column = column
        self.problem = problem


class UnitError(MonitorError):
    """A unit is not known or not written in a way that can be read.

    Attributes:
        unit: The unit as it was written.
        problem: What is wrong and what to do.
    """

    def __init__(self, unit: str, problem: str) -> None:
        """Name the unit first."""
        super().__init__(f"unit {unit!r}: {problem}")
        self.unit = unit
        self.problem = problem


class RecordError(MonitorError):
    """A run folder cannot be written or read.

    Attributes:
        path: The file or folder.
        why: What is wrong with it.
    """

    def __init__(self, path: str, why: str) -> None:
        """Name the place first."""
        super().__init__(f"{path}: {why}")
        self.path = path
        self.why = why


class LinkError(MonitorError):
    """Engine and display do not understand each other; the text says what to do."""


class RefusedActionError(MonitorError):
    """An operator's action is not possible now; the text says why."""


def nearest(word: str, known: Iterable[str]) -> str:
    """Give the known name that *word* was most likely meant to be; empty when none is near."""
    by_folded = {name.casefold(): name for name in known}
    near = get_close_matches(word.casefold(), by_folded, n=1)
    return by_folded[near[0]] if near else ""


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Give ``; did you mean 'x'?`` for an error's text, or nothing when no name is near."""
    name = nearest(word, known)
    return f"; did you mean {name!r}?" if name else ""
