"""All limits of a plan over a step that moves and edits may cut: everything in its order."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np

from monitor.alarms.actions import refusal_of
from monitor.alarms.items import Edited, Item, Refused
from monitor.alarms.phases import Move, start_place
from monitor.alarms.plan import AlarmsPlan
from monitor.events import Action, Control, Field
from monitor.limits.combine import Combinations, TimedPlace
from monitor.limits.cutting import cut
from monitor.limits.edges import Edge
from monitor.limits.edits import LimitNow, contradiction, value_of
from monitor.limits.plan import ARMING, Kind, Limit, Place
from monitor.limits.stage import Limits
from monitor.samples import Bytes, Floats, Grid, Ints

#: Order of what happens at one instant: controls, then readings with what they bring, then
#: what is joined of these.
_CONTROL, _READING, _JOINED = range(3)
#: Time; order within the instant; which of the phases entered by themselves at that instant;
#: number of the control or position of the limit, -1 for the phase.
_Key = tuple[int, int, int, int]


class Judge:
    """Takes the grid, the controls and the moves of a step; gives what alarms walk through."""

    def __init__(
        self,
        limits: Sequence[Limit],
        plan: AlarmsPlan,
        columns: int,
        start_ns: int,
        of_phase: Sequence[int] = (),
    ) -> None:
        """Start with every limit clear; *of_phase*: columns that count from a phase's start.

        Raises:
            ValueError: A combination stands before a limit that is none.
        """
        is_joined = [limit.kind is Kind.COMBINATION for limit in limits]
        self._first = is_joined.index(True) if any(is_joined) else len(limits)
        if not all(is_joined[self._first :]):
            raise ValueError("combinations must stand behind all other limits")
        self._plan = plan
        place = start_place(plan)
        self._limits = Limits(limits[: self._first], columns, place, start_ns, of_phase)
        self._combinations = Combinations(limits, self._first, start_place(plan), start_ns)
        self._until_ns = start_ns
        names = product(plan.phases, plan.modes or ("",))
        self._places = [Place(phase, mode) for phase, mode in names]
        self._position = {limit.id: i for i, limit in enumerate(limits)}
        self._siblings: dict[str, list[int]] = {}
        for i, alarm in enumerate(plan.alarms):
            self._siblings.setdefault(alarm.tag, []).append(i)

    def now(self, position: int) -> LimitNow:
        """Tell what is in force for a limit."""
        if position >= self._first:
            return self._combinations.now(position)
        return self._limits.now(position)

    def step(
        self, grid: Grid, controls: Sequence[Control], moves: Sequence[Move], until_ns: int
    ) -> list[Item]:
        """Give edges, moves, edits and all other controls over (W0, W], in their order.

        Args:
            grid: Every column over the step.
            controls: Those of the step, in their order.
            moves: Those of the step, in their order.
            until_ns: W.
        """
        by_hand = {move.seq for move in moves if move.seq >= 0}
        edits = [x for x in controls if self._is_edit(x)]
        keyed: list[tuple[_Key, Item]] = [
            ((x.t_ns, _CONTROL, 0, x.seq), x)
            for x in controls
            if x.seq not in by_hand and x not in edits
        ]
        keyed += self._walk(grid, [*moves, *edits], until_ns)
        edges = [item for _, item in keyed if isinstance(item, Edge)]
        places = [TimedPlace(move.moved.t_ns, move.moved.place) for move in moves]
        joined = self._combinations.step(edges, places, until_ns)
        keyed += [((edge.t_ns, _JOINED, 0, edge.limit), edge) for edge in joined]
        keyed.sort(key=lambda one: one[0])
        return [item for _, item in keyed]

    def _walk(
        self, grid: Grid, marks: Sequence[Move | Control], until_ns: int
    ) -> list[tuple[_Key, Item]]:
        """Run the limits, cut at every move and edit."""
        keyed: list[tuple[_Key, Item]] = []
        entered = 0
        for mark in sorted(marks, key=_mark_order):
            first_ns = mark.first_ns if isinstance(mark, Move) else mark.t_ns
            if first_ns - 1 > self._until_ns:
                before, grid = cut(grid, first_ns)
                keyed += _keyed(self._limits.step(before, first_ns - 1), entered)
                self._until_ns = first_ns - 1
            told, edges = self._take(mark)
            if isinstance(mark, Move) and mark.seq < 0:
                entered += 1
                keyed.append(((told.t_ns, _READING, entered, -1), told))
            else:
                keyed.append(((told.t_ns, _CONTROL, 0, mark.seq), told))
            keyed += _keyed(edges, entered)
        keyed += _keyed(self._limits.step(grid, until_ns), entered)
        self._until_ns = until_ns
        return keyed

    def _take(self, mark: Move | Control) -> tuple[Item, list[Edge]]:
        """Let a move or an edit take effect."""
        if isinstance(mark, Move):
            moved = mark.moved
            is_phase = moved.what == "phase"
            return moved, self._limits.enter(moved.place, moved.t_ns, is_phase=is_phase)
        action = mark.what
        assert isinstance(action, Action)
        i = self._position[action.subject]
        limit = self.now(i).limit
        siblings = (
            self.now(k).limit for k in self._siblings[self._plan.alarms[i].tag] if k != i
        )
        why = contradiction(limit, action.changes, siblings, self._places)
        if why:
            return Refused(mark.t_ns, action, why), []
        fields: dict[str, Field] = {}
        for key, value in action.changes.items():
            fields |= {f"{key}_from": value_of(limit, key), f"{key}_to": value}
        told = Edited(mark.t_ns, i, action.by, action.second, action.reason, fields)
        return told, self._edit(i, action.changes, mark.t_ns)

    def _edit(self, i: int, changes: dict[str, float], t_ns: int) -> list[Edge]:
        """Put other settings of a limit in force.

        What watches that a limit wakes goes by the same band, or a value could be inside for
        the one and not for the other: asleep for good, and nobody told.
        """
        if i >= self._first:
            self._combinations.edit(i, changes, t_ns)
            return []
        edges = self._limits.edit(i, changes, t_ns)
        wake_up = self._position.get(f"{self._limits.now(i).limit.id}.{ARMING}")
        if wake_up is not None:
            band = {key: x for key, x in changes.items() if not key.endswith("_delay_s")}
            edges += self._limits.edit(wake_up, band, t_ns)
        return edges

    def _is_edit(self, control: Control) -> bool:
        """Whether a control edits a limit; what is refused from the plan alone is left out."""
        what = control.what
        if not isinstance(what, Action) or what.verb != "edit_limit":
            return False
        return not refusal_of(what, self._plan)

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart."""
        state = {f"limits.{name}": array for name, array in self._limits.state().items()}
        joined = self._combinations.state()
        state |= {f"combinations.{name}": array for name, array in joined.items()}
        return state | {"until_ns": np.array([self._until_ns], dtype=np.int64)}

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        for stage, name in ((self._limits, "limits."), (self._combinations, "combinations.")):
            own = {k.removeprefix(name): x for k, x in state.items() if k.startswith(name)}
            stage.load_state(own)
        self._until_ns = int(state["until_ns"][0])


def _keyed(edges: Sequence[Edge], entered: int) -> list[tuple[_Key, Item]]:
    """Give edges with their place in the order; of one limit the first comes first."""
    return [((edge.t_ns, _READING, entered, edge.limit), edge) for edge in edges]


def _mark_order(mark: Move | Control) -> tuple[int, bool, int]:
    """Order moves and edits: of one instant first what a hand does, in its order."""
    if isinstance(mark, Move):
        return mark.moved.t_ns, mark.seq < 0, mark.seq
    return mark.t_ns, False, mark.seq
