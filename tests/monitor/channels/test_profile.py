"""Tests for monitor.channels.profile.

Source: Hand-worked here.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from monitor.channels.draft import Draft, Since, draft_of, held_at_start
from monitor.channels.plan import ChannelsPlan, OffProfile
from monitor.channels.profile import Profiles, interpolated
from monitor.samples import Quality
from tests.monitor.channels.made import START_NS, S, measured

Q = Quality
POINTS = ((0, 100.0), (10 * S, 50.0), (20 * S, 50.0))


def plan_with(*rows: OffProfile) -> ChannelsPlan:
    """Make a plan of A and *rows*."""
    return ChannelsPlan((measured("A", "gas.a"),), derived=rows)


def filled(plan: ChannelsPlan, rows: Sequence[tuple[float, float, int]]) -> Draft:
    """Give a draft in which A has rows of (seconds, value, quality)."""
    draft = draft_of(held_at_start(plan, START_NS), max(len(rows), 1), 1)
    for k, (t, x, q) in enumerate(rows):
        draft.grid.t_ns[k, 0] = START_NS + round(t * S)
        draft.grid.value[k, 0], draft.grid.quality[k, 0] = x, q
    draft.grid.count[0] = len(rows)
    return draft


def since(t_s: float, *, by_reading: bool = False) -> Since:
    """Give a phase that begins at *t_s*."""
    t_ns = START_NS + round(t_s * S)
    return Since(t_ns + 1 if by_reading else t_ns, t_ns)


def off(
    rows: Sequence[tuple[float, float, int]],
    phases: Sequence[Since] = (),
    row: OffProfile | None = None,
) -> list[tuple[float | None, int]]:
    """Give (value or None, quality) of the column less a profile."""
    plan = plan_with(row or OffProfile("A~off", "A", POINTS))
    draft = filled(plan, rows)
    Profiles(plan, START_NS).fill(draft.grid, phases)
    value, quality = draft.grid.value[:, 1].tolist(), draft.grid.quality[:, 1].tolist()
    assert draft.grid.count[1] == len(rows)
    np.testing.assert_array_equal(draft.grid.t_ns[:, 1], draft.grid.t_ns[:, 0])
    return [(None if x != x else x, q) for x, q in zip(value, quality, strict=True)]


@pytest.mark.parametrize(
    ("t_s", "expected"),
    [(-5, 100.0), (0, 100.0), (4, 80.0), (10, 50.0), (20, 50.0), (99, 50.0)],
)
def test_a_profile_is_linear_between_its_points_and_ends_at_their_values(
    t_s: float, expected: float
) -> None:
    at_ns, value = np.array([t for t, _ in POINTS]), np.array([x for _, x in POINTS])

    assert interpolated(at_ns, value, np.array([t_s * S])).tolist() == [expected]


def test_a_profile_does_not_go_on_beyond_its_ends() -> None:
    found = interpolated(np.array([10, 20]), np.array([1.0, 3.0]), np.array([0, 15, 40]))

    assert found.tolist() == [1.0, 2.0, 3.0]


def test_a_profile_gives_its_points_exactly() -> None:
    at_ns, value = np.array([0, 3, 7]) * S, np.array([0.1, 0.7, 1e9 + 0.3])

    assert interpolated(at_ns, value, at_ns).tolist() == value.tolist()


def test_a_profile_of_one_point_is_a_constant() -> None:
    found = interpolated(np.array([5]), np.array([3.0]), np.array([0, 5, 9]))

    assert found.tolist() == [3.0, 3.0, 3.0]


def test_the_value_comes_less_the_profile() -> None:
    assert off([(4, 81.0, 0), (5, 70.0, 0)]) == [(1.0, 0), (-5.0, 0)]


def test_an_absolute_distance_has_no_sign() -> None:
    row = OffProfile("A~off", "A", POINTS, is_absolute=True)

    assert off([(4, 81.0, 0), (5, 70.0, 0)], row=row) == [(1.0, 0), (5.0, 0)]


def test_a_phase_that_begins_restarts_the_profile() -> None:
    rows = [(11, 50.0, 0), (12, 50.0, 0), (13, 50.0, 0)]

    # From 12 s on the profile is at its beginning.
    assert off(rows, [since(12)]) == [(0.0, 0), (-50.0, 0), (-45.0, 0)]


def test_rows_of_the_instant_that_brings_a_phase_belong_to_the_one_before() -> None:
    rows = [(11, 50.0, 0), (12, 50.0, 0), (13, 50.0, 0)]

    assert off(rows, [since(12, by_reading=True)]) == [(0.0, 0), (0.0, 0), (-45.0, 0)]


def test_of_two_phases_at_one_instant_the_last_one_counts() -> None:
    begun = [Since(START_NS + 12 * S, START_NS + 7 * S), since(12)]

    assert off([(12, 50.0, 0)], begun) == [(-50.0, 0)]


def test_the_phase_goes_on_in_later_steps() -> None:
    plan = plan_with(OffProfile("A~off", "A", POINTS))
    profiles = Profiles(plan, START_NS)
    profiles.fill(filled(plan, []).grid, [since(3), since(12)])
    draft = filled(plan, [(14, 90.0, 0)])

    profiles.fill(draft.grid, [])

    assert draft.grid.value[0, 1] == 0.0
    assert profiles.phase_start_ns == START_NS + 12 * S


def test_the_run_goes_on_through_phases() -> None:
    row = OffProfile("A~off", "A", POINTS, is_over_run=True)

    assert off([(14, 50.0, 0)], [since(12)], row) == [(0.0, 0)]


def test_a_column_without_rows_stays_as_it_is() -> None:
    plan = plan_with(OffProfile("A~off", "A", POINTS))
    draft = filled(plan, [])

    Profiles(plan, START_NS).fill(draft.grid, [since(1)])

    assert draft.grid.quality[:, 1].tolist() == [Q.WAITING]


def test_quality_goes_along() -> None:
    found = off([(0, np.nan, Q.STALE), (0, 1.0, Q.FORCED), (0, 105.0, Q.SATURATED_HIGH)])

    assert found == [(None, Q.STALE), (-99.0, Q.FORCED), (5.0, Q.SATURATED_HIGH)]


@pytest.mark.parametrize(
    ("value", "quality", "expected"),
    [
        (105.0, Q.SATURATED_HIGH, Q.SATURATED_HIGH),
        (95.0, Q.SATURATED_HIGH, Q.INPUT_UNCERTAIN),
        (95.0, Q.SATURATED_LOW, Q.SATURATED_HIGH),
        (105.0, Q.SATURATED_LOW, Q.INPUT_UNCERTAIN),
    ],
)
def test_a_saturated_value_bounds_the_distance_only_beyond_the_profile(
    value: float, quality: int, expected: int
) -> None:
    row = OffProfile("A~off", "A", POINTS, is_absolute=True)

    assert off([(0, value, quality)], row=row) == [(5.0, expected)]


def test_a_distance_that_is_no_finite_number_is_bad() -> None:
    row = OffProfile("A~off", "A", ((0, -1e300),))

    assert off([(0, 1e300, 0), (0, 1e299, Q.STALE)], row=row) == [
        (None, Q.NOT_FINITE),
        (None, Q.STALE),
    ]


@pytest.mark.parametrize("points", [(), ((5, 1.0), (4, 2.0)), ((5, 1.0), (5, 2.0))])
def test_a_profile_must_go_forward_in_time(points: tuple[tuple[int, float], ...]) -> None:
    with pytest.raises(ValueError, match="A~off: a profile needs points, rising"):
        Profiles(plan_with(OffProfile("A~off", "A", points)), 0)
