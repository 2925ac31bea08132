"""The life of an alarm: raised, shown, acknowledged, cleared, set aside and taken back."""

from __future__ import annotations

from monitor.alarms.book import Book
from monitor.alarms.core import Core, CoreTable, Prompt, next_core, table_of
from monitor.alarms.plan import Alarm, Priority
from monitor.alarms.status import AlarmStatus
from monitor.alarms.tell import (
    armed_fields,
    edge_fields,
    lost_fields,
    realarmed_fields,
    shown_fields,
)
from monitor.events import Action, EventKind, Field
from monitor.limits.edges import Edge, Turn
from monitor.samples import FIRST_BAD, QUALITY_TEXT

#: Later than every time.
NEVER = 2**63 - 1


class Lifecycle:
    """Moves alarms by the tables of :mod:`monitor.alarms.core`, and tells of it.

    Attributes:
        due_ns: Nothing ends by itself before this.
    """

    def __init__(self, book: Book) -> None:
        """Start with nothing due."""
        self._book = book
        self._alarms = book.plan.alarms
        self._tables: list[CoreTable] = [
            table_of(is_latching=alarm.is_latching, clears_by_itself=alarm.clears_by_itself)
            for alarm in self._alarms
        ]
        self._shelved: set[int] = set()
        self._realarming: set[int] = set()
        self.due_ns = NEVER

    # What the limits say.

    def turn(self, edge: Edge) -> None:
        """A limit turned."""
        i = edge.limit
        alarm, status = self._alarms[i], self._book.status[i]
        self._book.touch(i)
        if edge.turn is Turn.PENDING_LOST:
            self._book.say(edge.t_ns, "alarm.pending_lost", alarm.id, lost_fields(alarm, edge))
        elif edge.turn is Turn.ARMED:
            self._book.say(edge.t_ns, "limit.armed", alarm.id, armed_fields(edge))
        elif edge.turn is Turn.RAISED:
            self._raise(alarm, status, edge)
        else:
            self._clear(alarm, status, edge)

    def _raise(self, alarm: Alarm, status: AlarmStatus, edge: Edge) -> None:
        """The condition stands: a new occurrence."""
        status.is_active = True
        status.onset_ns, status.true_ns, status.annunciated_ns = edge.onset_ns, edge.t_ns, 0
        status.value, status.quality = edge.value, edge.quality
        if alarm.priority is Priority.JOURNAL:
            self._book.say(edge.t_ns, "condition.on", alarm.id, edge_fields(alarm, edge))
            return
        self._move(edge.limit, Prompt.ALM)
        is_shown = self._mark_shown(status, edge.t_ns)
        fields = edge_fields(alarm, edge) | {"is_annunciated": is_shown}
        self._book.say(edge.t_ns, "alarm.raised", alarm.id, fields)

    def _clear(self, alarm: Alarm, status: AlarmStatus, edge: Edge) -> None:
        """The condition is gone. Where nobody was ever shown it, it needs no acknowledging."""
        status.is_active = False
        if alarm.priority is Priority.JOURNAL:
            self._book.say(edge.t_ns, "condition.off", alarm.id, edge_fields(alarm, edge))
            return
        self._move(edge.limit, Prompt.RTN)
        if status.core is Core.RETURNED_UNACKNOWLEDGED and not status.is_owed:
            status.core = Core.NORMAL
        if status.core is Core.NORMAL:
            status.is_owed = False
        fields = edge_fields(alarm, edge) | {"state": status.core.value}
        self._book.say(edge.t_ns, "alarm.cleared", alarm.id, fields)

    def _move(self, i: int, prompt: Prompt) -> None:
        """Go to the next core state; only what stands acknowledged can be annunciated anew."""
        status = self._book.status[i]
        status.core = next_core(status.core, prompt, self._tables[i])
        if status.core is not Core.ACKNOWLEDGED and status.acknowledged_ns:
            status.acknowledged_ns = 0
            self._realarming.discard(i)

    def _mark_shown(self, status: AlarmStatus, t_ns: int) -> bool:
        """Note whether people are shown it now, which they have to answer."""
        is_shown = status.is_annunciated
        if is_shown:
            status.annunciated_ns = t_ns
            status.is_owed = status.is_owed or not status.is_acknowledged
        return is_shown

    # What a person does.

    def acknowledge(self, t_ns: int, i: int, by: str, *, along_with: str = "") -> None:
        """Acknowledge what needs it, by itself or *along_with* a more severe one."""
        status = self._book.status[i]
        self._book.touch(i)
        self._move(i, Prompt.ACK)
        status.is_owed = False
        if status.core is Core.ACKNOWLEDGED:
            status.acknowledged_ns = t_ns
            if self._alarms[i].realarm_ns:
                self._realarming.add(i)
                self.due_ns = min(self.due_ns, t_ns + self._alarms[i].realarm_ns)
        fields: dict[str, Field] = {"by": by, "state": status.core.value}
        if along_with:
            fields["with"] = along_with
        self._book.say(t_ns, "alarm.acknowledged", status.id, fields)

    def reset(self, t_ns: int, i: int, by: str, quality: int) -> str:
        """Let a latch go, if the condition is gone, seen, and the value is not bad.

        Returns:
            Why that is not possible; empty when it is done.
        """
        status = self._book.status[i]
        if not status.is_latched:
            return "the condition still stands" if status.is_active else "nothing is latched"
        if not status.is_acknowledged:
            return "acknowledge it first"
        if quality >= FIRST_BAD:
            return f"the value is bad ({QUALITY_TEXT.get(quality, str(quality))})"
        self._book.touch(i)
        self._move(i, Prompt.RESET)
        self._book.say(t_ns, "alarm.reset", status.id, {"by": by})
        return ""

    def shelve(self, t_ns: int, i: int, action: Action) -> None:
        """Set an alarm aside for a time; anew if it is so already."""
        status = self._book.status[i]
        self._book.touch(i)
        status.turn_flag(Prompt.SHELVE)
        status.shelved_since_ns = t_ns
        status.shelved_until_ns = t_ns + round(action.seconds * 1e9)
        status.shelf_reason = f"shelved by {_names(action)}: {action.reason}"
        self._shelved.add(i)
        self.due_ns = min(self.due_ns, status.shelved_until_ns)
        fields = _inhibit_fields(action) | {"until_ns": status.shelved_until_ns}
        self._book.say(t_ns, "alarm.shelved", status.id, fields)

    def unshelve(self, t_ns: int, i: int, by: str, prompt: Prompt = Prompt.UNSHELVE) -> None:
        """End a shelf."""
        status = self._book.status[i]
        self._book.touch(i)
        status.turn_flag(prompt)
        status.shelved_since_ns, status.shelved_until_ns, status.shelf_reason = 0, 0, ""
        self._shelved.discard(i)
        self._book.say(t_ns, "alarm.unshelved", status.id, {"by": by})
        self._annunciate_if_free(t_ns, i)

    def take_out(self, t_ns: int, i: int, action: Action) -> None:
        """Take an alarm out of service."""
        status = self._book.status[i]
        self._book.touch(i)
        status.turn_flag(Prompt.OOS)
        status.out_since_ns = t_ns
        status.service_reason = f"out of service by {_names(action)}: {action.reason}"
        self._book.say(t_ns, "alarm.out_of_service", status.id, _inhibit_fields(action))

    def put_back(self, t_ns: int, i: int, action: Action) -> None:
        """Return an alarm to service."""
        status = self._book.status[i]
        self._book.touch(i)
        status.turn_flag(Prompt.RTS)
        status.out_since_ns, status.service_reason = 0, ""
        fields: dict[str, Field] = {"by": action.by, "reason": action.reason}
        self._book.say(t_ns, "alarm.returned_to_service", status.id, fields)
        self._annunciate_if_free(t_ns, i)

    # What happens by itself.

    def suppress(self, t_ns: int, i: int, prompt: Prompt, why: dict[str, Field]) -> None:
        """Suppress by design, or stop; on record where it hides or shows something."""
        status = self._book.status[i]
        self._book.touch(i)
        status.turn_flag(prompt)
        status.suppressed_since_ns = t_ns if status.is_suppressed else 0
        if status.core is Core.NORMAL:
            return
        kind: EventKind = "alarm.suppressed" if status.is_suppressed else "alarm.unsuppressed"
        self._book.say(t_ns, kind, status.id, {**why, "state": status.core.value})
        self._annunciate_if_free(t_ns, i)

    def _annunciate_if_free(self, t_ns: int, i: int) -> None:
        """When the last flag clears and the occurrence was never shown, show it now."""
        status = self._book.status[i]
        if status.annunciated_ns == 0 and self._mark_shown(status, t_ns):
            fields = shown_fields(self._alarms[i], status)
            self._book.say(t_ns, "alarm.annunciated", status.id, fields)

    def run_until(self, until_ns: int) -> None:
        """End the shelves and annunciate anew what is due at *until_ns* or before."""
        if until_ns < self.due_ns:
            return
        status, alarms = self._book.status, self._alarms
        ends = [(status[i].shelved_until_ns, i, Prompt.T_SHELVE) for i in self._shelved]
        ends += [
            (status[i].acknowledged_ns + alarms[i].realarm_ns, i, Prompt.REALARM)
            for i in self._realarming
        ]
        # At one instant in the order of the plan; of one alarm the end of its shelf last.
        for t_ns, i, prompt in sorted(end for end in ends if end[0] <= until_ns):
            if prompt is Prompt.T_SHELVE:
                self.unshelve(t_ns, i, "end of its time", prompt)
            else:
                self._realarm(t_ns, i)
        self.due_ns = min((end[0] for end in ends if end[0] > until_ns), default=NEVER)

    def _realarm(self, t_ns: int, i: int) -> None:
        """Annunciate anew what was acknowledged long ago and still stands."""
        status = self._book.status[i]
        self._book.touch(i)
        acknowledged_ns = status.acknowledged_ns
        self._move(i, Prompt.REALARM)
        status.annunciated_ns = 0
        is_shown = self._mark_shown(status, t_ns)
        fields = realarmed_fields(self._alarms[i], acknowledged_ns, is_shown=is_shown)
        self._book.say(t_ns, "alarm.realarmed", status.id, fields)

    def go_on(self) -> None:
        """Find out from the status of each alarm, after a restart, what is due."""
        rows = list(enumerate(self._book.status))
        self._shelved = {i for i, status in rows if status.is_shelved}
        self._realarming = {
            i for i, status in rows if status.acknowledged_ns and self._alarms[i].realarm_ns
        }
        # Too early does no harm: what is due then is looked at anew.
        self.due_ns = 0 if self._shelved or self._realarming else NEVER


def _names(action: Action) -> str:
    """Give who acts, and who agrees."""
    return f"{action.by} with {action.second}" if action.second else action.by


def _inhibit_fields(action: Action) -> dict[str, Field]:
    """Tell who sets an alarm aside and why; the second name where there is one."""
    fields: dict[str, Field] = {"by": action.by}
    if action.second:
        fields["second"] = action.second
    return fields | {"reason": action.reason}
