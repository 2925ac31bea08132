"""Raw numbers to values in the channels' units, all channels of one kind at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from monitor.channels.align import Aligned, aligned
from monitor.channels.draft import Draft
from monitor.channels.forcing import Forcing
from monitor.channels.judge import Judge
from monitor.channels.plan import (
    ChannelsPlan,
    CurrentLoop,
    Linear,
    Measured,
    PlatinumRtd,
    Polynomial,
    ThermocoupleK,
)
from monitor.physics.current_loop import LIVE_ZERO_MA, SPAN_MA
from monitor.physics.rtd import degc_from_platinum_ohm
from monitor.physics.thermocouple import degc_from_mv, mv_from_degc
from monitor.samples import FIRST_BAD, FIRST_UNCERTAIN, Bytes, Floats, Ints, Quality


class Converter:
    """Fills the measured columns from their raw numbers, with value and quality.

    Linear channels and current loops, which most are, go in one sweep over all columns;
    what that gives for the others is overwritten.
    """

    def __init__(self, plan: ChannelsPlan) -> None:
        """Group the channels by kind.

        Raises:
            ValueError: A cold junction's channel needs one itself.
        """
        measured = plan.measured
        sweep = [_straight(channel) for channel in measured]
        self._start: Floats = np.array([row[0] for row in sweep], dtype=np.float64)
        self._gain: Floats = np.array([row[1] for row in sweep], dtype=np.float64)
        self._offset: Floats = np.array([row[2] for row in sweep], dtype=np.float64)
        self._curves = _curves(measured)
        self._judge = Judge(measured)
        self._cold_junctions = _cold_junctions(plan)

    def run(self, draft: Draft, forcing: Forcing) -> None:
        """Fill the measured columns; what is forced counts for cold junctions, too."""
        width = self._gain.size
        worked = draft.raw - self._start
        worked *= self._gain
        np.add(worked, self._offset, out=draft.grid.value[:, :width])
        for columns, curve in self._curves:
            draft.grid.value[:, columns] = curve(draft.raw[:, columns])
        self._judge.judge_all(draft)
        draft.hold(draft.idle(0, width))
        forcing.apply(draft)
        for junction in self._cold_junctions:
            self._run_compensated(draft, junction)
        if self._cold_junctions:
            forcing.apply(draft)

    def _run_compensated(self, draft: Draft, junction: _ColdJunction) -> None:
        """Fill the thermocouples whose cold junction is the channel of *junction*."""
        grid = draft.grid
        chosen = np.flatnonzero(grid.count[junction.columns] > 0)
        same_rows = draft.same_rows[junction.columns[chosen]]
        for number in np.unique(same_rows).tolist():
            which = chosen[same_rows == number]
            columns = junction.columns[which]
            at = aligned(draft, junction.source, int(columns[0]))
            cold_mv = mv_from_degc(at.value)[:, None]
            grid.value[:, columns] = degc_from_mv(draft.raw[:, columns] + cold_mv)
            quality = _compensated_quality(at, junction.largest_skew_ns[which])
            before = grid.quality[:, columns]
            grid.quality[:, columns] = np.where(
                before >= FIRST_BAD, before, np.maximum(before, quality)
            )
            self._judge.judge(draft, columns)


@dataclass(frozen=True, slots=True)
class _ColdJunction:
    """A channel that gives the cold junction's temperature, and who uses it."""

    source: int
    columns: Ints
    largest_skew_ns: Ints


Curve = Callable[[Floats], Floats]


def _straight(channel: Measured) -> tuple[float, float, float]:
    """Give start, gain and offset of ``(raw - start) * gain + offset``.

    Offsets get 0.0 added: it makes 0.0 of -0.0, here and thereby in what is computed.
    """
    conversion = channel.conversion
    if isinstance(conversion, Linear):
        return 0.0, conversion.gain, conversion.offset + 0.0
    if isinstance(conversion, CurrentLoop):
        span = conversion.at_20ma - conversion.at_4ma
        return LIVE_ZERO_MA, span / SPAN_MA, conversion.at_4ma + 0.0
    return 0.0, 1.0, 0.0


