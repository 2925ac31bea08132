"""The channel stage: blocks of raw readings and controls in, every column of the grid out.

What comes out is the same however the input is cut into steps, and in whatever order the
instruments are handed over. At one instant controls come first, then readings, then what is
computed from them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.channels.compute import Computer
from monitor.channels.convert import Converter
from monitor.channels.derived import DerivedChannels
from monitor.channels.draft import Held, Since, held_at_start
from monitor.channels.filters import Filters
from monitor.channels.forcing import ForcedChannels
from monitor.channels.ingest import Ingest
from monitor.channels.plan import ChannelsPlan
from monitor.channels.system import SystemChannels
from monitor.errors import MonitorError
from monitor.events import Control
from monitor.samples import Admitted, Bytes, Floats, Grid, Ints

#: Parts of the state whose length is not that of the stand.
_GROWING = ("waiting", "forced", "forced_value")


class Channels:
    """All channels of a stand, with their state in arrays across channels.

    Attributes:
        until_ns: W so far.
    """

    def __init__(self, plan: ChannelsPlan, start_ns: int) -> None:
        """Start with W at *start_ns*: no value has come, and no link is known to be down."""
        self.until_ns = start_ns
        self._held = held_at_start(plan, start_ns)
        self._ingest = Ingest(plan, start_ns)
        self._system = SystemChannels(plan)
        self._forced = ForcedChannels(plan)
        self._converter = Converter(plan)
        self._computer = Computer(plan)
        self._filters = Filters(plan)
        self._derived = DerivedChannels(plan, start_ns)

    @property
    def last_t_ns(self) -> Ints:
        """(channels,) time of each column's newest sample; the start where none has come."""
        return self._held.t_ns

    @property
    def last_value(self) -> Floats:
        """(channels,) value of each column's newest sample; NaN where bad."""
        return self._held.value

    @property
    def last_quality(self) -> Bytes:
        """(channels,) quality of each column's newest sample."""
        return self._held.quality

    @property
    def counts(self) -> dict[str, int]:
        """Rows that were not evaluated, by reason in plain words; and those that wait."""
        intake = self._ingest.intake
        return {
            "late rows": intake.late_rows,
            "rows with a time that was there already": self._ingest.duplicate_rows,
            "rows that no channel uses": intake.unknown_rows,
            "rows dropped while waiting": intake.overflow_rows,
            "rows waiting": intake.waiting_rows,
        }

    def step(
        self, admitted: Sequence[Admitted], controls: Sequence[Control], until_ns: int
    ) -> Grid:
        """Take what has come; give every column over (W0, W].

        Args:
            admitted: Blocks in the order of arrival; rows after W wait for a later step.
            controls: Those with W0 < t_ns <= W, in any order; what cannot be forced is not
                among them.
            until_ns: W, not before W0.

        Returns:
            All columns, with at least one row, which shows held samples where nothing came.
            Columns less a profile show held samples until :meth:`finish`, which must follow.

        Raises:
            ValueError: W turns back, or a control lies outside (W0, W].
        """
        self._check(controls, until_ns)
        span_ns = (self.until_ns, until_ns)
        lanes = self._ingest.intake.take(admitted, until_ns)
        # Numbers without a result are graded, not warned of.
        with np.errstate(all="ignore"):
            forcing = self._forced.step(controls, until_ns)
            moments = self._system.moments(controls, forcing)
            draft = self._ingest.step(lanes, moments, self._held, span_ns)
            self._converter.run(draft, forcing)
            draft = self._computer.run(draft)
            self._filters.run(draft)
            self._derived.run(draft)
        self._held = draft.newest()
        self.until_ns = until_ns
        return draft.grid

    def finish(self, grid: Grid, since: Sequence[Since]) -> None:
        """Fill the columns less a profile, now that the phases of the step are known.

        Args:
            grid: What :meth:`step` gave.
            since: The phases that began in the step, in their order.
        """
        with np.errstate(all="ignore"):
            self._derived.finish(grid, since, self._held)

    def _check(self, controls: Sequence[Control], until_ns: int) -> None:
        """Refuse what would turn time back."""
        if until_ns < self.until_ns:
            raise ValueError(f"W turns back from {self.until_ns} to {until_ns}")
        for control in controls:
            if not self.until_ns < control.t_ns <= until_ns:
                raise ValueError(
                    f"control at {control.t_ns}, outside ({self.until_ns}, {until_ns}]"
                )

    def state(self) -> dict[str, NDArray[Any]]:
        """Give everything that must outlive a restart, as arrays by name."""
        intake = self._ingest.intake
        numbers = [
            self.until_ns,
            intake.late_rows,
            intake.unknown_rows,
            intake.overflow_rows,
            self._ingest.duplicate_rows,
        ]
        return {
            "numbers": np.array(numbers, dtype=np.int64),
            "last_t_ns": self._held.t_ns,
            "last_value": self._held.value,
            "last_quality": self._held.quality,
            "arrival_ns": self._ingest.arrival_ns,
            "waiting": np.frombuffer(intake.waiting(), dtype=np.uint8),
            **self._forced.state(),
            **self._filters.state(),
            **self._derived.state(),
        }

    def load_state(self, state: Mapping[str, NDArray[Any]]) -> None:
        """Go on from :meth:`state`; the plan must be the same.

        Raises:
            MonitorError: The state is that of another plan.
        """
        mine = self.state()
        for name, array in mine.items():
            saved = state.get(name)
            is_fixed = name not in _GROWING and "_kept_" not in name
            if saved is None or (is_fixed and saved.shape != array.shape):
                raise MonitorError(
                    f"saved state of the channels: {name!r} does not fit the stand; "
                    "it was saved with another stand file"
                )
        intake = self._ingest.intake
        (
            self.until_ns,
            intake.late_rows,
            intake.unknown_rows,
            intake.overflow_rows,
            self._ingest.duplicate_rows,
        ) = state["numbers"].tolist()
        intake.until_ns = self.until_ns
        intake.load_waiting(state["waiting"].tobytes())
        self._held = Held(state["last_t_ns"], state["last_value"], state["last_quality"])
        self._ingest.arrival_ns = state["arrival_ns"]
        self._forced.load_state(state)
        with np.errstate(all="ignore"):
            self._filters.load_state(state)
            self._derived.load_state(state)
