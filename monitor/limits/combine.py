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
from monitor.limits.plan import Limit, Place
from monitor.samples import FIRST_BAD, FIRST_UNCERTAIN, Bytes, Floats, Ints, Quality

_NO_SAMPLE = (nan, int(Quality.GOOD), nan)


class TimedEdit(NamedTuple):
    """An edit of a combination: from when on, which, and what; one that runs keeps its end."""

    t_ns: int
    limit: int
    changes: dict[str, float]


class TimedPlace(NamedTuple):
    """A phase and mode, and from when on."""

    t_ns: int
    place: Place


class _Combination:
    """One of them, with its delays."""

    def __init__(self, limit: Limit, position: int, place: Place, start_ns: int) -> None:
        """Start with none of its inputs standing."""
        #: As planned, as in force at W, and as edited for instants after W too.
        self.planned = self.limit = self.newest = limit
        self.position = position
        self.name_of = {of: name for name, of in limit.inputs}
        self.stands = {name: False for name, _ in limit.inputs}
        #: Quality with which each of those that stand was raised.
        self.quality = {name: int(Quality.GOOD) for name, _ in limit.inputs}
        self.delays = Delays([limit])
        self.place = place
        # At the start itself the run has not begun: nothing may be told of that instant.
        if limit.is_watched(place):
            self.delays.see(0, start_ns + 1, *self._seen())
        else:
            self.delays.leave(0, start_ns, _NO_SAMPLE)

    def step(self, items: Iterable[Edge | TimedEdit | TimedPlace], until_ns: int) -> list[Edge]:
        """Take edges of its inputs, its edits and places, by time; give its own edges."""
        for t_ns, together in groupby(items, key=lambda item: item.t_ns):
            was_watched, has_turned = self.limit.is_watched(self.place), False
            for item in together:
                has_turned |= self._take(item)
            is_watched = self.limit.is_watched(self.place)
            if was_watched and not is_watched:
                self.delays.leave(0, t_ns, _NO_SAMPLE)
            elif is_watched and not was_watched:
                self.delays.watch(0, t_ns, *self._seen())
            elif is_watched and has_turned:
                self.delays.see(0, t_ns, *self._seen())
        self.delays.run_until(until_ns)
        self.delays.touched.clear()
        return [edge._replace(limit=self.position) for edge in self.delays.take_edges()]

    def _take(self, item: Edge | TimedEdit | TimedPlace) -> bool:
        """Let one thing take effect; tell whether something came to stand or fell."""
        if isinstance(item, TimedEdit):
            self.limit = edited(self.limit, item.changes)
            self.delays.change(0, self.limit)
        elif isinstance(item, TimedPlace):
            self.place = item.place
        else:
            name, stands = self.name_of[item.limit], item.turn is Turn.RAISED
            self.stands[name] = stands
            self.quality[name] = item.quality if stands else int(Quality.GOOD)
        return isinstance(item, Edge)

    def _seen(self) -> tuple[int, tuple[float, int, float]]:
        """Judge what stands together, and with what quality."""
        condition = self.limit.condition
        assert condition is not None, "a combination without condition"
        seen = Seen.TRUE if condition.holds(self.stands) else Seen.RETURNED
        worst = max(self.quality.values(), default=0)
        quality = Quality.INPUT_UNCERTAIN if worst >= FIRST_UNCERTAIN else Quality.GOOD
        if worst >= FIRST_BAD:
            quality = Quality.INPUT_BAD
        return seen, (nan, int(quality), nan)

    def load_edited(self, limit: Limit) -> None:
        """Take back the delays that it was edited to."""
        self.limit = self.newest = limit
        self.delays.change(0, limit)


class Combinations:
    """The combinations of a plan, each after those that it looks at.

    All edges of one instant count before what stands together is judged.
    """

    def __init__(
        self, limits: Sequence[Limit], first: int, place: Place, start_ns: int
    ) -> None:
        """Start with nothing standing.

        Args:
            limits: All limits of the plan.
            first: Position of the first combination; all behind it are combinations.
            place: The phase and mode at first.
            start_ns: From when on they are judged.
        """
        rows = enumerate(limits[first:], start=first)
        self._first = first
        self._rows = [_Combination(limit, i, place, start_ns) for i, limit in rows]
        self._edits: list[TimedEdit] = []

    def edit(self, i: int, changes: dict[str, float], t_ns: int) -> None:
        """Change delays of the combination at position *i* from *t_ns* on, in the next step.

        A delay that runs keeps its end.
        """
        row = self._rows[i - self._first]
        row.newest = edited(row.newest, changes)
        self._edits.append(TimedEdit(t_ns, i, changes))

    def step(
        self, edges: Sequence[Edge], places: Sequence[TimedPlace], until_ns: int
    ) -> list[Edge]:
        """Take the edges of all other limits over (W0, W], and places; give own edges."""
        edits, self._edits = self._edits, []
        known = [edge for edge in edges if edge.turn in (Turn.RAISED, Turn.CLEARED)]
        found: list[Edge] = []
        for row in self._rows:
            mine = [edge for edge in (*known, *found) if edge.limit in row.name_of]
            own = [edit for edit in edits if edit.limit == row.position]
            items: list[Edge | TimedEdit | TimedPlace] = [*own, *places, *mine]
            items.sort(key=lambda item: item.t_ns)
            found += row.step(items, until_ns)
        return sorted(found, key=lambda edge: (edge.t_ns, edge.limit))

    def now(self, i: int) -> LimitNow:
        """Tell what is in force for the combination at position *i*."""
        row = self._rows[i - self._first]
        return LimitNow(
            setpoint=None,
            limit=row.newest,
            is_edited=row.newest != row.planned,
            is_asleep=False,
            is_watched=row.limit.is_watched(row.place),
        )

    def state(self) -> dict[str, Ints | Floats | Bytes]:
        """Give everything that must outlive a restart."""
        saved: dict[str, Ints | Floats | Bytes] = {}
        for number, row in enumerate(self._rows):
            edit = settings_of(row.limit) if row.limit is not row.planned else None
            place = (row.place.phase, row.place.mode)
            text = msgspec.msgpack.encode((row.stands, row.quality, place, edit))
            saved[f"{number}.stands"] = np.frombuffer(text, dtype=np.uint8)
            saved |= {f"{number}.{name}": array for name, array in row.delays.state().items()}
        return saved

    def load_state(self, state: dict[str, Ints | Floats | Bytes]) -> None:
        """Take back what :meth:`state` gave."""
        for number, row in enumerate(self._rows):
            names = row.delays.state()
            row.delays.load_state({name: state[f"{number}.{name}"] for name in names})
            row.stands, row.quality, place, edit = msgspec.msgpack.decode(
                state[f"{number}.stands"].tobytes(),
                type=tuple[dict[str, bool], dict[str, int], tuple[str, str], Settings | None],
            )
            row.place = Place(*place)
            if edit is not None:
                row.load_edited(with_settings(row.limit, edit))
