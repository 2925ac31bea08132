"""Tests for monitor.display.state.kinds.

Source: the kinds of the limit engine; the rest hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.display.state.kinds import (
    KIND_TEXT,
    amount_text,
    edit_text,
    is_watched,
    kind_text,
    limit_text,
    setpoint_now,
    setpoint_text,
)
from monitor.limits.plan import Kind
from monitor.link.messages import LimitInfo, PhaseState
from tests.monitor.display.made import HIGH, STALE, channel, limit
from tests.monitor.display.rich import ABORT, EXPECTED, LATE, RATE, at_rest

CHANNEL = channel("PT-1")


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_of_limit_has_its_words(kind: Kind) -> None:
    assert "_" not in KIND_TEXT[kind.value]


def test_an_abort_criterion_is_named_as_such_though_its_kind_is_a_combination() -> None:
    assert kind_text(ABORT) == "abort criterion"


def test_a_kind_that_is_not_known_yet_is_named_as_it_comes() -> None:
    assert kind_text(limit("PT-1", "novel")) == "novel"


def test_the_setpoint_in_force_is_that_of_the_alarm_and_else_that_of_the_stand_file() -> None:
    edited = {"PT-1.high": at_rest("PT-1.high", setpoint=6.0)}

    assert (setpoint_now(HIGH, edited), setpoint_now(HIGH, {})) == (6.0, 8.0)
    assert setpoint_now(STALE, {}) is None


@pytest.mark.parametrize(
    ("phase", "mode", "watched"),
    [("fill", "", False), ("soak", "", True), ("fill", "soak", True)],
)
def test_a_limit_is_watched_in_its_phases_and_modes(
    phase: str, mode: str, watched: bool
) -> None:
    assert is_watched(EXPECTED, PhaseState(phase, 0, mode)) is watched


def test_a_limit_without_phases_is_always_watched() -> None:
    assert is_watched(HIGH, PhaseState("fill", 0))


@pytest.mark.parametrize(
    ("made", "value", "text"),
    [
        (HIGH, 8.04, "8.0 bar"),
        (RATE, -2.125, "−2.125 bar/min"),
        (limit("PT-1", "time_to_limit", unit="s"), 212.4, "3 min 32 s"),
        (limit("PT-1", "time_to_limit", unit="s"), 1e9, "not in sight"),
        (LATE, 1.0, ""),
        (HIGH, None, ""),
    ],
)
def test_what_is_compared_is_written_in_its_own_unit(
    made: LimitInfo, value: float | None, text: str
) -> None:
    assert amount_text(made, CHANNEL, value) == text


def test_what_belongs_to_no_channel_and_has_no_unit_is_not_written() -> None:
    assert amount_text(HIGH, None, 1.0) == ""


@pytest.mark.parametrize(
    ("made", "setpoint", "text"),
    [
        (HIGH, 8.0, "8.0 bar"),
        (HIGH, 0.1 + 0.2, "0.3 bar"),
        (HIGH, 0.25, "0.25 bar"),
        (RATE, 0.25, "0.25 bar/min"),
        (LATE, 0.5, ""),
        (HIGH, None, ""),
    ],
)
def test_a_setpoint_between_the_channels_digits_is_written_in_full(
    made: LimitInfo, setpoint: float | None, text: str
) -> None:
    assert setpoint_text(made, CHANNEL, setpoint) == text


def test_a_limit_is_named_with_its_setpoint() -> None:
    assert limit_text(HIGH, CHANNEL, 6.5) == "high 6.5 bar"
    assert limit_text(STALE, CHANNEL, None) == "stale"


@pytest.mark.parametrize(
    ("key", "old", "new", "text"),
    [
        ("setpoint", 8.0, 8.25, "setpoint 8 bar to 8.25 bar"),
        ("setpoint_in.soak", None, -1.0, "setpoint in soak none to −1 bar"),
        ("off_delay_s", 2.0, 101.325, "off-delay 2 s to 101.325 s"),
    ],
)
def test_an_edit_is_told_with_all_its_digits(
    key: str, old: object, new: object, text: str
) -> None:
    assert edit_text(HIGH, CHANNEL, key, old, new) == text
