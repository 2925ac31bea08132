"""Which alarm of a group came first: by onset less the lag of sensor and filter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from monitor.alarms.plan import Alarm
from monitor.alarms.status import AlarmStatus, FirstOutMark


@dataclass(frozen=True, slots=True)
class Answer:
    """What came first.

    Attributes:
        onset_ns: The earliest onset, less its lag.
        among: Positions of those that may have been first, in the order of the plan: one when
            it is determined, several when they lie within one sample period.
    """

    onset_ns: int
    among: tuple[int, ...]


class Group:
    """A first-out group.

    An episode begins with the first member that is raised and shown, and ends when none of
    those that were raised and shown in it stands or needs acknowledging, what is inhibited not
    counted: so a member that is out of service cannot keep an episode open for ever. What was
    raised while it was inhibited takes no part.

    Attributes:
        name: Its name.
        came: Onset less lag of each member that takes part, in ns, by position; of one that
            came several times in the episode the earliest.
        answer: What was last said; None while there is no episode.
    """

    def __init__(self, name: str, members: Sequence[int], alarms: Sequence[Alarm]) -> None:
        """Start without an episode."""
        self.name = name
        self._members = tuple(members)
        self._alarms = alarms
        self.came: dict[int, int] = {}
        self.answer: Answer | None = None
        self._is_settled = True

    def note(self, i: int, onset_ns: int) -> None:
        """Member *i* was raised and shown, *onset_ns* before any delay."""
        corrected_ns = onset_ns - self._alarms[i].lag_ns
        self.came[i] = min(corrected_ns, self.came.get(i, corrected_ns))
        self._is_settled = False

    @property
    def among(self) -> tuple[int, ...]:
        """Positions of those that may have been first; empty while there is no episode."""
        return self.answer.among if self.answer else ()

    def settle(self, status: Sequence[AlarmStatus]) -> Answer | None:
        """Bring the answer up to date.

        Returns:
            The answer, when it names others than before.
        """
        if self.came and not any(_counts(status[i]) for i in self.came):
            self.came.clear()
            self._is_settled = False
        if self._is_settled:
            return None
        before, self.answer, self._is_settled = self.among, self._judge(), True
        return self.answer if self.answer and self.among != before else None

    def _judge(self) -> Answer | None:
        """Find the earliest, and those within one sample period of it."""
        if not self.came:
            return None
        onset_ns = min(self.came.values())
        period_ns = max(self._period_ns(i) for i in self.came if self.came[i] == onset_ns)
        among = [
            i
            for i in self.came
            if self.came[i] - onset_ns <= max(self._period_ns(i), period_ns)
        ]
        return Answer(onset_ns, tuple(sorted(among)))

    def _period_ns(self, i: int) -> int:
        """Give the time between two samples of a member."""
        return self._alarms[i].period_ns

    def marks(self) -> Iterable[tuple[int, FirstOutMark]]:
        """Give the mark of each member."""
        mark: FirstOutMark = "first" if len(self.among) == 1 else "undetermined"
        for i in self._members:
            yield i, mark if i in self.among else ""

    def go_on(self, came: dict[int, int]) -> None:
        """Go on, after a restart, with those that took part."""
        self.came = came
        self.answer = self._judge()


def groups_of(alarms: Sequence[Alarm]) -> list[Group]:
    """Give the first-out groups of a plan, in the order of their first members."""
    members: dict[str, list[int]] = {}
    for i, alarm in enumerate(alarms):
        if alarm.group:
            members.setdefault(alarm.group, []).append(i)
    return [Group(name, rows, alarms) for name, rows in members.items()]


def _counts(status: AlarmStatus) -> bool:
    """Whether an alarm keeps an episode open."""
    is_of_concern = status.is_active or not status.is_acknowledged
    return is_of_concern and not status.is_inhibited
