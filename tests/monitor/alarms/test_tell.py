"""Tests for monitor.alarms.tell.

Source: Hand-worked here.
"""

from __future__ import annotations

import math
from typing import get_args

import pytest

from monitor.alarms.plan import Alarm, Priority
from monitor.alarms.status import AlarmStatus
from monitor.alarms.tell import edge_fields, host_event, link_event, lost_fields, shown_fields
from monitor.events import EventKind, HostEvent, HostWhat, LinkChange
from monitor.limits.edges import Edge, Turn
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
