"""Limits that are true while others stand together: edges in, edges out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from math import nan

import msgspec
import numpy as np

from monitor.limits.compare import Seen
from monitor.limits.delays import Delays
from monitor.limits.edges import Edge, Turn
from monitor.limits.edits import LimitNow, Settings, edited, settings_of, with_settings
from monitor.limits.plan import Limit
from monitor.samples import Bytes, Floats, Ints, Quality

_NO_SAMPLE = (nan, int(Quality.GOOD), nan)


class _Combination:
    """One of them, with its delays."""

    def __init__(self, limit: Limit, position: int, start_ns: int) -> None:
        """Start with none of its inputs standing."""
        self.planned = self.limit = limit
        self.position = position
        self.name_of = {of: name for name, of in limit.inputs}
        self.stands = {name: False for name, _ in limit.inputs}
        self.delays = Delays([limit])
        self._see(start_ns)

    def step(self, edges: Iterable[Edge], until_ns: int) -> list[Edge]:
        """Take the edges of its inputs, in time order; give its own up to W."""
        for t_ns, together in groupby(edges, key=lambda edge: edge.t_ns):
            for edge in together:
                self.stands[self.name_of[edge.limit]] = edge.turn is Turn.RAISED
            self._see(t_ns)
        self.delays.run_until(until_ns)
        self.delays.touched.clear()
        return [edge._replace(limit=self.position) for edge in self.delays.take_edges()]

    def _see(self, t_ns: int) -> None:
        """Judge what stands together at an instant."""
        condition = self.limit.condition
        assert condition is not None, "a combination without condition"
        seen = Seen.TRUE if condition.holds(self.stands) else Seen.RETURNED
        self.delays.see(0, t_ns, seen, _NO_SAMPLE)

    def edit(self, limit: Limit) -> None:
        """Take other delays."""
        self.limit = limit
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

    def step(self, edges: Sequence[Edge], until_ns: int) -> list[Edge]:
        """Take the edges of all other limits over (W0, W]; give those of combinations."""
        known = [edge for edge in edges if edge.turn in (Turn.RAISED, Turn.CLEARED)]
        found: list[Edge] = []
        for row in self._rows:
            mine = [edge for edge in (*known, *found) if edge.limit in row.name_of]
            mine.sort(key=lambda edge: edge.t_ns)
            found += row.step(mine, until_ns)
        return sorted(found, key=lambda edge: (edge.t_ns, edge.limit))

    def edit(self, i: int, changes: dict[str, float]) -> None:
        """Change the delays of the combination at position *i*; one that runs keeps its end."""
        row = self._rows[i - self._first]
        row.edit(edited(row.limit, changes))

    def now(self, i: int) -> LimitNow:
        """Tell what is in force for the combination at position *i*."""
        row = self._rows[i - self._first]
        return LimitNow(
            setpoint=None,
            limit=row.limit,
            is_edited=row.limit is not row.planned,
            is_asleep=False,
            is_watched=True,
        )

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart."""
        saved: dict[str, Ints | Floats | Bytes] = {}
        for number, row in enumerate(self._rows):
            edit = settings_of(row.limit) if row.limit is not row.planned else None
            text = msgspec.msgpack.encode((row.stands, edit))
            saved[f"{number}.stands"] = np.frombuffer(text, dtype=np.uint8)
            saved |= {f"{number}.{name}": array for name, array in row.delays.state().items()}
        return saved

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        for number, row in enumerate(self._rows):
            names = row.delays.state()
            row.delays.load_state({name: state[f"{number}.{name}"] for name in names})
            row.stands, edit = msgspec.msgpack.decode(
                state[f"{number}.stands"].tobytes(),
                type=tuple[dict[str, bool], Settings | None],
            )
            if edit is not None:
                row.edit(with_settings(row.limit, edit))
