"""Tests for monitor.alarms.stage.

Source: Hand-worked here: one occurrence after the other, some of them shown and some not; the
rules are the project's own limit rules 14 to 16 (DEVELOPERS.md).
"""

from __future__ import annotations

import pytest

from monitor.alarms.core import Core
from monitor.limits.edges import Turn
from tests.monitor.alarms.made import S, act, alarms, edge, kinds, run


@pytest.mark.parametrize("is_restored", [False, True])
def test_what_comes_and_goes_unseen_does_not_wipe_out_what_was_seen_before(
    is_restored: bool,
) -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED), edge(2, Turn.CLEARED)], 2)
    if is_restored:
        other = alarms()
        other.load_state(stage.state())
        stage = other

    run(stage, [act(3, "enter_phase", "climb"), edge(4, Turn.RAISED), edge(5, Turn.CLEARED)], 6)
    events = run(stage, [act(7, "enter_phase", "ground")], 8)

    assert stage.status[0].core is Core.RETURNED_UNACKNOWLEDGED
    assert kinds(events) == ["phase.entered", "alarm.unsuppressed", "alarm.annunciated"]


def test_what_was_acknowledged_before_leaves_nothing_to_acknowledge() -> None:
    stage = alarms()
    items = [
        edge(1, Turn.RAISED),
        act(2, "acknowledge"),
        edge(3, Turn.CLEARED),
        act(4, "enter_phase", "climb"),
        edge(5, Turn.RAISED),
        edge(6, Turn.CLEARED),
    ]

    run(stage, items, 7)

    assert stage.status[0].core is Core.NORMAL


def test_what_was_shown_when_its_suppression_ended_needs_acknowledging() -> None:
    stage = alarms()
    items = [
        act(1, "enter_phase", "climb"),
        edge(2, Turn.RAISED),
        act(3, "enter_phase", "ground"),
        act(4, "enter_phase", "climb"),
        edge(5, Turn.CLEARED),
    ]

    run(stage, items, 6)

    assert stage.status[0].core is Core.RETURNED_UNACKNOWLEDGED


def test_a_new_occurrence_has_times_of_its_own() -> None:
    stage = alarms()
    run(stage, [edge(1, Turn.RAISED), act(2, "acknowledge"), edge(3, Turn.CLEARED)], 4)

    run(stage, [edge(5, Turn.RAISED)], 6)

    status = stage.status[0]
    assert (status.onset_ns, status.true_ns, status.annunciated_ns) == (5 * S - 5, 5 * S, 5 * S)
