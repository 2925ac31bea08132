"""The channel stage: from blocks and controls to a grid of every column over one step."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from monitor.channels.convert import Converter, thermocouples
from monitor.channels.filters import Lags, Medians
from monitor.channels.hold import Input, Rows, input_at, joined_quality
from monitor.channels.ingest import Ingest, RawGrid
from monitor.channels.plan import ChannelsPlan, Computed, ThermocoupleK
from monitor.events import Control, HostEvent, LinkChange
from monitor.physics.thermocouple import degc_from_mv, mv_from_degc
from monitor.samples import (
    FIRST_BAD,
    Admitted,
    Bytes,
    Flags,
    Floats,
    Grid,
    Ints,
    Quality,
)

_HOST_WRITES = {"recording_stopped": 1.0, "recording_resumed": 0.0}


class Channels:
    """Every column of the plan, step by step.

    How the input is cut into steps does not change a bit of the rows.

    Attributes:
        last_t_ns: (columns,) time of the newest sample.
        last_value: (columns,) its value, NaN where bad.
        last_quality: (columns,) its quality.
    """

    def __init__(self, plan: ChannelsPlan, start_ns: int) -> None:
        """Start without a sample; system columns start at a good 0."""
        self._plan = plan
        width, first = len(plan.column), len(plan.measured)
        self._ingest = Ingest(plan.measured, start_ns)
        self._converter = Converter(plan.measured)
        self._thermocouples = thermocouples(plan.measured)
        self._computed = [_Joined(one, plan) for one in plan.computed]
        self._filters = _Filters(plan)
        self.last_t_ns: Ints = np.full(width, start_ns, dtype=np.int64)
        self.last_value: Floats = np.full(width, np.nan)
        self.last_quality: Bytes = np.full(width, Quality.WAITING, dtype=np.uint8)
        system = slice(first, first + len(plan.system))
        self.last_value[system], self.last_quality[system] = 0.0, Quality.GOOD

    @property
    def counts(self) -> dict[str, int]:
        """Rows that were not used, by reason in plain words."""
        return self._ingest.counts

    def step(
        self, admitted: Sequence[Admitted], controls: Sequence[Control], until_ns: int
    ) -> Grid:
        """Give every column over (W0, W]; *controls* are those that fall into it."""
        raw = self._ingest.step(admitted, controls, until_ns)
        system = self._system_rows(controls)
        grid = self._empty_grid(raw, system)
        self._convert(raw, grid)
        for column, written in system.items():
            for k, (t_ns, value) in enumerate(written.items()):
                grid.t_ns[k, column], grid.value[k, column] = t_ns, value
        rows = self._rows(grid, raw)
        for joined in self._computed:
            joined.compute(rows)
        self._filters.filter(grid)
        self._pad(grid)
        return grid

    def _rows(self, grid: Grid, raw: RawGrid) -> Rows:
        """Give what computed columns need."""
        group = raw.group.tolist()
        group += [-1] * (len(self._plan.column) - len(group))
        is_good = (grid.quality.max(axis=0, initial=0) == Quality.GOOD).tolist()
        held = (self.last_t_ns, self.last_value, self.last_quality)
        return Rows(grid, *held, group, is_good)

    def _system_rows(self, controls: Sequence[Control]) -> dict[int, dict[int, float]]:
        """Give what controls write, column -> time -> value; the last of one instant counts."""
        rows: dict[int, dict[int, float]] = {}
        for control in controls:
            what = control.what
            if isinstance(what, LinkChange):
                tag, value = f"link:{what.instrument}", 0.0 if what.is_up else 1.0
            elif isinstance(what, HostEvent) and what.what in _HOST_WRITES:
                tag, value = "host:recording", _HOST_WRITES[what.what]
            else:
                continue
            column = self._plan.column.get(tag)
            if column is not None:
                rows.setdefault(column, {})[control.t_ns] = value
        return rows

    def _empty_grid(self, raw: RawGrid, system: dict[int, dict[int, float]]) -> Grid:
        """Make room for every column; measured times and counts are known already."""
        width, measured = len(self._plan.column), len(self._plan.measured)
        most = max((len(rows) for rows in system.values()), default=0)
        height = max(raw.t_ns.shape[0], most)
        grid = Grid(
            np.zeros((height, width), dtype=np.int64),
            np.zeros((height, width), dtype=np.float64),
            np.zeros((height, width), dtype=np.uint8),
            np.zeros(width, dtype=np.int64),
        )
        grid.t_ns[: raw.t_ns.shape[0], :measured] = raw.t_ns
        grid.count[:measured] = raw.count
        for column, rows in system.items():
            grid.count[column] = len(rows)
        return grid

    def _convert(self, raw: RawGrid, grid: Grid) -> None:
        """Fill the measured columns: values in their units, with their quality."""
        height, measured = raw.raw.shape
        if not height:
            return
        value = grid.value[:height, :measured]
        quality = self._converter.convert(raw.raw, value)
        np.maximum(quality, raw.quality, out=quality)
        self._converter.finish(value, quality)
        grid.quality[:height, :measured] = quality
        for column, conversion in self._thermocouples:
            self._join_cold_junction(grid, raw, column, conversion)

    def _join_cold_junction(
        self, grid: Grid, raw: RawGrid, column: int, conversion: ThermocoupleK
    ) -> None:
        """Convert a thermocouple with the cold junction's temperature at each of its rows."""
        n = int(grid.count[column])
        if not n:
            return
        t_ns, mv = grid.t_ns[:n, column], raw.raw[:n, column]
        own: Bytes = raw.quality[:n, column].copy()
        if conversion.cold_junction_tag:
            junction = self._plan.column[conversion.cold_junction_tag]
            one = input_at(self._rows(grid, raw), junction, column)
            own = np.maximum(own, joined_quality(t_ns, [one], conversion.largest_skew_ns))
            cold = one.value
        else:
            cold = np.full(n, conversion.cold_junction_degc)
        value = degc_from_mv(mv + mv_from_degc(cold))
        self._finish_one(grid, column, value, own)

    def _finish_one(self, grid: Grid, column: int, value: Floats, quality: Bytes) -> None:
        """Judge one column that was converted by itself."""
        one = self._plan.measured[column]
        with np.errstate(invalid="ignore"):
            is_out = ~((value >= one.low) & (value <= one.high))
        quality[is_out & (quality < FIRST_BAD)] = Quality.OUT_OF_RANGE
        if one.is_calibration_overdue:
            quality[quality == Quality.GOOD] = Quality.CALIBRATION_OVERDUE
        grid.value[: len(value), column] = np.where(quality >= FIRST_BAD, np.nan, value)
        grid.quality[: len(value), column] = quality

    def _pad(self, grid: Grid) -> None:
        """Repeat the last row of each column below it, and remember it."""
        height = grid.t_ns.shape[0]
        if not height:
            return
        short = np.flatnonzero(grid.count < height)
        if short.size:
            self._pad_columns(grid, short, height)
        self.last_t_ns = grid.t_ns[-1].copy()
        self.last_value = grid.value[-1].copy()
        self.last_quality = grid.quality[-1].copy()

    def _pad_columns(self, grid: Grid, short: Ints, height: int) -> None:
        """Pad the columns *short*; what got no row is padded with its held sample."""
        count = grid.count[short]
        last = np.maximum(count - 1, 0)
        has_rows: Flags = count > 0
        beyond = np.arange(height)[:, None] >= count[None, :]
        for rows, held in (
            (grid.t_ns, self.last_t_ns),
            (grid.value, self.last_value),
            (grid.quality, self.last_quality),
        ):
            pad = np.where(has_rows, rows[last, short], held[short])
            rows[:, short] = np.where(beyond, pad[None, :], rows[:, short])

    # Checkpoints.

    def state(self) -> dict[str, NDArray[Any]]:
        """Give everything that must outlive a restart."""
        waiting = np.frombuffer(self._ingest.waiting_bytes(), dtype=np.uint8)
        state: dict[str, NDArray[Any]] = {
            "last_t_ns": self.last_t_ns,
            "last_value": self.last_value,
            "last_quality": self.last_quality,
            "last_arrival_ns": self._ingest.last_arrival_ns,
            "until_ns": np.array([self._ingest.until_ns], dtype=np.int64),
            "waiting": waiting,
        }
        return state | self._filters.state()

    def load_state(self, state: dict[str, NDArray[Any]]) -> None:
        """Take back what :meth:`state` gave."""
        self.last_t_ns = state["last_t_ns"]
        self.last_value = state["last_value"]
        self.last_quality = state["last_quality"]
        self._ingest.load(
            int(state["until_ns"][0]), state["last_arrival_ns"], state["waiting"].tobytes()
        )
        self._filters.load_state(state)


