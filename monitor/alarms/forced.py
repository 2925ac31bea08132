"""Values that are forced by hand: who did it, why, and until when."""

from __future__ import annotations

import msgspec

from monitor.alarms.book import Book
from monitor.events import Action, Field

NEVER = 2**63 - 1


class ForcedValue(msgspec.Struct, frozen=True):
    """A channel's value that a person has set.

    Attributes:
        tag: The channel.
        value: In its unit.
        since_ns: From when on.
        until_ns: When it is let go by itself.
        by: Who forced it, *second* who agreed, *reason* why.
    """

    tag: str
    value: float
    since_ns: int
    until_ns: int
    by: str
    second: str
    reason: str


class Forced:
    """Every value that is forced now, for the journal and the register.

    Attributes:
        values: By tag.
    """

    def __init__(self, book: Book) -> None:
        """Start with none."""
        self._book = book
        self.values: dict[str, ForcedValue] = {}

    @property
    def due_ns(self) -> int:
        """Give when the next one is let go."""
        return min((one.until_ns for one in self.values.values()), default=NEVER)

    def force(self, t_ns: int, action: Action) -> None:
        """Force a value, be it forced already."""
        value, until_ns = action.changes["value"], t_ns + round(action.seconds * 1e9)
        self.values[action.subject] = ForcedValue(
            action.subject, value, t_ns, until_ns, action.by, action.second, action.reason
        )
        fields: dict[str, Field] = {
            "by": action.by,
            "second": action.second,
            "reason": action.reason,
            "value": value,
            "until_ns": until_ns,
        }
        self._book.say(t_ns, "value.forced", action.subject, fields)

    def release(self, t_ns: int, action: Action) -> None:
        """Let a value go before its time."""
        if self.values.pop(action.subject, None) is None:
            self._book.refuse(t_ns, action, "it is not forced")
        else:
            self._book.say(t_ns, "value.released", action.subject, {"by": action.by})

    def release_due(self) -> None:
        """Let go what is due next, in the order of the tags."""
        due_ns = self.due_ns
        for tag in sorted(self.values):
            if self.values[tag].until_ns == due_ns:
                del self.values[tag]
                self._book.say(due_ns, "value.released", tag, {"by": "end of its time"})
