"""Tests for monitor.channels.derived.

Source: Hand-worked here, from limit rule 4 (rates of change: 80 % of the window, afresh after a
gap) and what the kinds of limit need, in DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from monitor.channels.derived import DerivedChannels
from monitor.channels.draft import Draft, Held, draft_of, held_at_start
from monitor.channels.plan import (
    ChannelsPlan,
    Derived,
    NoStart,
    OffProfile,
    Slope,
    TimeTo,
    Unchanged,
)
from monitor.samples import Quality
from tests.monitor.channels.made import NAN, START_NS, S, measured

Q = Quality
Rows = Sequence[tuple[float, float, int]]
Told = list[tuple[float | None, int]]

RATE = Slope("A~rate", "A", 10 * S, 60 * S)
STUCK = Unchanged("A~stuck", "A", 0.5)
START = NoStart("A~start", "A")


def plan_with(*rows: Derived) -> ChannelsPlan:
    """Make a plan of A, B and *rows*."""
    return ChannelsPlan((measured("A", "gas.a"), measured("B", "node.b")), derived=rows)


def filled(held: Held, rows: Rows, height: int = 1) -> Draft:
    """Give a draft in which A has rows of (seconds, value, quality)."""
    height = max(len(rows), height)
    draft = draft_of(held, height, 2)
    for k in range(height if rows else 0):
        t, x, q = rows[min(k, len(rows) - 1)]
        draft.grid.t_ns[k, 0] = START_NS + round(t * S)
        draft.grid.value[k, 0], draft.grid.quality[k, 0] = x, q
    draft.grid.count[0] = len(rows)
    return draft


def told(draft: Draft, column: int = 2) -> Told:
    """Give (value or None, quality) of a column, padding included."""
    value = draft.grid.value[:, column].tolist()
    pairs = zip(value, draft.grid.quality[:, column].tolist(), strict=True)
    return [(None if x != x else x, q) for x, q in pairs]


def run(row: Derived, *steps: Rows, restores: bool = False) -> Told:
    """Derive one column step by step; give its own rows."""
    plan = plan_with(row)
    stage, held, found = DerivedChannels(plan, START_NS), held_at_start(plan, START_NS), []
    for rows in steps:
        draft = filled(held, rows)
        with np.errstate(all="ignore"):
            stage.run(draft)
        found += told(draft)[: int(draft.grid.count[2])]
        held = draft.newest()
        if restores:
            state, stage = stage.state(), DerivedChannels(plan, 0)
            stage.load_state({name: array.copy() for name, array in state.items()})
    return found


def line(first: int, last: int, quality: int = 0) -> Rows:
    """Give rows that rise by 0.5 a second."""
    return [(t, 0.5 * t, quality) for t in range(first, last)]


def test_a_slope_is_filling_until_most_of_the_window_is_covered() -> None:
    found = run(RATE, line(0, 10))

    assert found[:8] == [(None, Q.FILLING)] * 8
    assert found[8:] == [(pytest.approx(30.0), 0)] * 2


def test_a_slope_needs_three_samples_and_a_time_eight() -> None:
    time = TimeTo("A~time", "A", 10 * S, 1e6, is_upper=True, normal_quantile=0.0)
    few = [(0, 0.0, 0), (8, 4.0, 0), (9, 4.5, 0)]
    seven = [(1.4 * k, 1.4 * k, 0) for k in range(7)]

    assert [q for _, q in run(RATE, few)] == [Q.FILLING, Q.FILLING, Q.GOOD]
    assert [q for _, q in run(time, [*seven, (9, 9.0, 0)])] == [Q.FILLING] * 7 + [Q.GOOD]


def test_a_slope_starts_afresh_after_a_bad_row() -> None:
    found = run(RATE, line(0, 10), [(10, NAN, Q.STALE)], line(11, 20))

    assert found[10] == (None, Q.STALE)
    assert [q for _, q in found[11:]] == [Q.FILLING] * 8 + [Q.GOOD]


def test_a_clipped_value_is_no_part_of_a_line() -> None:
    found = run(RATE, line(0, 10), [(10, 4.6, Q.SATURATED_HIGH)], line(11, 13))

    assert [q for _, q in found[9:]] == [Q.GOOD, Q.INPUT_BAD, Q.FILLING, Q.FILLING]


def test_an_uncertain_source_makes_a_slope_uncertain() -> None:
    assert [q for _, q in run(RATE, line(0, 9, Q.CALIBRATION_OVERDUE))][-2:] == [
        Q.FILLING,
        Q.CALIBRATION_OVERDUE,
    ]


def test_a_line_without_finite_numbers_is_bad() -> None:
    found = run(
        Slope("A~r", "A", 10 * S, 10**18 * S), [(t, 1e300 * (t % 2), 0) for t in range(9)]
    )

    assert found[-1] == (None, Q.NOT_FINITE)


def test_slopes_and_times_stand_beside_each_other() -> None:
    time = TimeTo("A~time", "A", 10 * S, 50.0, is_upper=True, normal_quantile=0.0)
    plan = plan_with(time, RATE, TimeTo("A~t2", "A", 10 * S, 25.0, True, 0.0))
    draft = filled(held_at_start(plan, START_NS), line(0, 11))

    with np.errstate(all="ignore"):
        DerivedChannels(plan, START_NS).run(draft)

    # 5.0 after 10 s, rising by 0.5 a second.
    last = [told(draft, column)[-1][0] for column in (2, 3, 4)]
    assert last == pytest.approx([90.0, 30.0, 40.0])


def test_what_stays_within_the_band_of_its_last_change_is_unchanged() -> None:
    rows = [(0, 1.0, 0), (1, 1.5, 0), (2, 0.6, 0), (3, 1.6, 0), (4, 2.0, 0), (5, 1.0, 0)]

    assert [x for x, _ in run(STUCK, rows)] == [0.0, 1.0, 1.0, 0.0, 1.0, 0.0]


def test_a_slow_drift_is_a_change_once_it_leaves_the_band() -> None:
    """Each row is within the band of the one before it."""
    rows = [(t, 0.3 * t, 0) for t in range(5)]

    assert [x for x, _ in run(STUCK, rows)] == [0.0, 1.0, 0.0, 1.0, 0.0]


def test_a_bad_row_is_no_change() -> None:
    found = run(STUCK, [(0, 1.0, 0), (1, NAN, Q.STALE)], [(2, 1.5, 0), (3, 2.0, 0)])

    assert found == [(0.0, 0), (None, Q.STALE), (1.0, 0), (0.0, 0)]


def test_a_row_in_which_a_channel_comes_on_is_a_start() -> None:
    rows = [(t, x, 0) for t, x in enumerate([0.0, 0.5, 1.0, 0.4, 0.0, 1.0])]

    assert [x for x, _ in run(START, rows)] == [1.0, 0.0, 1.0, 1.0, 1.0, 0.0]


def test_a_first_row_that_is_on_is_a_start() -> None:
    assert run(START, [(0, 1.0, 0)], [(1, 1.0, 0)]) == [(0.0, 0), (1.0, 0)]


def test_a_start_may_hide_behind_bad_rows() -> None:
    bad = [(1, NAN, Q.STALE), (2, NAN, Q.STALE)]

    assert run(START, [(0, 0.0, 0), *bad, (3, 1.0, 0)])[1:] == [
        (None, Q.STALE),
        (None, Q.STALE),
        (0.0, 0),
    ]
    assert run(START, [(0, 0.0, 0)], bad, [(3, 1.0, 0)])[-1] == (0.0, 0)


def test_on_before_and_behind_bad_rows_is_no_start() -> None:
    bad = [(1, NAN, Q.STALE), (2, NAN, Q.STALE)]

    assert run(START, [(0, 1.0, 0), *bad, (3, 1.0, 0)])[-1] == (1.0, 0)
    assert run(START, [(0, 1.0, 0)], bad, [(3, 1.0, 0)])[-1] == (1.0, 0)


@pytest.mark.parametrize("row", [STUCK, START])
def test_a_saturated_value_makes_yes_and_no_uncertain(row: Derived) -> None:
    assert run(row, [(0, 104.0, Q.SATURATED_HIGH)]) == [(0.0, Q.INPUT_UNCERTAIN)]


@pytest.mark.parametrize("row", [RATE, STUCK, START])
def test_a_step_without_rows_changes_nothing(row: Derived) -> None:
    rows = [(t, 0.5 * (t // 2), 0) for t in range(12)]

    assert run(row, rows[:5], [], rows[5:10], [], rows[10:]) == run(row, rows)


@pytest.mark.parametrize("row", [RATE, STUCK, START])
def test_saved_state_is_gone_on_from(row: Derived) -> None:
    rows = [(t, 0.5 * (t // 2), 0) for t in range(12)]

    assert run(row, rows[:5], rows[5:6], rows[6:], restores=True) == run(row, rows)


def test_columns_have_the_rows_of_their_source_padded_and_idle_ones_show_what_is_held() -> None:
    plan = plan_with(
        *(Slope(f"{tag}~rate", tag, S, S) for tag in "AB"),
        *(Unchanged(f"{tag}~stuck", tag, 0.5) for tag in "AB"),
        *(NoStart(f"{tag}~start", tag) for tag in "AB"),
    )
    stage = DerivedChannels(plan, START_NS)
    draft = filled(held_at_start(plan, START_NS), [(1, 0.0, 0), (2, 7.0, 0)], height=4)
    draft.same_rows[0] = 3

    with np.errstate(all="ignore"):
        stage.run(draft)

    assert draft.grid.count[2:].tolist() == [2, 0, 2, 0, 2, 0]
    assert draft.same_rows[[2, 4, 6]].tolist() == [3, 3, 3]
    assert told(draft, 4) == [(0.0, 0)] * 4
    assert told(draft, 6) == [(1.0, 0), (0.0, 0), (0.0, 0), (0.0, 0)]
    assert {q for column in (3, 5, 7) for _, q in told(draft, column)} == {Q.WAITING}
    assert (draft.grid.t_ns[:, 2] == draft.grid.t_ns[:, 0]).all()
    assert (draft.grid.t_ns[:, 3] == START_NS).all()


def test_an_idle_column_shows_what_is_held() -> None:
    plan = plan_with(STUCK)
    stage = DerivedChannels(plan, START_NS)
    first = filled(held_at_start(plan, START_NS), [(1, 5.0, 0)])
    stage.run(first)
    draft = filled(first.newest(), [], height=2)

    stage.run(draft)

    assert told(draft) == [(0.0, 0)] * 2


def test_a_column_less_a_profile_waits_for_the_phases() -> None:
    plan = plan_with(OffProfile("A~off", "A", ((0, 5.0),)))
    stage, held = DerivedChannels(plan, START_NS), held_at_start(plan, START_NS)
    draft = filled(held, [(1, 7.0, 0)])

    stage.run(draft)
    newest, before = draft.newest(), told(draft)
    stage.finish(draft.grid, [], newest)

    assert (before, told(draft)) == ([(None, Q.WAITING)], [(2.0, 0)])
    assert (newest.value[2], newest.quality[2]) == (2.0, 0)
    assert newest.t_ns[2] == START_NS + S


def test_where_the_phase_and_the_run_began_is_saved() -> None:
    plan = plan_with(OffProfile("A~off", "A", ((0, 5.0),)))
    stage, other = DerivedChannels(plan, 5), DerivedChannels(plan, 0)
    stage.profiles.phase_start_ns = 7

    other.load_state(stage.state())

    assert (other.profiles.run_start_ns, other.profiles.phase_start_ns) == (5, 7)
