"""Limits that are true while others stand together: edges in, edges out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from math import nan
from typing import NamedTuple

import msgspec
import numpy as np

from monitor.limits.compare import Seen
from monitor.limits.delays import Delays
from monitor.limits.edges import Edge, Turn
from monitor.limits.edits import LimitNow, Settings, edited, settings_of, with_settings
from monitor.limits.plan import Limit
from monitor.samples import FIRST_BAD, FIRST_UNCERTAIN, Bytes, Floats, Ints, Quality


class TimedEdit(NamedTuple):
    """An edit of a combination: from when on, which, and what; one that runs keeps its end."""

    t_ns: int
    limit: int
    changes: dict[str, float]


class _Combination:
    """One of them, with its delays."""

    def __init__(self, limit: Limit, position: int, start_ns: int) -> None:
        """Start with none of its inputs standing."""
        #: As planned, as in force at W, and as edited for instants after W too.
        self.planned = self.limit = self.newest = limit
        self.position = position
        self.name_of = {of: name for name, of in limit.inputs}
        self.stands = {name: False for name, _ in limit.inputs}
        #: Quality with which each of those that stand was raised.
        self.quality = {name: int(Quality.GOOD) for name, _ in limit.inputs}
        self.delays = Delays([limit])
        # At the start itself the run has not begun: nothing may be told of that instant.
        self._see(start_ns + 1)

    def step(
        self, edges: Iterable[Edge], edits: Iterable[TimedEdit], until_ns: int
    ) -> list[Edge]:
        """Take the edges of its inputs and its edits; give its own edges up to W."""
        # A stable sort: edits of one instant come before its edges.
        items: list[Edge | TimedEdit] = [*edits, *edges]
        items.sort(key=lambda item: item.t_ns)
        for t_ns, together in groupby(items, key=lambda item: item.t_ns):
            has_turned = False
            for item in together:
                if isinstance(item, TimedEdit):
                    self.limit = edited(self.limit, item.changes)
                    self.delays.change(0, self.limit)
                else:
                    self._turn(self.name_of[item.limit], item)
                    has_turned = True
            if has_turned:
                self._see(t_ns)
        self.delays.run_until(until_ns)
        self.delays.touched.clear()
        return [edge._replace(limit=self.position) for edge in self.delays.take_edges()]

    def _turn(self, name: str, edge: Edge) -> None:
        """One of its inputs came to stand or fell."""
        self.stands[name] = edge.turn is Turn.RAISED
        self.quality[name] = edge.quality if self.stands[name] else int(Quality.GOOD)

    def _see(self, t_ns: int) -> None:
        """Judge what stands together at an instant."""
        condition = self.limit.condition
        assert condition is not None, "a combination without condition"
        seen = Seen.TRUE if condition.holds(self.stands) else Seen.RETURNED
        worst = max(self.quality.values(), default=0)
        quality = Quality.INPUT_UNCERTAIN if worst >= FIRST_UNCERTAIN else Quality.GOOD
        if worst >= FIRST_BAD:
            quality = Quality.INPUT_BAD
        self.delays.see(0, t_ns, seen, (nan, int(quality), nan))

    def load_edited(self, limit: Limit) -> None:
        """Take back the delays that it was edited to."""
        self.limit = self.newest = limit
        self.delays.change(0, limit)


class Combinations:
    """The combinations of a plan, each after those that it looks at.

    All edges of one instant count before what stands together is judged.
    """

    def __init__(self, limits: Sequence[Limit], first: int, start_ns: int) -> None:
        """Start with nothing standing.

        Args:
            limits: All limits of the plan.
            first: Position of the first combination; all behind it are combinations.
            start_ns: From when on they are judged.
        """
        rows = enumerate(limits[first:], start=first)
        self._first = first
        self._rows = [_Combination(limit, i, start_ns) for i, limit in rows]
        self._edits: list[TimedEdit] = []

    def edit(self, i: int, changes: dict[str, float], t_ns: int) -> None:
        """Change delays of the combination at position *i* from *t_ns* on, in the next step.

        A delay that runs keeps its end.
        """
        row = self._rows[i - self._first]
        row.newest = edited(row.newest, changes)
        self._edits.append(TimedEdit(t_ns, i, changes))

    def step(self, edges: Sequence[Edge], until_ns: int) -> list[Edge]:
        """Take the edges of all other limits over (W0, W]; give own edges."""
        edits, self._edits = self._edits, []
        known = [edge for edge in edges if edge.turn in (Turn.RAISED, Turn.CLEARED)]
        found: list[Edge] = []
        for row in self._rows:
            mine = [edge for edge in (*known, *found) if edge.limit in row.name_of]
            own = [edit for edit in edits if edit.limit == row.position]
            found += row.step(mine, own, until_ns)
        return sorted(found, key=lambda edge: (edge.t_ns, edge.limit))

    def now(self, i: int) -> LimitNow:
        """Tell what is in force for the combination at position *i*."""
        row = self._rows[i - self._first]
        return LimitNow(
            setpoint=None,
            limit=row.newest,
            is_edited=row.newest is not row.planned,
            is_asleep=False,
            is_watched=True,
        )

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart."""
        saved: dict[str, Ints | Floats | Bytes] = {}
        for number, row in enumerate(self._rows):
            edit = settings_of(row.limit) if row.limit is not row.planned else None
            text = msgspec.msgpack.encode((row.stands, row.quality, edit))
            saved[f"{number}.stands"] = np.frombuffer(text, dtype=np.uint8)
            saved |= {f"{number}.{name}": array for name, array in row.delays.state().items()}
        return saved

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        for number, row in enumerate(self._rows):
            names = row.delays.state()
            row.delays.load_state({name: state[f"{number}.{name}"] for name in names})
            row.stands, row.quality, edit = msgspec.msgpack.decode(
                state[f"{number}.stands"].tobytes(),
                type=tuple[dict[str, bool], dict[str, int], Settings | None],
            )
            if edit is not None:
                row.load_edited(with_settings(row.limit, edit))
