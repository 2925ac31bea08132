"""Edges and controls in, events out: the only part of the pipeline that is walked in time."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from monitor.alarms.book import Book
from monitor.alarms.by_hand import ByHand, QualityBefore
from monitor.alarms.first_out import Group, groups_of
from monitor.alarms.forced import Forced, ForcedValue
from monitor.alarms.items import Edited, Item, Moved
from monitor.alarms.lifecycle import NEVER, Lifecycle
from monitor.alarms.plan import AlarmsPlan
from monitor.alarms.status import AlarmStatus
from monitor.alarms.suppression import Suppression
from monitor.alarms.tell import (
    edited_event,
    first_out_fields,
    host_event,
    link_event,
    moved_event,
    started_events,
)
from monitor.errors import MonitorError
from monitor.events import Action, Control, Event, HostEvent, LinkChange
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Place


class Alarms:
    """The state of every alarm, and where the test stands.

    What ends by itself (shelves, the rest of an acknowledged alarm) comes after everything else
    of its instant; what ceases to be suppressed by another alarm, after the edges of its
    instant.

    Attributes:
        phase_since_ns: Since when the test is in its phase.
        mode_since_ns: Since when it is in its mode.
    """

    def __init__(self, plan: AlarmsPlan, start_ns: int) -> None:
        """Start normal, in the plan's first phase and mode."""
        place = Place(plan.phases[0], plan.modes[0] if plan.modes else "")
        self._plan = plan
        self._book = Book(plan)
        self._lifecycle = Lifecycle(self._book)
        self._suppression = Suppression(self._book, self._lifecycle, place, start_ns)
        self._forced = Forced(self._book)
        self._by_hand = ByHand(self._book, self._lifecycle, self._forced)
        self._groups = groups_of(plan.alarms)
        self._group_of = {i: group for group in self._groups for i, _ in group.marks()}
        self.phase_since_ns = self.mode_since_ns = start_ns

    @property
    def status(self) -> list[AlarmStatus]:
        """One row for each alarm of the plan."""
        return self._book.status

    @property
    def place(self) -> Place:
        """Phase and mode now."""
        return self._suppression.place

    @property
    def phase(self) -> str:
        """Name of the phase now."""
        return self.place.phase

    @property
    def forced(self) -> list[ForcedValue]:
        """Every value that is forced by hand now, by tag."""
        return [value for _, value in sorted(self._forced.values.items())]

    @property
    def has_lapsed(self) -> bool:
        """Whether the phase lasts longer than it may, and suppresses nothing any more."""
        return self._suppression.has_lapsed

    def step(
        self, items: Sequence[Item], until_ns: int, quality_before: QualityBefore
    ) -> tuple[tuple[Event, ...], tuple[int, ...]]:
        """Walk *items*, which are in order, up to W; give new events and changed alarms."""
        last_ns, edges_ns = 0, NEVER
        for item in self._suppression.in_order(items):
            is_edge = isinstance(item, Edge)
            if not (is_edge and item.t_ns == edges_ns):
                self._settle(last_ns)
                self._run_until(item.t_ns - 1)
            last_ns = item.t_ns
            edges_ns = last_ns if is_edge else NEVER
            self._take(item, quality_before)
        self._settle(last_ns)
        self._run_until(until_ns)
        return self._book.take()

    def _run_until(self, until_ns: int) -> None:
        """Let end by itself what is due, in the order of time; forced values last."""
        while (due_ns := self._forced.due_ns) <= until_ns:
            self._lifecycle.run_until(due_ns)
            self._forced.release_due()
        self._lifecycle.run_until(until_ns)

    def _take(self, item: Item, quality: QualityBefore) -> None:
        """Let one thing take effect."""
        if isinstance(item, Edge):
            self._turn(item)
        elif isinstance(item, Control):
            self._control(item.t_ns, item.what, quality)
        elif isinstance(item, Moved):
            self._move(item)
        elif isinstance(item, Edited):
            self._book.add(edited_event(item, self._plan.alarms[item.limit]))
        else:
            self._book.refuse(item.t_ns, item.action, item.why)

    def _turn(self, edge: Edge) -> None:
        """A limit turned."""
        self._lifecycle.turn(edge)
        self._suppression.turn(edge)
        group = self._group_of.get(edge.limit)
        if group and edge.turn is Turn.RAISED and self.status[edge.limit].is_annunciated:
            group.note(edge.limit, edge.onset_ns)

    def _control(
        self, t_ns: int, what: Action | LinkChange | HostEvent, quality: QualityBefore
    ) -> None:
        """An action, a link change or a host event takes effect."""
        if isinstance(what, Action):
            self._by_hand.act(t_ns, what, quality)
        elif isinstance(what, LinkChange):
            self._book.add(link_event(t_ns, what))
        else:
            self._book.add(host_event(t_ns, what))
            if what.what == "run_started":
                for event in started_events(t_ns, self.place):
                    self._book.add(event)

    def _move(self, moved: Moved) -> None:
        """Go to another phase or mode."""
        self._book.add(moved_event(moved))
        if moved.what == "phase":
            self.phase_since_ns = moved.t_ns
        else:
            self.mode_since_ns = moved.t_ns
        self._suppression.move(moved)

    def _settle(self, t_ns: int) -> None:
        """Bring up to date what looks at several alarms at once."""
        self._suppression.settle(t_ns)
        touched = self._book.touched
        if touched and self._groups:
            moved = {id(self._group_of[i]) for i in touched if i in self._group_of}
            for group in self._groups:
                if id(group) in moved:
                    self._settle_group(t_ns, group)
        touched.clear()

    def _settle_group(self, t_ns: int, group: Group) -> None:
        """Tell which alarm of a group came first, if that is something new."""
        before, answer = group.among, group.settle(self.status)
        if answer:
            ids = [self.status[i].id for i in answer.among]
            subject = ids[0] if len(ids) == 1 else group.name
            fields = first_out_fields(group.name, answer.onset_ns, ids)
            self._book.say(t_ns, "alarm.first_out", subject, fields)
        for i, mark in group.marks() if group.among != before else ():
            if self.status[i].first_out != mark:
                self.status[i].first_out = mark
                self._book.touch(i)

    def state(self) -> bytes:
        """Give everything that must outlive a restart."""
        saved = _Saved(
            self.place.phase,
            self.place.mode,
            self.phase_since_ns,
            self.mode_since_ns,
            self._suppression.has_lapsed,
            self.status,
            [sorted(group.came.items()) for group in self._groups],
            self.forced,
        )
        return msgspec.msgpack.encode(saved)

    def load_state(self, saved: bytes) -> None:
        """Take back what :meth:`state` gave.

        Raises:
            MonitorError: The state is that of another plan.
        """
        state = msgspec.msgpack.decode(saved, type=_Saved)
        plan = self._plan
        is_mine = [status.id for status in state.status] == [x.id for x in plan.alarms]
        is_mine &= state.phase in plan.phases and state.mode in (plan.modes or ("",))
        if not is_mine or len(state.came) != len(self._groups):
            raise MonitorError(
                "saved alarms: limits or phases differ; it was saved with another stand file"
            )
        self._book.status[:] = state.status
        self.phase_since_ns, self.mode_since_ns = state.phase_since_ns, state.mode_since_ns
        place = Place(state.phase, state.mode)
        self._suppression.go_on(place, has_lapsed=state.has_lapsed)
        self._lifecycle.go_on()
        self._forced.values = {one.tag: one for one in state.forced}
        for group, came in zip(self._groups, state.came, strict=True):
            group.go_on(dict(came))


class _Saved(msgspec.Struct):
    """What :meth:`Alarms.state` writes."""

    phase: str
    mode: str
    phase_since_ns: int
    mode_since_ns: int
    has_lapsed: bool
    status: list[AlarmStatus]
    came: list[list[tuple[int, int]]]
    forced: list[ForcedValue]
