"""What the alarm stage walks through beside edges and controls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from monitor.events import Action, Control, Field
from monitor.limits.edges import Edge
from monitor.limits.plan import Place


@dataclass(frozen=True, slots=True)
class Moved:
    """The test is in another phase or mode from now on.

    Attributes:
        t_ns: When.
        what: Which of the two is entered; a phase can be entered again.
        place: Where the test stands now.
        by: Who entered it; ``conditions`` when it was entered by itself.
        reason: Why.
    """

    t_ns: int
    what: Literal["phase", "mode"]
    place: Place
    by: str
    reason: str


@dataclass(frozen=True, slots=True)
class Edited:
    """A limit was edited in mid-run.

    Attributes:
        t_ns: When.
        limit: Its position.
        by: Who did it, *second* who agreed, *reason* why.
        fields: What changed: ``<name>_from`` and ``<name>_to`` for each.
    """

    t_ns: int
    limit: int
    by: str
    second: str
    reason: str
    fields: dict[str, Field]


@dataclass(frozen=True, slots=True)
class Refused:
    """An action that one of the stages before had to refuse.

    Attributes:
        t_ns: When.
        action: What was wanted.
        why: Why it cannot be done, with the cure.
    """

    t_ns: int
    action: Action
    why: str


Item = Edge | Control | Moved | Edited | Refused
