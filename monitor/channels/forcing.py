"""Values that a hand sets in place of what a sensor sends: uncertain, and for a time only."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from monitor.channels.draft import Draft
from monitor.channels.plan import ChannelsPlan
from monitor.events import Action, Control
from monitor.samples import Floats, Ints, Quality

_NS_PER_S = 1e9


@dataclass(frozen=True, slots=True)
class Window:
    """A column whose rows from *since_ns* on and before *until_ns* show *value*."""

    column: int
    since_ns: int
    until_ns: int
    value: float


@dataclass(frozen=True, slots=True)
class Forcing:
    """What is forced in a step.

    Attributes:
        windows: Those that reach into it.
        begins: (column, time in ns) at which one begins: a row is needed there.
        ends: Likewise where one ends and none follows.
    """

    windows: tuple[Window, ...]
    begins: tuple[tuple[int, int], ...]
    ends: tuple[tuple[int, int], ...]

    def apply(self, draft: Draft) -> None:
        """Put forced values in place of what was measured."""
        grid = draft.grid
        for window in self.windows:
            t_ns = grid.t_ns[:, window.column]
            is_inside = (t_ns >= window.since_ns) & (t_ns < window.until_ns)
            grid.value[is_inside, window.column] = window.value
            grid.quality[is_inside, window.column] = Quality.FORCED


class _Found(NamedTuple):
    """What a :class:`Forcing` is made of."""

    windows: list[Window]
    begins: list[tuple[int, int]]
    ends: list[tuple[int, int]]


NO_FORCING = Forcing((), (), ())


class ForcedChannels:
    """Knows which measured columns are forced at W."""

    def __init__(self, plan: ChannelsPlan) -> None:
        """Start with none."""
        self._column = {channel.tag: i for i, channel in enumerate(plan.measured)}
        self._now: dict[int, Window] = {}

    def step(self, controls: Sequence[Control], until_ns: int) -> Forcing:
        """Give what is forced up to W.

        Args:
            controls: Those of the step, in any order; entries on forced values are accepted.
            until_ns: W.
        """
        found = _Found([], [], [])
        for control in sorted(controls, key=lambda control: (control.t_ns, control.seq)):
            action = control.what
            if isinstance(action, Action) and action.verb in ("force", "unforce"):
                self._act(control.t_ns, action, found)
        for column, window in list(self._now.items()):
            if window.until_ns <= until_ns:
                self._end(column, window.until_ns, found, follows=False)
        windows = (*found.windows, *self._now.values())
        return Forcing(windows, tuple(found.begins), tuple(found.ends))

    def _act(self, t_ns: int, action: Action, found: _Found) -> None:
        """Force a column, or let it go."""
        column = self._column[action.subject]
        is_forced = action.verb == "force"
        self._end(column, t_ns, found, follows=is_forced)
        if is_forced:
            until_ns = t_ns + round(action.seconds * _NS_PER_S)
            self._now[column] = Window(column, t_ns, until_ns, action.changes["value"])
            found.begins.append((column, t_ns))

    def _end(self, column: int, t_ns: int, found: _Found, *, follows: bool) -> None:
        """End what is forced at *t_ns*, or before that where its time was over."""
        window = self._now.pop(column, None)
        if window is None:
            return
        at_ns = min(window.until_ns, t_ns)
        found.windows.append(Window(column, window.since_ns, at_ns, window.value))
        if at_ns < t_ns or not follows:
            found.ends.append((column, at_ns))

    def state(self) -> dict[str, Ints | Floats]:
        """Give what must outlive a restart, one row for each forced column."""
        rows = [self._now[column] for column in sorted(self._now)]
        times = [(row.column, row.since_ns, row.until_ns) for row in rows]
        return {
            "forced": np.array(times, dtype=np.int64).reshape(-1, 3),
            "forced_value": np.array([row.value for row in rows], dtype=np.float64),
        }

    def load_state(self, state: Mapping[str, Ints | Floats]) -> None:
        """Go on from :meth:`state`."""
        rows = zip(state["forced"].tolist(), state["forced_value"].tolist(), strict=True)
        found = (Window(row[0], row[1], row[2], value) for row, value in rows)
        self._now = {window.column: window for window in found}
