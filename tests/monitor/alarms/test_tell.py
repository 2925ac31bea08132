"""Tests for monitor.alarms.tell.

Source: Hand-worked here.
"""

from __future__ import annotations

import math
from typing import Literal, get_args

import pytest

from monitor.alarms.items import Edited, Moved
from monitor.alarms.plan import Alarm, Priority
from monitor.alarms.status import AlarmStatus
from monitor.alarms.tell import (
    armed_fields,
    edge_fields,
    edited_event,
    first_out_fields,
    host_event,
    link_event,
    lost_fields,
    moved_event,
    place_fields,
    realarmed_fields,
    shown_fields,
    started_events,
)
from monitor.events import EventKind, Field, HostEvent, HostWhat, LinkChange
from monitor.limits.edges import Edge, Turn
from monitor.limits.plan import Place
from monitor.samples import Quality

ALARM = Alarm("PT-1.high", "PT-1", Priority.TOP, "too high")


def test_a_turn_is_told_with_its_onset_and_its_setpoint() -> None:
    edge = Edge(9, 0, Turn.RAISED, 4, 151.0, Quality.CALIBRATION_OVERDUE, 150.0)

    assert list(edge_fields(ALARM, edge).items()) == [
        ("onset_ns", 4),
        ("value", 151.0),
        ("setpoint", 150.0),
        ("quality", "calibration overdue"),
        ("priority", "top"),
        ("message", "too high"),
    ]


def test_a_quality_limit_has_no_setpoint_and_a_bad_value_is_no_number() -> None:
    edge = Edge(9, 0, Turn.RAISED, 4, None, Quality.STALE, math.nan)

    fields = edge_fields(ALARM, edge)

    assert (fields["value"], fields["setpoint"], fields["quality"]) == (None, None, "stale")


def test_a_lost_delay_is_told_with_its_onset() -> None:
    edge = Edge(9, 0, Turn.PENDING_LOST, 4, 151.0, 0, 150.0)

    assert list(lost_fields(ALARM, edge).items()) == [("onset_ns", 4), ("priority", "top")]


def test_what_is_shown_late_is_told_with_both_of_its_times() -> None:
    fields = shown_fields(ALARM, AlarmStatus("PT-1.high", onset_ns=4, true_ns=9))

    assert list(fields.items()) == [
        ("onset_ns", 4),
        ("true_ns", 9),
        ("priority", "top"),
        ("message", "too high"),
    ]


def test_a_limit_that_wakes_is_told_with_the_value_that_woke_it() -> None:
    fields = armed_fields(Edge(9, 0, Turn.ARMED, 4, 3.5, Quality.FORCED, math.nan))

    assert list(fields.items()) == [
        ("value", 3.5),
        ("setpoint", None),
        ("quality", "forced by hand"),
    ]


@pytest.mark.parametrize("is_shown", [False, True])
def test_what_is_annunciated_anew_is_told_with_when_it_was_acknowledged(is_shown: bool) -> None:
    fields = realarmed_fields(ALARM, 3, is_shown=is_shown)

    assert list(fields.items()) == [
        ("acknowledged_ns", 3),
        ("priority", "top"),
        ("message", "too high"),
        ("is_annunciated", is_shown),
    ]


def test_an_edit_is_told_with_both_names_and_each_change() -> None:
    changes: dict[str, Field] = {"setpoint_from": 1.0, "setpoint_to": 2.0}

    event = edited_event(Edited(9, 0, "A. Marl", "B. Voss", "too near", changes), ALARM)

    assert (event.t_ns, event.kind, event.subject) == (9, "limit.edited", "PT-1.high")
    assert list(event.fields.items()) == [
        ("by", "A. Marl"),
        ("second", "B. Voss"),
        ("reason", "too near"),
        ("setpoint_from", 1.0),
        ("setpoint_to", 2.0),
    ]


@pytest.mark.parametrize(
    ("what", "kind", "name"),
    [("phase", "phase.entered", "climb"), ("mode", "mode.entered", "loop_only")],
)
def test_a_move_is_told_by_the_name_of_what_is_entered(
    what: Literal["phase", "mode"], kind: str, name: str
) -> None:
    event = moved_event(Moved(9, what, Place("climb", "loop_only"), "A. Marl", "go"))

    assert (event.t_ns, event.kind, event.subject) == (9, kind, name)
    assert list(event.fields.items()) == [("by", "A. Marl"), ("reason", "go")]


@pytest.mark.parametrize(
    ("place", "subjects"),
    [(Place("ground"), ["ground"]), (Place("ground", "normal"), ["ground", "normal"])],
)
def test_the_start_of_a_run_tells_phase_and_mode(place: Place, subjects: list[str]) -> None:
    events = started_events(7, place)

    assert [event.subject for event in events] == subjects
    assert [event.kind for event in events] == ["phase.entered", "mode.entered"][: len(events)]
    assert {event.t_ns for event in events} == {7}
    assert events[0].fields == {"by": "start of run", "reason": ""}


@pytest.mark.parametrize(
    ("place", "fields"),
    [
        (Place("climb"), {"phase": "climb"}),
        (Place("climb", "normal"), {"phase": "climb", "mode": "normal"}),
    ],
)
def test_a_place_is_told_with_its_mode_where_there_are_modes(
    place: Place, fields: dict[str, Field]
) -> None:
    assert place_fields(place) == fields


@pytest.mark.parametrize(
    ("ids", "others"), [(["A.high"], ""), (["A.high", "B.high"], "A.high, B.high")]
)
def test_a_first_is_told_with_those_among_which_it_is_undetermined(
    ids: list[str], others: str
) -> None:
    fields = first_out_fields("loss", 4, ids)

    assert list(fields.items()) == [("group", "loss"), ("onset_ns", 4), ("with", others)]


@pytest.mark.parametrize(("is_up", "kind"), [(True, "link.up"), (False, "link.down")])
def test_a_link_is_told_by_its_instrument(is_up: bool, kind: str) -> None:
    event = link_event(7, LinkChange("gas", is_up, "unplugged", "plug it in"))

    assert (event.t_ns, event.kind, event.subject) == (7, kind, "gas")
    assert event.fields == {"why": "unplugged", "cure": "plug it in"}


@pytest.mark.parametrize("what", get_args(HostWhat))
def test_every_host_event_has_a_kind_of_event_that_exists(what: HostWhat) -> None:
    event = host_event(7, HostEvent(what, "why", {"z": 1, "a": 2}))

    assert event.kind == what.replace("_", ".")
    assert event.kind in get_args(EventKind)
    assert list(event.fields.items()) == [("detail", "why"), ("a", 2), ("z", 1)]