def _curves(measured: Sequence[Measured]) -> list[tuple[Ints, Curve]]:
    """Give (columns, function) for each kind that is no straight line."""
    kinds = [(column, channel.conversion) for column, channel in enumerate(measured)]
    lists = {i: kind.coefficients for i, kind in kinds if isinstance(kind, Polynomial)}
    r0_ohm = {i: kind.r0_ohm for i, kind in kinds if isinstance(kind, PlatinumRtd)}
    cold_degc = {
        i: kind.cold_junction_degc
        for i, kind in kinds
        if isinstance(kind, ThermocoupleK) and not kind.cold_junction_tag
    }
    found: list[tuple[Ints, Curve]] = []
    if lists:
        curve = partial(_polynomial, coefficients=_table(list(lists.values())))
        found.append((np.array(list(lists)), curve))
    if r0_ohm:
        rtd = partial(degc_from_platinum_ohm, r0_ohm=np.array(list(r0_ohm.values())))
        found.append((np.array(list(r0_ohm)), rtd))
    if cold_degc:
        cold_mv = mv_from_degc(np.array(list(cold_degc.values())))
        found.append((np.array(list(cold_degc)), partial(_type_k, cold_mv=cold_mv)))
    return found


def _table(lists: Sequence[Sequence[float]]) -> Floats:
    """Lay coefficients out as (powers, channels), highest power first, 0 where there is none.

    Raises:
        ValueError: A channel has no coefficient at all.
    """
    if not all(lists):
        raise ValueError("a polynomial needs at least one coefficient")
    table = np.zeros((max(len(row) for row in lists), len(lists)))
    for column, row in enumerate(lists):
        table[table.shape[0] - len(row) :, column] = row[::-1]
    return table


def _polynomial(raw: Floats, coefficients: Floats) -> Floats:
    """Evaluate by Horner's rule."""
    value = np.broadcast_to(coefficients[0], raw.shape)
    for row in coefficients[1:]:
        value = value * raw + row
    return value + 0.0


def _type_k(raw_mv: Floats, cold_mv: Floats) -> Floats:
    """Convert thermocouples whose cold junctions have a fixed temperature."""
    return degc_from_mv(raw_mv + cold_mv)


def _cold_junctions(plan: ChannelsPlan) -> list[_ColdJunction]:
    """Group the thermocouples that need a channel by that channel."""
    groups: dict[str, list[tuple[int, int]]] = {}
    for column, channel in enumerate(plan.measured):
        kind = channel.conversion
        if isinstance(kind, ThermocoupleK) and kind.cold_junction_tag:
            groups.setdefault(kind.cold_junction_tag, []).append((column, kind.largest_skew_ns))
    needing = {column for users in groups.values() for column, _ in users}
    junctions = []
    for tag, users in groups.items():
        source = plan.column[tag]
        if source >= len(plan.measured) or source in needing:
            raise ValueError(f"{tag}: a cold junction is a measured channel that needs none")
        columns = np.array([column for column, _ in users], dtype=np.int64)
        skews_ns = np.array([skew_ns for _, skew_ns in users], dtype=np.int64)
        junctions.append(_ColdJunction(source, columns, skews_ns))
    return junctions


def _compensated_quality(at: Aligned, largest_skew_ns: Ints) -> Bytes:
    """Give what the cold junction means for the quality of (rows, thermocouples)."""
    shape = (at.quality.size, largest_skew_ns.size)
    quality = np.zeros(shape, dtype=np.uint8)
    quality[at.quality >= FIRST_UNCERTAIN] = Quality.INPUT_UNCERTAIN
    if at.age_ns is not None:
        quality[at.age_ns[:, None] > largest_skew_ns] = Quality.SKEWED
    quality[at.quality >= FIRST_BAD] = Quality.INPUT_BAD
    return quality
