"""Tests for monitor.limits.edits.

Source: Hand-worked here.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from monitor.limits.condition import parse_condition
from monitor.limits.edits import (
    contradiction,
    edited,
    loaded_edits,
    saved_edits,
    settings_of,
    value_of,
    with_settings,
)
from monitor.limits.plan import NO_COLUMN, Kind, Limit, Place

HIGH = Limit("PT-1.high", 0, Kind.HIGH, 150.0, {"climb": 120.0}, 4.0, 3_000, 4_000)
LOW = Limit("PT-1.low", 0, Kind.LOW, 50.0, {"loop_only": 30.0}, 4.0)
HIGH_HIGH = Limit("PT-1.high_high", 0, Kind.HIGH_HIGH, 170.0, deadband=4.0)
PLACES = [
    Place(phase, mode) for phase in ("ground", "climb") for mode in ("normal", "loop_only")
]


@pytest.mark.parametrize(
    ("changes", "changed"),
    [
        ({"setpoint": 140.0}, replace(HIGH, setpoint=140.0)),
        ({"setpoint_in.climb": 110.0}, replace(HIGH, setpoint_in={"climb": 110.0})),
        (
            {"setpoint_in.hold": 99.0},
            replace(HIGH, setpoint_in={"climb": 120.0, "hold": 99.0}),
        ),
        ({"deadband": 2.5}, replace(HIGH, deadband=2.5)),
        ({"on_delay_s": 1.5}, replace(HIGH, on_delay_ns=1_500_000_000)),
        ({"off_delay_s": 0.25}, replace(HIGH, off_delay_ns=250_000_000)),
        ({"setpoint": 1.0, "deadband": 0.0}, replace(HIGH, setpoint=1.0, deadband=0.0)),
    ],
)
def test_an_edit_changes_what_it_names(changes: dict[str, float], changed: Limit) -> None:
    assert edited(HIGH, changes) == changed


def test_a_key_that_is_none_is_an_error_of_the_caller() -> None:
    with pytest.raises(KeyError):
        edited(HIGH, {"priority": 1.0})


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("setpoint", 150.0),
        ("setpoint_in.climb", 120.0),
        ("setpoint_in.hold", None),
        ("deadband", 4.0),
        ("on_delay_s", 3e-6),
        ("off_delay_s", 4e-6),
    ],
)
def test_what_a_key_stands_for_can_be_read(key: str, value: float | None) -> None:
    assert value_of(HIGH, key) == value


def test_edited_settings_outlive_a_restart() -> None:
    changes = {"setpoint": 1.0, "setpoint_in.hold": 2.0, "deadband": 3.0, "on_delay_s": 4.0}
    one = edited(HIGH, changes | {"off_delay_s": 5.0})

    assert with_settings(HIGH, settings_of(one)) == one


@pytest.mark.parametrize(
    ("limit", "changes", "why"),
    [
        (HIGH, {"setpoint": 160.0}, ""),
        (HIGH, {"setpoint": 170.0}, "high_high 170 would not be above high 170 in ground"),
        (HIGH, {"setpoint": 50.0}, "high 50 would not be above low 50 in ground in normal"),
        (HIGH, {"setpoint_in.climb": 40.0}, "high 40 would not be above low 50 in climb"),
        (LOW, {"setpoint_in.loop_only": 130.0}, "high 120 would not be above low 130 in climb"),
        (LOW, {"setpoint": 115.5, "deadband": 0.5}, ""),
        (HIGH_HIGH, {"setpoint": 149.0}, "high_high 149 would not be above high 150"),
        (HIGH, {"deadband": 69.0}, ""),
        (HIGH, {"deadband": 70.0}, "its deadband of 70 would reach over to low"),
        (LOW, {"deadband": 70.0}, "its deadband of 70 would reach over to high"),
        (HIGH, {"on_delay_s": 9.0}, ""),
        # In climb high is 120 and clears below 116: there low would begin before it ends.
        (LOW, {"setpoint": 115.0, "deadband": 0.0}, ""),
        (
            LOW,
            {"setpoint": 116.0, "deadband": 0.0},
            "the deadband of high of 4 would reach over to it",
        ),
    ],
)
def test_an_edit_may_not_contradict_the_other_limits_of_the_channel(
    limit: Limit, changes: dict[str, float], why: str
) -> None:
    others = [one for one in (LOW, HIGH, HIGH_HIGH) if one is not limit]

    assert contradiction(limit, changes, others, PLACES).startswith(why)
    assert bool(why) is bool(contradiction(limit, changes, others, PLACES))


COMBINATION = Limit(
    "UA-1.combination", NO_COLUMN, Kind.COMBINATION, condition=parse_condition("a")
)


@pytest.mark.parametrize(
    "limit",
    [
        replace(HIGH, kind=Kind.STALE),
        replace(HIGH, kind=Kind.STUCK),
        replace(HIGH, kind=Kind.STATE),
        COMBINATION,
    ],
)
def test_what_has_no_setpoint_of_its_own_has_delays_only(limit: Limit) -> None:
    why = contradiction(limit, {"setpoint": 1.0}, (), PLACES)

    assert why == "only its delays can be edited: it has no setpoint of its own"
    assert contradiction(limit, {"on_delay_s": 1.0}, (), PLACES) == ""


def test_a_limit_that_counts_has_no_on_delay() -> None:
    limit = replace(HIGH, n_of_m=(2, 3))

    assert "n of m" in contradiction(limit, {"on_delay_s": 1.0}, (), PLACES)
    assert contradiction(limit, {"off_delay_s": 1.0}, (), PLACES) == ""


def test_limits_that_are_never_watched_together_do_not_contradict_each_other() -> None:
    low = replace(LOW, watched_in=frozenset({"ground"}), setpoint_in={})
    high = replace(HIGH, watched_in=frozenset({"climb"}), setpoint=40.0, setpoint_in={})

    assert contradiction(high, {"on_delay_s": 9.0}, [low], PLACES) == ""
    assert contradiction(high, {"setpoint": 30.0}, [low], PLACES) == ""


@pytest.mark.parametrize(
    ("kind", "changes", "why"),
    [
        (Kind.RATE_OF_RISE, {"setpoint": 0.0}, "0 is not above 0"),
        (Kind.RATE_OF_RISE, {"setpoint_in.climb": -2.0}, "-2 is not above 0"),
        (
            Kind.RATE_OF_FALL,
            {"setpoint": 20.0},
            "a fall of 20 is not below 0: it needs its sign",
        ),
        (Kind.RATE_OF_FALL, {"setpoint": -20.0, "setpoint_in.climb": -1.0}, ""),
        (Kind.DEVIATION, {"setpoint": -1.0}, "-1 is not above 0"),
        (Kind.DEVIATION, {"setpoint": 4.0}, "its deadband of 4 is not below 4: never clear"),
        (Kind.DEVIATION, {"setpoint": 4.5}, ""),
        (Kind.DISAGREEMENT, {"deadband": 150.0}, "its deadband of 150 is not below 150"),
        (Kind.TIME_TO_LIMIT, {"setpoint": 0.0}, "0 is not above 0"),
        (Kind.BUDGET, {"setpoint": -1.0}, "-1 is below 0: it is how much beyond the plan"),
        (Kind.BUDGET, {"setpoint": 0.0}, ""),
        (Kind.EXPECTED, {"setpoint": -1.0}, ""),
    ],
)
def test_a_size_needs_its_sign(kind: Kind, changes: dict[str, float], why: str) -> None:
    limit = replace(HIGH, kind=kind, setpoint_in={})

    found = contradiction(limit, changes, (), PLACES)

    assert found.startswith(why)
    assert bool(why) is bool(found)


def test_what_wakes_a_limit_has_the_band_of_that_limit() -> None:
    limit = replace(HIGH, id="PT-1.high.arming", kind=Kind.EXPECTED)
    why = "its setpoint is that of the limit that it wakes: edit that one"

    assert contradiction(limit, {"setpoint": 1.0}, (), PLACES) == why
    assert contradiction(limit, {"on_delay_s": 1.0}, (), PLACES) == ""


def test_a_rate_knows_no_siblings() -> None:
    rate = replace(HIGH, kind=Kind.RATE_OF_RISE)

    assert contradiction(rate, {"setpoint": 1.0}, (LOW, HIGH_HIGH), PLACES) == ""


def test_a_place_and_its_edits_outlive_a_restart() -> None:
    changed = edited(LOW, {"setpoint": 40.0})
    saved = saved_edits(Place("climb", "loop_only"), [HIGH, changed], [HIGH, LOW])

    assert loaded_edits(saved, [HIGH, LOW]) == (Place("climb", "loop_only"), {1: changed})