class _Joined:
    """One computed channel."""

    def __init__(self, plan: Computed, channels: ChannelsPlan) -> None:
        """Find the columns."""
        self._formula = plan.formula
        self._column = channels.column[plan.tag]
        self._clock = channels.column[plan.clock]
        self._inputs = [(name, channels.column[tag]) for name, tag in plan.inputs]
        self._largest_skew_ns = plan.largest_skew_ns

    def compute(self, rows: Rows) -> None:
        """Fill the column: one row for each row of the clock."""
        grid, column = rows.grid, self._column
        n = int(grid.count[self._clock])
        grid.count[column] = n
        rows.group[column] = rows.group[self._clock]
        if not n:
            return
        t_ns = grid.t_ns[:n, self._clock]
        inputs = {name: input_at(rows, one, self._clock) for name, one in self._inputs}
        value = self._formula.evaluate({name: one.value for name, one in inputs.items()})
        quality = self._quality(t_ns, list(inputs.values()), value)
        grid.t_ns[:n, column] = t_ns
        grid.value[:n, column] = value
        if quality is None:
            return
        rows.is_good[column] = False
        grid.quality[:n, column] = quality
        grid.value[:n, column][quality >= FIRST_BAD] = np.nan

    def _quality(self, t_ns: Ints, inputs: list[Input], value: Floats) -> Bytes | None:
        """Give the quality of each row; None where all are good."""
        is_finite = np.isfinite(value)
        is_plain = all(one.t_ns is None and one.quality is None for one in inputs)
        if is_plain and is_finite.all():
            return None
        quality = joined_quality(t_ns, inputs, self._largest_skew_ns)
        quality[~is_finite & (quality < FIRST_BAD)] = Quality.NOT_FINITE
        return quality


