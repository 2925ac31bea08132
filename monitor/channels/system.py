"""Controls that matter to channels: links that come and go, and whether recording works.

System columns are 1 while something is wrong: ``link:<instrument>`` while its link is down,
``host:recording`` while nothing can be written.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.channels.draft import Draft
from monitor.channels.forcing import NO_FORCING, Forcing
from monitor.channels.plan import ChannelsPlan
from monitor.events import Control, HostEvent, LinkChange
from monitor.samples import Ints, Quality

RECORDING_TAG = "host:recording"

_RECORDING = {"recording_stopped": 1.0, "recording_resumed": 0.0}


class Moments:
    """The system samples of one step.

    Attributes:
        lost: Measured columns of an instrument whose link went down, and when.
        forcing: What hands have forced.
    """

    def __init__(self, forcing: Forcing = NO_FORCING) -> None:
        """Start without any."""
        self.forcing = forcing
        self.lost: list[tuple[Ints, int]] = []
        self._rows: dict[int, dict[int, float]] = {}

    def add(self, column: int, t_ns: int, value: float) -> None:
        """Note a value; of several at one instant the last one counts."""
        self._rows.setdefault(column, {})[t_ns] = value

    def most_rows(self) -> int:
        """Count the rows of the column that has most."""
        return max((len(rows) for rows in self._rows.values()), default=0)

    def write(self, draft: Draft) -> None:
        """Write the samples into their columns, padded."""
        grid = draft.grid
        for column, rows in self._rows.items():
            n = len(rows)
            grid.t_ns[:, column] = max(rows)
            grid.value[:, column] = rows[max(rows)]
            grid.t_ns[:n, column] = list(rows)
            grid.value[:n, column] = list(rows.values())
            grid.quality[:, column] = Quality.GOOD
            grid.count[column] = n


class SystemChannels:
    """Knows which columns a control concerns."""

    def __init__(self, plan: ChannelsPlan) -> None:
        """Find each instrument's measured columns and the system columns."""
        self._column = {system.tag: plan.column[system.tag] for system in plan.system}
        of: dict[str, list[int]] = {}
        for column, channel in enumerate(plan.measured):
            of.setdefault(channel.instrument, []).append(column)
        self._measured = {name: np.array(columns) for name, columns in of.items()}

    def moments(self, controls: Sequence[Control], forcing: Forcing = NO_FORCING) -> Moments:
        """Give what *controls*, in any order, do to channels."""
        moments = Moments(forcing)
        for control in sorted(controls, key=lambda control: (control.t_ns, control.seq)):
            if isinstance(control.what, LinkChange):
                self._change_link(control.t_ns, control.what, moments)
            elif isinstance(control.what, HostEvent) and control.what.what in _RECORDING:
                column = self._column.get(RECORDING_TAG)
                if column is not None:
                    moments.add(column, control.t_ns, _RECORDING[control.what.what])
        return moments

    def _change_link(self, t_ns: int, change: LinkChange, moments: Moments) -> None:
        """Note a link that came or went."""
        column = self._column.get(f"link:{change.instrument}")
        if column is not None:
            moments.add(column, t_ns, 0.0 if change.is_up else 1.0)
        measured = self._measured.get(change.instrument)
        if measured is not None and not change.is_up:
            moments.lost.append((measured, t_ns))
