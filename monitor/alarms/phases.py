"""Where a test stands: phases and modes entered by hand, and phases entered by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

import msgspec
import numpy as np

from monitor.alarms.actions import refusal_of
from monitor.alarms.items import Moved
from monitor.alarms.plan import AlarmsPlan, AutomaticEntry
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

    A phase is entered by itself while all of its conditions stand and the phase is one that it
    may follow; no phase twice in one instant. A hand goes before the conditions: whoever enters
    a phase while they stand is not sent away again by them, until one of them has fallen.

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
        #: Numbers of automatic entries that a hand has overruled.
        self._overruled: set[int] = set()

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
        items = sorted([*by_hand, *edges], key=lambda item: item.t_ns)
        for t_ns, together in groupby(items, key=lambda item: item.t_ns):
            for item in together:
                if isinstance(item, Edge):
                    self._turn(item)
                else:
                    moves.append(self._by_hand(item))
            moves += self._by_conditions(t_ns)
        return moves

    def _turn(self, edge: Edge) -> None:
        """A condition comes to stand or falls."""
        self._stands[edge.limit] = edge.turn is Turn.RAISED
        entries = enumerate(self._plan.automatic)
        fallen = {k for k, entry in entries if not self._are_standing(entry)}
        self._overruled -= fallen

    def _are_standing(self, entry: AutomaticEntry) -> bool:
        """Whether all conditions of an entry stand."""
        return all(self._stands[i] for i in entry.conditions)

    def _is_entry(self, control: Control) -> bool:
        """Whether a control brings another phase or mode."""
        what = control.what
        if not isinstance(what, Action) or what.verb not in ("enter_phase", "enter_mode"):
            return False
        return not refusal_of(what, self._plan)

    def _by_hand(self, control: Control) -> Move:
        """Go where a person wants."""
        action = control.what
        assert isinstance(action, Action)
        what: Literal["phase", "mode"] = "phase"
        if action.verb == "enter_phase":
            self.place = Place(action.subject, self.place.mode)
            entries = enumerate(self._plan.automatic)
            self._overruled |= {k for k, entry in entries if self._are_standing(entry)}
        else:
            what = "mode"
            self.place = Place(self.place.phase, action.subject)
        moved = Moved(control.t_ns, what, self.place, action.by, action.reason)
        return Move(moved, control.seq)

    def _by_conditions(self, t_ns: int) -> list[Move]:
        """Enter what the conditions bring at the end of an instant."""
        moves: list[Move] = []
        tried: set[str] = set()
        while (entry := self._due(tried)) is not None:
            tried.add(entry.phase)
            self.place = Place(entry.phase, self.place.mode)
            reason = ", ".join(self._plan.conditions[i].id for i in entry.conditions)
            moves.append(Move(Moved(t_ns, "phase", self.place, BY_CONDITIONS, reason)))
        return moves

    def _due(self, tried: set[str]) -> AutomaticEntry | None:
        """Give the first phase, in the plan's order, that is to be entered by itself now."""
        for number, entry in enumerate(self._plan.automatic):
            is_next = self.place.phase in entry.after and entry.phase not in tried
            if is_next and number not in self._overruled and self._are_standing(entry):
                return entry
        return None

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart."""
        saved = (self.place.phase, self.place.mode, self._stands, sorted(self._overruled))
        text = msgspec.msgpack.encode(saved)
        return {
            "phases": np.frombuffer(text, dtype=np.uint8),
            **{f"condition.{name}": array for name, array in self._limits.state().items()},
        }

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        phase, mode, self._stands, self._overruled = msgspec.msgpack.decode(
            state["phases"].tobytes(), type=tuple[str, str, list[bool], set[int]]
        )
        self.place = Place(phase, mode)
        names = self._limits.state()
        self._limits.load_state({name: state[f"condition.{name}"] for name in names})