class _Filters:
    """All hidden channels, grouped by kind and width."""

    def __init__(self, plan: ChannelsPlan) -> None:
        """Group the filters."""
        lags = [one for one in plan.filtered if one.lag_ns]
        self._lags = Lags([one.lag_ns for one in lags])
        self._lag_columns = _pairs(plan, [(one.source, one.tag) for one in lags])
        self._medians: list[tuple[Medians, Ints, Ints]] = []
        for width in sorted({one.median_of for one in plan.filtered} - {0}):
            tags = [(one.source, one.tag) for one in plan.filtered if one.median_of == width]
            source, target = _pairs(plan, tags)
            self._medians.append((Medians(width, len(tags)), source, target))

    def filter(self, grid: Grid) -> None:
        """Fill the hidden columns."""
        source, target = self._lag_columns
        if source.size:
            _copy_times(grid, source, target)
            t_ns, value = grid.t_ns[:, source], grid.value[:, source]
            grid.value[:, target] = self._lags.step(t_ns, value, grid.count[source])
        for medians, source, target in self._medians:
            _copy_times(grid, source, target)
            grid.value[:, target] = medians.step(grid.value[:, source], grid.count[source])

    def state(self) -> dict[str, NDArray[Any]]:
        """Give everything that must outlive a restart."""
        state: dict[str, NDArray[Any]] = {
            "lag_last": self._lags.last,
            "lag_last_ns": self._lags.last_ns,
        }
        for i, (medians, _, _) in enumerate(self._medians):
            state[f"median_{i}"] = medians.window
        return state

    def load_state(self, state: dict[str, NDArray[Any]]) -> None:
        """Take back what :meth:`state` gave."""
        self._lags.last, self._lags.last_ns = state["lag_last"], state["lag_last_ns"]
        for i, (medians, _, _) in enumerate(self._medians):
            medians.window = state[f"median_{i}"]


def _pairs(plan: ChannelsPlan, tags: Sequence[tuple[str, str]]) -> tuple[Ints, Ints]:
    """Give the columns of (source, target) tags."""
    source = np.array([plan.column[a] for a, _ in tags], dtype=np.int64)
    target = np.array([plan.column[b] for _, b in tags], dtype=np.int64)
    return source, target


def _copy_times(grid: Grid, source: Ints, target: Ints) -> None:
    """Give hidden columns the times, qualities and counts of what they filter."""
    grid.t_ns[:, target] = grid.t_ns[:, source]
    grid.quality[:, target] = grid.quality[:, source]
    grid.count[target] = grid.count[source]
