"""Edges and controls in, events out: the only part of the pipeline that is walked in time."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import msgspec

from monitor.alarms.actions import refusal_of
from monitor.alarms.core import AlarmStatus, Core, Prompt, next_core
from monitor.alarms.items import Edited, Item, Moved
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.alarms.tell import (
    armed_fields,
    edge_fields,
    host_event,
    link_event,
    lost_fields,
    shown_fields,
)
from monitor.errors import MonitorError
from monitor.events import Action, Control, Event, EventKind, Field, HostEvent, LinkChange
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Place
from monitor.samples import FIRST_BAD, QUALITY_TEXT

#: Gives the quality byte of a limit's column just before an instant.
QualityBefore = Callable[[int, int], int]

#: What comes of these arrives as an item of its own; the action itself only when refused.
_MADE_BEFORE = ("enter_phase", "enter_mode", "edit_limit")


class Alarms:
    """The state of every alarm, and where the test stands.

    What ends by itself (shelves) comes after everything else of its instant.

    Attributes:
        status: One row for each alarm of the plan.
        place: Phase and mode now.
        phase_since_ns: Since when it is in the phase.
        mode_since_ns: Since when it is in the mode.
    """

    def __init__(self, plan: AlarmsPlan, start_ns: int) -> None:
        """Start normal, in the plan's first phase and mode."""
        self._plan = plan
        self._position = {alarm.id: i for i, alarm in enumerate(plan.alarms)}
        self.status = [AlarmStatus(alarm.id) for alarm in plan.alarms]
        self.place = Place(plan.phases[0], plan.modes[0] if plan.modes else "")
        self.phase_since_ns = self.mode_since_ns = start_ns
        self._events: list[Event] = []
        self._changed: set[int] = set()
        self._shelved: set[int] = set()
        for i, alarm in enumerate(plan.alarms):
            self.status[i].is_suppressed = self.place.is_in(alarm.suppressed_in)

    @property
    def phase(self) -> str:
        """Name of the phase now."""
        return self.place.phase

    def step(
        self, items: Sequence[Item], until_ns: int, quality_before: QualityBefore
    ) -> tuple[tuple[Event, ...], tuple[int, ...]]:
        """Walk *items*, which are in order, up to W; give new events and changed alarms."""
        for item in items:
            self._end_shelves(item.t_ns - 1)
            if isinstance(item, Edge):
                self._turn(item)
            elif isinstance(item, Control):
                self._control(item, quality_before)
            elif isinstance(item, Moved):
                self._move(item)
            elif isinstance(item, Edited):
                self._edit(item)
            else:
                self._refuse(item.t_ns, item.action, item.why)
        self._end_shelves(until_ns)
        events, self._events = tuple(self._events), []
        changed, self._changed = tuple(sorted(self._changed)), set()
        return events, changed

    def positions(self, subject: str) -> list[int]:
        """Give the alarms that *subject* names: one id, or ``*`` for all annunciated ones."""
        if subject == "*":
            return [i for i, status in enumerate(self.status) if status.is_annunciated]
        return [self._position[subject]] if subject in self._position else []

    def _say(self, t_ns: int, kind: EventKind, subject: str, fields: dict[str, Field]) -> None:
        """Add an event."""
        self._events.append(Event(t_ns, kind, subject, fields))

    # Edges.

    def _turn(self, edge: Edge) -> None:
        """A limit turned."""
        alarm, status = self._plan.alarms[edge.limit], self.status[edge.limit]
        self._changed.add(edge.limit)
        if edge.turn is Turn.PENDING_LOST:
            self._say(edge.t_ns, "alarm.pending_lost", alarm.id, lost_fields(alarm, edge))
            return
        if edge.turn is Turn.ARMED:
            self._say(edge.t_ns, "limit.armed", alarm.id, armed_fields(edge))
            return
        status.is_active = edge.turn is Turn.RAISED
        if status.is_active:
            status.onset_ns, status.true_ns = edge.onset_ns, edge.t_ns
            status.value, status.quality = edge.value, edge.quality
            status.annunciated_ns = 0
        if alarm.priority is Priority.JOURNAL:
            kind: EventKind = "condition.on" if status.is_active else "condition.off"
            self._say(edge.t_ns, kind, alarm.id, edge_fields(alarm, edge))
        elif status.is_active:
            self._raise(alarm, status, edge)
        else:
            self._clear(alarm, status, edge)

    def _raise(self, alarm: Alarm, status: AlarmStatus, edge: Edge) -> None:
        """The condition stands: a new occurrence."""
        status.core = next_core(status.core, Prompt.RAISED, is_latching=alarm.is_latching)
        if status.is_annunciated:
            status.annunciated_ns, status.is_owed = edge.t_ns, True
        fields = edge_fields(alarm, edge) | {"is_annunciated": status.is_annunciated}
        self._say(edge.t_ns, "alarm.raised", alarm.id, fields)

    def _clear(self, alarm: Alarm, status: AlarmStatus, edge: Edge) -> None:
        """The condition is gone. Where nobody was ever shown it, it needs no acknowledging."""
        status.core = next_core(status.core, Prompt.CLEARED, is_latching=alarm.is_latching)
        if status.core is Core.RETURNED_UNACKNOWLEDGED and not status.is_owed:
            status.core = Core.NORMAL
        fields = edge_fields(alarm, edge) | {"state": status.core.value}
        self._say(edge.t_ns, "alarm.cleared", alarm.id, fields)

    # Controls.

    def _control(self, control: Control, quality_before: QualityBefore) -> None:
        """An action, a link change or a host event takes effect."""
        what = control.what
        if isinstance(what, Action):
            self._act(control.t_ns, what, quality_before)
        elif isinstance(what, LinkChange):
            self._events.append(link_event(control.t_ns, what))
        else:
            self._host(control.t_ns, what)

    def _host(self, t_ns: int, what: HostEvent) -> None:
        """Something happened to the engine itself."""
        self._events.append(host_event(t_ns, what))
        if what.what == "run_started":
            fields: dict[str, Field] = {"by": "start of run", "reason": ""}
            self._say(t_ns, "phase.entered", self.phase, fields)
            if self.place.mode:
                self._say(t_ns, "mode.entered", self.place.mode, fields)

    def _act(self, t_ns: int, action: Action, quality_before: QualityBefore) -> None:
        """A person acts. What cannot be done is refused on record, never ignored."""
        refusal = refusal_of(action, self._plan)
        if refusal:
            self._refuse(t_ns, action, refusal)
        elif action.verb in _MADE_BEFORE:
            self._refuse(t_ns, action, "nothing came of it")
        elif action.verb in ("silence", "lamp_test"):
            kind: EventKind = (
                "action.silence" if action.verb == "silence" else "action.lamp_test"
            )
            self._say(t_ns, kind, "", {"by": action.by})
        elif action.verb == "note":
            fields: dict[str, Field] = {"by": action.by, "text": action.reason}
            self._say(t_ns, "action.note", action.subject, fields)
        else:
            for i in self.positions(action.subject):
                self._act_on(t_ns, i, action, quality_before)

    def _act_on(self, t_ns: int, i: int, action: Action, quality_before: QualityBefore) -> None:
        """A person acts on one alarm."""
        self._changed.add(i)
        if action.verb == "acknowledge":
            self._acknowledge(t_ns, i, action)
        elif action.verb == "reset":
            self._reset(t_ns, i, action, quality_before)
        elif action.verb in ("shelve", "unshelve"):
            self._shelve(t_ns, i, action)
        else:
            self._set_service(t_ns, i, action)

    def _refuse(self, t_ns: int, action: Action, why: str) -> None:
        """Write down that an action was not possible."""
        fields: dict[str, Field] = {"verb": action.verb, "by": action.by, "why": why}
        self._say(t_ns, "action.refused", action.subject, fields)

    def _acknowledge(self, t_ns: int, i: int, action: Action) -> None:
        """Always allowed; where there is nothing to acknowledge it changes nothing."""
        status = self.status[i]
        if status.is_acknowledged:
            if action.subject != "*":
                self._refuse(t_ns, action, "there is nothing to acknowledge")
            return
        latching = self._plan.alarms[i].is_latching
        status.core = next_core(status.core, Prompt.ACKNOWLEDGE, is_latching=latching)
        status.is_owed = False
        fields: dict[str, Field] = {"by": action.by, "state": status.core.value}
        self._say(t_ns, "alarm.acknowledged", status.id, fields)

    def _reset(self, t_ns: int, i: int, action: Action, quality_before: QualityBefore) -> None:
        """Let a latch go, if the condition is gone, seen, and the value is not bad."""
        status = self.status[i]
        quality = quality_before(i, t_ns)
        if not status.is_latched:
            why = "the condition still stands" if status.is_active else "nothing is latched"
        elif not status.is_acknowledged:
            why = "acknowledge it first"
        elif quality >= FIRST_BAD:
            why = f"the value is bad ({QUALITY_TEXT.get(quality, str(quality))})"
        else:
            status.core = next_core(status.core, Prompt.RESET, is_latching=True)
            self._say(t_ns, "alarm.reset", status.id, {"by": action.by})
            return
        if action.subject != "*" or status.is_latched:
            self._refuse(t_ns, msgspec.structs.replace(action, subject=status.id), why)

    def _shelve(self, t_ns: int, i: int, action: Action) -> None:
        """Set an alarm aside for a time, or take it back before that."""
        status = self.status[i]
        if action.verb == "shelve":
            status.shelved_until_ns = t_ns + round(action.seconds * 1e9)
            self._shelved.add(i)
            status.shelf_reason = f"shelved by {action.by}: {action.reason}"
            fields: dict[str, Field] = {
                "by": action.by,
                "reason": action.reason,
                "until_ns": status.shelved_until_ns,
            }
            self._say(t_ns, "alarm.shelved", status.id, fields)
        elif status.is_shelved:
            self._unshelve(t_ns, i, action.by)
        else:
            self._refuse(t_ns, action, "it is not shelved")

    def _unshelve(self, t_ns: int, i: int, by: str) -> None:
        """End a shelf."""
        status = self.status[i]
        status.shelved_until_ns, status.shelf_reason = 0, ""
        self._shelved.discard(i)
        self._say(t_ns, "alarm.unshelved", status.id, {"by": by})
        self._changed.add(i)
        self._annunciate_if_free(t_ns, i)

    def _end_shelves(self, until_ns: int) -> None:
        """End what was shelved until *until_ns* or before, oldest first."""
        ends = ((self.status[i].shelved_until_ns, i) for i in self._shelved)
        for t_ns, i in sorted(end for end in ends if end[0] <= until_ns):
            self._unshelve(t_ns, i, "end of its time")

    def _set_service(self, t_ns: int, i: int, action: Action) -> None:
        """Take an alarm out of service, or back."""
        status = self.status[i]
        is_out = action.verb == "out_of_service"
        if is_out == status.is_out_of_service:
            self._refuse(t_ns, action, "it is so already")
            return
        status.is_out_of_service = is_out
        why = f"out of service by {action.by}: {action.reason}"
        status.service_reason = why if is_out else ""
        kind: EventKind = "alarm.out_of_service" if is_out else "alarm.returned_to_service"
        self._say(t_ns, kind, status.id, {"by": action.by, "reason": action.reason})
        self._annunciate_if_free(t_ns, i)

    def _move(self, moved: Moved) -> None:
        """Go to another phase or mode: what it suppresses by design changes at once."""
        self.place = moved.place
        fields: dict[str, Field] = {"by": moved.by, "reason": moved.reason}
        if moved.what == "phase":
            self.phase_since_ns = moved.t_ns
            self._say(moved.t_ns, "phase.entered", self.place.phase, fields)
        else:
            self.mode_since_ns = moved.t_ns
            self._say(moved.t_ns, "mode.entered", self.place.mode, fields)
        for i, alarm in enumerate(self._plan.alarms):
            is_suppressed = self.place.is_in(alarm.suppressed_in)
            if is_suppressed != self.status[i].is_suppressed:
                self._set_suppressed(moved.t_ns, i, is_suppressed=is_suppressed)

    def _edit(self, edited: Edited) -> None:
        """A limit was edited in mid-run."""
        fields: dict[str, Field] = {
            "by": edited.by,
            "second": edited.second,
            "reason": edited.reason,
        }
        alarm = self._plan.alarms[edited.limit]
        self._say(edited.t_ns, "limit.edited", alarm.id, fields | edited.fields)

    def _set_suppressed(self, t_ns: int, i: int, *, is_suppressed: bool) -> None:
        """Suppress by design, or stop; on record where it hides or shows something."""
        status = self.status[i]
        status.is_suppressed = is_suppressed
        self._changed.add(i)
        if status.core is Core.NORMAL:
            return
        kind: EventKind = "alarm.suppressed" if is_suppressed else "alarm.unsuppressed"
        self._say(t_ns, kind, status.id, {"phase": self.phase, "state": status.core.value})
        self._annunciate_if_free(t_ns, i)

    def _annunciate_if_free(self, t_ns: int, i: int) -> None:
        """When the last flag clears and the occurrence was never shown, show it now."""
        status = self.status[i]
        if status.is_annunciated and status.annunciated_ns == 0:
            status.annunciated_ns = t_ns
            status.is_owed = True
            fields = shown_fields(self._plan.alarms[i], status)
            self._say(t_ns, "alarm.annunciated", status.id, fields)

    def state(self) -> bytes:
        """Give everything that must outlive a restart."""
        place, since = self.place, (self.phase_since_ns, self.mode_since_ns)
        saved = _Saved(place.phase, place.mode, *since, list(self.status))
        return msgspec.msgpack.encode(saved)

    def load_state(self, saved: bytes) -> None:
        """Take back what :meth:`state` gave.

        Raises:
            MonitorError: The state is that of another plan.
        """
        state = msgspec.msgpack.decode(saved, type=_Saved)
        is_mine = [status.id for status in state.status] == [x.id for x in self._plan.alarms]
        is_mine &= state.mode in (self._plan.modes or ("",))
        if not is_mine or state.phase not in self._plan.phases:
            raise MonitorError(
                "saved alarms: limits or phases differ; it was saved with another stand file"
            )
        self.place = Place(state.phase, state.mode)
        self.phase_since_ns, self.mode_since_ns = state.phase_since_ns, state.mode_since_ns
        self.status = state.status
        self._shelved = {i for i, status in enumerate(self.status) if status.is_shelved}


class _Saved(msgspec.Struct):
    """What :meth:`Alarms.state` writes."""

    phase: str
    mode: str
    phase_since_ns: int
    mode_since_ns: int
    status: list[AlarmStatus]
