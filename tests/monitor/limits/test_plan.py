"""Tests for monitor.limits.plan.

Source: Hand-worked here, kind by kind.
"""

from __future__ import annotations

import pytest

from monitor.limits.plan import COLUMNLESS_KINDS, QUALITY_KINDS, Kind, Limit, Place

LOW_KINDS = {"low", "low_low", "rate_of_fall", "time_to_limit"}


@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.EXPECTED])
def test_a_kind_is_true_above_its_setpoint_or_below(kind: Kind) -> None:
    assert Limit("A", 0, kind).is_high is (kind.value not in LOW_KINDS)


@pytest.mark.parametrize("expects_low", [False, True])
def test_what_is_expected_high_is_missed_while_it_is_low(expects_low: bool) -> None:
    assert Limit("A", 0, Kind.EXPECTED, expects_low=expects_low).is_high is expects_low


@pytest.mark.parametrize("kind", list(Kind))
def test_quality_and_what_has_no_column_compare_nothing(kind: Kind) -> None:
    compares = kind not in QUALITY_KINDS | COLUMNLESS_KINDS

    assert Limit("A", 0, kind).compares is compares
    assert compares is (kind.value not in {"stale", "fault", "combination", "phase_overlong"})


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (Place("ground"), 1.0),
        (Place("climb"), 2.0),
        (Place("climb", "normal"), 2.0),
        (Place("climb", "loop_only"), 3.0),
        (Place("ground", "loop_only"), 3.0),
    ],
)
def test_the_mode_goes_before_the_phase(place: Place, value: float) -> None:
    limit = Limit("A", 0, Kind.HIGH, 1.0, {"climb": 2.0, "loop_only": 3.0})

    assert limit.chosen_setpoint(place) == value


@pytest.mark.parametrize(
    ("watched_in", "place", "is_watched"),
    [
        (set(), Place("ground"), True),
        ({"climb"}, Place("ground"), False),
        ({"climb"}, Place("climb", "normal"), True),
        ({"loop_only"}, Place("climb", "loop_only"), True),
        ({"loop_only"}, Place("climb", "normal"), False),
        ({"climb", "loop_only"}, Place("ground", "loop_only"), True),
    ],
)
def test_a_limit_is_watched_in_any_of_its_places(
    watched_in: set[str], place: Place, is_watched: bool
) -> None:
    limit = Limit("A", 0, Kind.HIGH, watched_in=frozenset(watched_in))

    assert limit.is_watched(place) is is_watched


@pytest.mark.parametrize(
    ("limit", "counts"),
    [
        (Limit("A", 0, Kind.HIGH), False),
        (Limit("A", 0, Kind.EXPECTED, is_once=True), True),
        (Limit("A", -1, Kind.PHASE_OVERLONG), True),
    ],
)
def test_what_is_expected_and_how_long_a_phase_lasts_count_from_the_phase(
    limit: Limit, counts: bool
) -> None:
    assert limit.counts_from_phase is counts
