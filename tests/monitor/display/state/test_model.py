"""Tests for monitor.display.state.model.

Source: hand-worked here.
"""

from __future__ import annotations

import numpy as np

from monitor.display.state.model import KEPT_EVENTS
from monitor.events import Event
from monitor.link.messages import Change, ForcedState, Part, PhaseState, Value
from monitor.samples import Quality
from tests.monitor.display.made import (
    NOON,
    NS,
    alarm,
    column,
    link_state,
    model,
    recording,
)

UNTIL = NOON + 12 * NS


def test_a_snapshot_is_the_whole_of_what_is_known() -> None:
    made = model()

    assert [value.value for value in made.values] == [8.5, None, 20.0]
    assert made.links["panel"].is_up
    assert made.event_total == 1


def test_new_rows_become_the_newest_value_and_the_past() -> None:
    made = model()

    made.apply(Change(2, UNTIL, [column(0, [7.0, 6.5], NOON + 11 * NS)]), 0)

    assert made.values[0] == Value(UNTIL, 6.5, 0)
    assert made.series[0].window(0, UNTIL, 10).low.tolist() == [7.0, 6.5]
    assert made.until_ns == UNTIL


def test_a_bad_row_is_no_number_whatever_was_sent_with_it() -> None:
    made = model()
    rows = column(0, [7.0, 6.5], NOON + 11 * NS, quality=Quality.CURRENT_FAULT)

    made.apply(Change(2, UNTIL, [rows]), 0)

    assert made.values[0].value is None
    assert made.series[0].window(0, UNTIL, 10).has_gap.all()


def test_a_quality_holds_since_the_first_row_that_had_it() -> None:
    made = model()
    bad = column(0, [1.0, 1.0], NOON + 11 * NS, quality=Quality.STALE)

    made.apply(Change(2, UNTIL, [bad]), 0)
    made.apply(Change(3, UNTIL, [column(0, [1.0], UNTIL + NS, quality=Quality.STALE)]), 0)

    assert made.since_ns[0] == NOON + 11 * NS


def test_a_quality_that_turned_within_the_rows_holds_since_it_turned() -> None:
    made = model()
    rows = column(0, [1.0, 2.0, 3.0], NOON + 11 * NS)
    mixed = type(rows)(0, rows.t_ns, rows.value, bytes([0, 0, Quality.STALE]))

    made.apply(Change(2, UNTIL, [mixed]), 0)

    assert made.since_ns[0] == NOON + 13 * NS


def test_an_empty_column_changes_nothing() -> None:
    made = model()

    made.apply(Change(2, UNTIL, [column(0, [], UNTIL)]), 0)

    assert made.values[0].value == 8.5


def test_absent_parts_of_a_change_stay_as_they_were() -> None:
    made = model()

    made.apply(Change(2, UNTIL), 0)

    assert made.phase.name == "fill"
    assert made.recording.state == "recording"
    assert made.health == {"steps": 20.0}


def test_parts_of_a_change_take_the_place_of_what_was() -> None:
    made = model()
    change = Change(
        2, UNTIL, [], [alarm("PT-1.high")], [Event(UNTIL, "action.note", "", {})],
        [link_state(is_up=False)], PhaseState("soak", UNTIL), recording("stopped"),
        {"steps": 5.0},
    )  # fmt: skip

    made.apply(change, 0)

    assert made.alarms["PT-1.high"].is_active
    assert (made.phase.name, made.recording.state) == ("soak", "stopped")
    assert not made.links["panel"].is_up
    assert made.health == {"steps": 5.0}
    assert made.event_total == 2


def test_forced_values_take_the_place_of_those_before_when_they_are_told() -> None:
    first, second = (ForcedState(tag, 5.0, 1, 2, "K", "", "wet") for tag in ("PT-1", "PT-2"))
    made = model(forced=[first])

    made.apply(Change(2, UNTIL), 0)
    assert made.forced == {"PT-1": first}
    made.apply(Change(3, UNTIL, forced=[second]), 0)
    assert made.forced == {"PT-2": second}
    made.apply(Change(4, UNTIL, forced=[]), 0)

    assert made.forced == {}


def test_what_the_stand_does_not_have_is_counted_and_left_out() -> None:
    made = model()
    nothing = np.zeros(0).tobytes()

    made.apply(Change(2, UNTIL, [column(9, [1.0], UNTIL)], [alarm("XX.high")]), 0)
    made.take_part(Part(1, 9, nothing, nothing))

    assert made.strange == 3
    assert "XX.high" not in made.alarms


def test_history_goes_in_front_of_what_is_there() -> None:
    made = model()
    made.apply(Change(2, UNTIL, [column(0, [7.0], NOON + 11 * NS)]), 0)
    past = column(0, [1.0, 2.0], NOON)

    made.take_part(Part(1, 0, past.t_ns, past.value))

    assert made.series[0].window(0, UNTIL, 10).low.tolist() == [1.0, 2.0, 7.0]
    assert made.late_history == 0


def test_history_that_comes_too_late_is_counted() -> None:
    made = model()
    made.series[0]._levels[0].dropped = 1
    past = column(0, [1.0], NOON)

    made.take_part(Part(1, 0, past.t_ns, past.value))

    assert made.late_history == 1


def test_the_event_list_is_bounded_and_counts_what_it_lets_go() -> None:
    made = model()
    many = [Event(UNTIL, "action.note", "", {})] * (KEPT_EVENTS + 5)

    made.apply(Change(2, UNTIL, [], [], many), 0)

    assert len(made.events) == KEPT_EVENTS
    assert made.event_total == KEPT_EVENTS + 6


def test_the_clock_is_the_lag_ahead_of_what_the_engine_worked_up_to() -> None:
    made = model()

    assert made.clock.at(0) == NOON + 10 * NS + NS // 2


def test_a_beat_sets_the_clock() -> None:
    made = model()

    made.heard(NOON + 60 * NS, NS)

    assert made.clock.at(NS) == NOON + 60 * NS
