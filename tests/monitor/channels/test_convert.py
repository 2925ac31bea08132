"""Tests for monitor.channels.convert.

Source: Current-loop scaling 3.8 -> -1.25 %, 4 -> 0 %, 12 -> 50 %, 20 -> 100 %, 20.5 ->
103.125 % by arithmetic; Pt100 138.5055 ohm at 100 degC (IEC 60751, computed with rtd-sensor
0.8.0); type K with the cold junction at 25 degC, 7.138231 mV at 200 degC (ITS-90, computed
with two libraries). The rest hand-worked here.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from monitor.channels.convert import Converter
from monitor.channels.draft import Draft, draft_of, held_at_start
from monitor.channels.forcing import NO_FORCING
from monitor.channels.plan import (
    ChannelsPlan,
    Conversion,
    CurrentLoop,
    Linear,
    Measured,
    PlatinumRtd,
    Polynomial,
    System,
    ThermocoupleK,
)
from monitor.samples import Quality
from tests.monitor.channels.made import NAN, START_NS, S, measured

Q = Quality
WAITING = (None, Q.WAITING)


def draft_for(plan: ChannelsPlan, *columns: Sequence[float]) -> Draft:
    """Give a draft with rows at 1 s, 2 s, ... of all measured columns, each good so far."""
    rows = max(len(column) for column in columns)
    draft = draft_of(held_at_start(plan, START_NS), rows, len(columns))
    draft.grid.quality[:, : len(columns)] = Q.GOOD
    for c, column in enumerate(columns):
        times_s = [*range(1, len(column) + 1), *[len(column)] * (rows - len(column))]
        draft.grid.t_ns[:, c] = START_NS + np.array(times_s) * S
        draft.grid.count[c] = len(column)
        draft.raw[: len(column), c] = column
        if column:
            draft.raw[len(column) :, c] = column[-1]
    return draft


def converted(plan: ChannelsPlan, draft: Draft, tag: str) -> list[tuple[float | None, int]]:
    """Convert; give (value or None, quality) of each row of a column."""
    Converter(plan).run(draft, NO_FORCING)
    c = plan.column[tag]
    value, quality = draft.grid.value[:, c].tolist(), draft.grid.quality[:, c].tolist()
    pairs = zip(value, quality, strict=True)
    return [(None if x != x else x, q) for x, q in pairs]


def one(conversion: Conversion, raw: float) -> float | None:
    """Convert one number."""
    plan = ChannelsPlan((measured("A", "gas.a", conversion),))
    ((value, _),) = converted(plan, draft_for(plan, [raw]), "A")
    return value


@pytest.mark.parametrize(
    ("ma", "percent"),
    [(3.8, -1.25), (4.0, 0.0), (12.0, 50.0), (20.0, 100.0), (20.5, 103.125)],
)
def test_a_loop_current_is_linear_from_4_to_20_ma(ma: float, percent: float) -> None:
    assert one(CurrentLoop(0.0, 100.0), ma) == pytest.approx(percent, abs=1e-12)


def test_a_loop_may_start_anywhere_and_fall() -> None:
    assert one(CurrentLoop(50.0, -50.0), 8.0) == 25.0


def test_at_4_ma_a_loop_gives_its_stated_value_to_the_last_bit() -> None:
    assert one(CurrentLoop(0.1, 0.7), 4.0) == 0.1


def test_a_linear_channel_has_a_gain_and_an_offset() -> None:
    assert one(Linear(2.0, 1.0), 3.0) == 7.0


def test_no_conversion_gives_a_negative_zero() -> None:
    for conversion in (Linear(1.0, -0.0), CurrentLoop(-0.0, 1.0), Polynomial((-0.0, 1.0))):
        raw = 4.0 if isinstance(conversion, CurrentLoop) else -0.0
        assert str(one(conversion, raw)) == "0.0"


def test_polynomials_are_evaluated_lowest_coefficient_first_whatever_their_degree() -> None:
    plan = ChannelsPlan(
        (
            measured("A", "gas.a", Polynomial((1.0, 2.0, 3.0))),
            measured("B", "gas.b", Polynomial((5.0,))),
            measured("C", "gas.c", Polynomial((1.0, -1.0))),
        )
    )
    draft = draft_for(plan, [2.0, -1.0], [2.0, 3.0], [2.0, 0.5])

    Converter(plan).run(draft, NO_FORCING)

    assert draft.grid.value[:, :3].T.tolist() == [[17.0, 2.0], [5.0, 5.0], [-1.0, 0.5]]


def test_a_polynomial_without_coefficients_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one coefficient"):
        Converter(ChannelsPlan((measured("A", "gas.a", Polynomial(())),)))


def test_each_platinum_sensor_has_its_own_resistance() -> None:
    assert one(PlatinumRtd(100.0), 138.5055) == pytest.approx(100.0, abs=1e-9)
    assert one(PlatinumRtd(1000.0), 1385.055) == pytest.approx(100.0, abs=1e-9)


def test_a_thermocouple_adds_the_fixed_temperature_of_its_cold_junction() -> None:
    assert one(ThermocoupleK(25.0), 7.138231) == pytest.approx(200.0, abs=1e-3)


def test_columns_of_all_kinds_do_not_disturb_each_other() -> None:
    kinds = [Linear(2.0), PlatinumRtd(), Polynomial((1.0, 1.0)), CurrentLoop(0.0, 16.0)]
    plan = ChannelsPlan(tuple(measured(f"C{i}", f"gas.c{i}", k) for i, k in enumerate(kinds)))
    draft = draft_for(plan, [10.0], [100.0], [10.0], [10.0])

    Converter(plan).run(draft, NO_FORCING)

    assert draft.grid.value[0].tolist() == [20.0, 0.0, 11.0, 6.0]


def test_a_column_without_rows_shows_what_is_held() -> None:
    plan = ChannelsPlan((measured("A", "gas.a"), measured("B", "gas.b", Linear(1.0, 5.0))))

    assert converted(plan, draft_for(plan, [1.0, 2.0], []), "B") == [WAITING, WAITING]


def test_a_stand_without_measured_channels_is_left_alone() -> None:
    plan = ChannelsPlan((), (System("host:recording"),))
    draft = draft_of(held_at_start(plan, START_NS), 1, 0)

    Converter(plan).run(draft, NO_FORCING)

    assert draft.grid.value.tolist() == [[0.0]]


# Thermocouples whose cold junction is a channel.


def joined_plan(skew_s: float = 10.0, **more: float) -> ChannelsPlan:
    """Make two thermocouples on the cold junction T."""
    kind = ThermocoupleK(0.0, "T", round(skew_s * S))
    low, high = more.get("low", -np.inf), more.get("high", np.inf)
    cold: Measured = measured("T", "gas.t", is_overdue="overdue" in more)
    return ChannelsPlan(
        (
            measured("A", "gas.a", kind, span=(low, high)),
            cold,
            measured("B", "gas.b", kind),
        )
    )


def test_a_cold_junction_can_be_another_channel_with_the_same_rows() -> None:
    plan = joined_plan()
    draft = draft_for(plan, [7.138231, 7.138231], [25.0, 25.0], [0.0, 0.0])
    draft.same_rows[:] = 0

    values = converted(plan, draft, "A")

    assert [q for _, q in values] == [Q.GOOD, Q.GOOD]
    assert [x for x, _ in values] == pytest.approx([200.0, 200.0], abs=1e-3)
    # No voltage: the hot junction is as warm as the cold one.
    assert draft.grid.value[:, 2].tolist() == pytest.approx([25.0, 25.0], abs=1e-9)


def test_a_cold_junction_of_another_rate_is_held_and_its_age_watched() -> None:
    plan = joined_plan(skew_s=1.0)
    draft = draft_for(plan, [7.138231] * 3, [25.0], [0.0])

    values = converted(plan, draft, "A")

    assert [q for _, q in values] == [Q.GOOD, Q.GOOD, Q.SKEWED]
    assert values[1][0] == pytest.approx(200.0, abs=1e-3)
    assert values[2][0] is None


def test_a_bad_cold_junction_makes_the_result_bad() -> None:
    plan = joined_plan()

    assert converted(plan, draft_for(plan, [7.0], [], [1.0]), "A") == [(None, Q.INPUT_BAD)]


def test_a_cold_junction_out_of_its_range_makes_the_result_bad() -> None:
    hot, cold = joined_plan().measured[0], measured("T", "gas.t", span=(0.0, 60.0))
    plan = ChannelsPlan((hot, cold))

    assert converted(plan, draft_for(plan, [7.0], [61.0]), "A") == [(None, Q.INPUT_BAD)]


def test_an_uncertain_cold_junction_makes_the_result_uncertain() -> None:
    plan = joined_plan(overdue=1)

    ((value, quality),) = converted(plan, draft_for(plan, [7.138231], [25.0], [0.0]), "A")

    assert (value, quality) == (pytest.approx(200.0, abs=1e-3), Q.INPUT_UNCERTAIN)


def test_a_compensated_value_is_held_against_the_range_in_degrees() -> None:
    """In mV it would be out of range, and without its cold junction off the curve."""
    plan = joined_plan(low=100.0, high=250.0)
    draft = draft_for(plan, [7.138231, 0.0, -7.0], [25.0] * 3, [0.0])
    draft.same_rows[:2] = 0

    assert [q for _, q in converted(plan, draft, "A")] == [
        Q.GOOD,
        Q.OUT_OF_RANGE,
        Q.OUT_OF_RANGE,
    ]


def test_a_voltage_that_only_the_cold_junction_brings_onto_the_curve_counts() -> None:
    plan = joined_plan()
    draft = draft_for(plan, [-7.0], [84.0], [0.0])

    ((value, quality),) = converted(plan, draft, "A")

    # -7.0 mV alone is below the curve's end at -6.458 mV; with E(84 degC) it is -3.566 mV.
    assert quality == Q.GOOD
    assert value == pytest.approx(-100.4, abs=0.1)


def test_a_sample_that_is_bad_for_its_own_reason_keeps_it() -> None:
    plan = joined_plan()
    draft = draft_for(plan, [NAN, 7.0], [], [1.0])
    draft.grid.quality[0, 0] = Q.LINK_LOST

    assert converted(plan, draft, "A") == [(None, Q.LINK_LOST), (None, Q.INPUT_BAD)]


def test_compensated_columns_without_rows_show_what_is_held() -> None:
    plan = joined_plan()

    assert converted(plan, draft_for(plan, [], [25.0], []), "A") == [WAITING]


@pytest.mark.parametrize("tag", ["B", "host:recording"])
def test_a_cold_junction_must_be_a_measured_channel_that_needs_none(tag: str) -> None:
    needing = ThermocoupleK(0.0, "T", S)
    plan = ChannelsPlan(
        (
            measured("A", "gas.a", ThermocoupleK(0.0, tag, S)),
            measured("B", "gas.b", needing),
            measured("T", "gas.t"),
        ),
        (System("host:recording"),),
    )

    with pytest.raises(ValueError, match=f"{tag}: a cold junction is a measured channel"):
        Converter(plan)
