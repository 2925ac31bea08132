"""Tests for monitor.channels.filters.

Source: Lag gain dt/(tau + dt): 0.09090909 at dt/tau = 0.1, 0.5 at 1 (by arithmetic; backward
Euler). NIST/SEMATECH e-Handbook 6.4.3.1, exponential smoothing at gain 0.1, values computed
from its data. The rest hand-worked here.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.channels.draft import Draft, Held, draft_of
from monitor.channels.filters import Filters
from monitor.channels.plan import ChannelsPlan, Filtered, Unchanged
from monitor.samples import Quality
from tests.monitor.channels.made import S, measured

NAN = float("nan")
SOURCES = (measured("A", "gas.a"), measured("B", "gas.b"))


def plan(*filtered: Filtered) -> ChannelsPlan:
    """Make a plan of two sources and *filtered*."""
    return ChannelsPlan(SOURCES, filtered=filtered)


def filled(held: Held, rows: list[tuple[float, float]], column: int = 0) -> Draft:
    """Give a draft in which one source has rows of (seconds, value)."""
    draft = draft_of(held, max(len(rows), 1), 2)
    draft.grid.t_ns[:, column] = [round(t * S) for t, _ in rows]
    draft.grid.value[:, column] = [x for _, x in rows]
    is_bad = np.isnan(draft.grid.value[:, column])
    draft.grid.quality[:, column] = np.where(is_bad, Quality.STALE, Quality.GOOD)
    draft.grid.count[column] = len(rows)
    draft.same_rows[column] = 0
    return draft


def nothing(columns: int) -> Held:
    """Give columns of which nothing came."""
    quality = np.full(columns, Quality.WAITING, dtype=np.uint8)
    return Held(np.zeros(columns, dtype=np.int64), np.full(columns, NAN), quality)


def run(filtered: Filtered, *steps: list[tuple[float, float]]) -> list[float]:
    """Filter channel A step by step."""
    filters, held, found = Filters(plan(filtered)), nothing(3), []
    for rows in steps:
        draft = filled(held, rows)
        filters.run(draft)
        found += draft.grid.value[: len(rows), 2].tolist()
        held = draft.newest()
    return found


LAG_1_S = Filtered("A~filter", "A", lag_ns=S)


@pytest.mark.parametrize(("dt_s", "gain"), [(0.1, 0.09090909), (1.0, 0.5)])
def test_the_gain_of_a_lag_follows_the_time_between_rows(dt_s: float, gain: float) -> None:
    assert run(LAG_1_S, [(0, 0.0), (dt_s, 1.0)])[1] == pytest.approx(gain, abs=5e-9)


def test_a_lag_smooths_as_published() -> None:
    data = [71, 70, 69, 68, 64, 65, 72, 78, 75, 75, 75, 70]
    # Gain 0.1 is a step of 1 s at a lag of 9 s.
    found = run(Filtered("A~filter", "A", lag_ns=9 * S), list(enumerate(map(float, data))))

    published = [
        71,
        70.9,
        70.71,
        70.439,
        69.795,
        69.316,
        69.584,
        70.426,
        70.883,
        71.295,
        71.665,
    ]
    assert found[:11] == pytest.approx(published, abs=5e-4)


def test_the_first_good_row_starts_a_lag() -> None:
    assert run(LAG_1_S, [(5, 7.0)]) == [7.0]


def test_a_lag_starts_afresh_after_a_bad_row() -> None:
    np.testing.assert_array_equal(
        run(LAG_1_S, [(0, 0.0), (1, NAN), (2, 8.0), (3, 9.0)]), [0.0, NAN, 8.0, 8.5]
    )


def test_a_lag_goes_on_from_step_to_step() -> None:
    assert run(LAG_1_S, [(0, 0.0)], [(1, 1.0)], [(2, 1.0)]) == [0.0, 0.5, 0.75]


def test_a_filter_of_a_constant_is_the_constant() -> None:
    rows = [(t * 0.37, 5.1) for t in range(50)]

    assert set(run(Filtered("A~filter", "A", lag_ns=3 * S), rows)) == {5.1}
    assert set(run(Filtered("A~filter", "A", median_of=5), rows)) == {5.1}


def test_a_median_goes_on_from_step_to_step() -> None:
    median = Filtered("A~filter", "A", median_of=3)

    assert run(median, [(0, 1.0), (1, 90.0)], [(2, 2.0)], [(3, 3.0)]) == [1.0, 45.5, 2.0, 3.0]


MEAN_OF_3_S = Filtered("A~filter", "A", mean_ns=3 * S)


def test_a_mean_is_that_of_the_rows_in_its_window() -> None:
    rows = [(0, 1.0), (1, 2.0), (2, 6.0), (3, 4.0), (3.5, 0.0)]

    # At 3 s the row at 0 s has just left.
    assert run(MEAN_OF_3_S, rows) == [1.0, 1.5, 3.0, 4.0, 3.0]


def test_a_mean_starts_afresh_after_a_bad_row() -> None:
    np.testing.assert_array_equal(
        run(MEAN_OF_3_S, [(0, 1.0), (1, NAN), (2, 6.0), (2.5, 7.0)]), [1.0, NAN, 6.0, 6.5]
    )


def test_a_mean_goes_on_from_step_to_step() -> None:
    assert run(MEAN_OF_3_S, [(0, 1.0)], [(1, 2.0)], [(2, 6.0)], [(3, 4.0)])[-1] == 4.0


def test_a_mean_of_a_constant_is_the_constant() -> None:
    rows = [(t * 0.37, 5.1) for t in range(50)]

    assert set(run(MEAN_OF_3_S, rows)) == {5.1}


def test_filters_leave_the_columns_behind_them_alone() -> None:
    both = ChannelsPlan(SOURCES, filtered=(LAG_1_S,), derived=(Unchanged("A~s", "A", 0.0),))
    draft = filled(nothing(4), [(1, 1.0)])

    Filters(both).run(draft)

    assert draft.grid.value[0, 2] == 1.0
    assert (draft.grid.quality[0, 3], draft.grid.count[3]) == (Quality.WAITING, 0)


def test_a_filtered_channel_has_the_rows_and_the_quality_of_its_source() -> None:
    filters = Filters(plan(LAG_1_S))
    draft = filled(nothing(3), [(1, 1.0), (2, NAN)])
    draft.grid.quality[0, 0] = Quality.SATURATED_HIGH

    filters.run(draft)

    assert draft.grid.t_ns[:, 2].tolist() == [1 * S, 2 * S]
    assert draft.grid.quality[:, 2].tolist() == [Quality.SATURATED_HIGH, Quality.STALE]
    assert (draft.grid.count[2], draft.same_rows[2]) == (2, 0)


def test_a_short_column_is_padded_with_its_last_row_and_an_idle_one_with_what_is_held() -> None:
    both = plan(
        Filtered("A~m", "A", median_of=3),
        Filtered("B~m", "B", median_of=3),
        Filtered("A~l", "A", lag_ns=S),
        Filtered("B~l", "B", lag_ns=S),
        Filtered("A~a", "A", mean_ns=S),
        Filtered("B~a", "B", mean_ns=S),
    )
    filters = Filters(both)
    first = filled(nothing(8), [(1, 4.0)], column=1)
    filters.run(first)
    draft = filled(first.newest(), [(2, 1.0), (3, 3.0), (3, 3.0)])
    draft.grid.count[0] = 2

    filters.run(draft)

    assert draft.grid.value[:, 2].tolist() == [1.0, 2.0, 2.0]
    assert draft.grid.value[:, 3].tolist() == [4.0, 4.0, 4.0]
    assert draft.grid.value[:, 4].tolist() == [1.0, 2.0, 2.0]
    assert draft.grid.value[:, 5].tolist() == [4.0, 4.0, 4.0]
    assert draft.grid.value[:, 6].tolist() == [1.0, 3.0, 3.0]
    assert draft.grid.value[:, 7].tolist() == [4.0, 4.0, 4.0]
    assert draft.grid.t_ns[:, 3].tolist() == [1 * S] * 3


def test_a_median_of_a_short_column_is_padded_beside_a_full_one() -> None:
    filters = Filters(
        plan(Filtered("A~m", "A", median_of=3), Filtered("B~m", "B", median_of=3))
    )
    first = filled(nothing(4), [(1, 1.0)], column=1)
    filters.run(first)
    draft = filled(first.newest(), [(2, 5.0), (3, 6.0), (4, 7.0)])
    draft.grid.value[:, 1], draft.grid.quality[:, 1], draft.grid.count[1] = 4.0, 0, 1

    filters.run(draft)

    assert draft.grid.value[:, 3].tolist() == [2.5, 2.5, 2.5]


def test_saved_history_is_gone_on_from() -> None:
    both = plan(Filtered("A~m", "A", median_of=3), Filtered("A~a", "A", mean_ns=9 * S))
    filters, other = Filters(both), Filters(both)
    first = filled(nothing(4), [(1, 5.0), (2, 7.0)])
    filters.run(first)

    other.load_state(filters.state())
    draft = filled(first.newest(), [(3, 6.5)])
    other.run(draft)

    assert draft.grid.value[0, 2] == 6.5
    assert draft.grid.value[0, 3] == 18.5 / 3


def test_without_filters_nothing_happens() -> None:
    draft = filled(nothing(2), [(1, 5.0)])

    Filters(plan()).run(draft)

    assert draft.grid.value.shape == (1, 2)
