"""Where a test stands: phases and modes entered by hand, and phases entered by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import msgspec
import numpy as np

from monitor.alarms.actions import refusal_of
from monitor.alarms.items import Moved
from monitor.alarms.plan import AlarmsPlan
from monitor.channels.draft import Since
from monitor.events import Action, Control
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Place
from monitor.limits.stage import Limits
from monitor.samples import Bytes, Floats, Grid, Ints

BY_CONDITIONS = "conditions"


@dataclass(frozen=True, slots=True)
class Move:
    """A move with its place in the order of an instant.

    Attributes:
        moved: What it is.
        seq: Number of the control that brings it; -1 for a phase entered by itself, which comes
            after the readings of its instant.
    """

    moved: Moved
    seq: int = -1

    @property
    def first_ns(self) -> int:
        """Give the time of the first reading that belongs to it."""
        return self.moved.t_ns + (self.seq < 0)

    @property
    def since(self) -> Since:
        """Give since when a phase counts."""
        return Since(self.first_ns, self.moved.t_ns)


def start_place(plan: AlarmsPlan) -> Place:
    """Give where a run starts: the first phase, the first mode."""
    return Place(plan.phases[0], plan.modes[0] if plan.modes else "")


class Phases:
    """Finds every move in a step, from controls and from the conditions of the plan.

    A phase is entered by itself at the instant at which the last of its conditions comes to
    stand, or at which a phase is entered that it may follow while all of them stand already;
    no phase twice in one instant.

    Attributes:
        place: Phase and mode at W.
    """

    def __init__(self, plan: AlarmsPlan, columns: int, start_ns: int) -> None:
        """Start in the first phase and mode with no condition standing."""
        self.place = start_place(plan)
        self._plan = plan
        # Conditions know no phase: their setpoints are the same everywhere.
        self._limits = Limits(plan.conditions, columns, Place(""), start_ns)
        self._stands = [False] * len(plan.conditions)

    def step(self, grid: Grid, controls: Sequence[Control], until_ns: int) -> list[Move]:
        """Give the moves over (W0, W], in their order.

        Args:
            grid: Every column that conditions look at, filled.
            controls: Those of the step, in their order.
            until_ns: W.
        """
        edges = self._limits.step(grid, until_ns) if self._stands else []
        by_hand: list[Control | Edge] = [x for x in controls if self._is_entry(x)]
        moves: list[Move] = []
        tried: set[str] = set()
        last_ns = -1
        for item in sorted([*by_hand, *edges], key=lambda item: item.t_ns):
            if item.t_ns != last_ns:
                moves += self._by_conditions(last_ns, tried)
                last_ns = item.t_ns
                tried.clear()
            if isinstance(item, Edge):
                self._stands[item.limit] = item.turn is Turn.RAISED
            else:
                moves.append(self._by_hand(item))
        return moves + self._by_conditions(last_ns, tried)

    def _is_entry(self, control: Control) -> bool:
        """Whether a control brings another phase or mode."""
        what = control.what
        is_entry = isinstance(what, Action) and what.verb in ("enter_phase", "enter_mode")
        return is_entry and not refusal_of(what, self._plan)

    def _by_hand(self, control: Control) -> Move:
        """Go where a person wants."""
        action = control.what
        assert isinstance(action, Action)
        is_phase = action.verb == "enter_phase"
        if is_phase:
            self.place = Place(action.subject, self.place.mode)
        else:
            self.place = Place(self.place.phase, action.subject)
        what = "phase" if is_phase else "mode"
        moved = Moved(control.t_ns, what, self.place, action.by, action.reason)
        return Move(moved, control.seq)

    def _by_conditions(self, t_ns: int, tried: set[str]) -> list[Move]:
        """Enter what the conditions bring at the end of an instant."""
        moves: list[Move] = []
        is_moving = True
        while is_moving:
            is_moving = False
            for entry in self._plan.automatic:
                is_due = self.place.phase in entry.after and entry.phase not in tried
                if is_due and all(self._stands[i] for i in entry.conditions):
                    tried.add(entry.phase)
                    self.place = Place(entry.phase, self.place.mode)
                    reason = ", ".join(self._plan.conditions[i].id for i in entry.conditions)
                    moved = Moved(t_ns, "phase", self.place, BY_CONDITIONS, reason)
                    moves.append(Move(moved))
                    is_moving = True
                    break
        return moves

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart."""
        text = msgspec.msgpack.encode((self.place.phase, self.place.mode, self._stands))
        return {
            "phases": np.frombuffer(text, dtype=np.uint8),
            **{f"condition.{name}": array for name, array in self._limits.state().items()},
        }

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        phase, mode, self._stands = msgspec.msgpack.decode(
            state["phases"].tobytes(), type=tuple[str, str, list[bool]]
        )
        self.place = Place(phase, mode)
        names = self._limits.state()
        self._limits.load_state({name: state[f"condition.{name}"] for name in names})
