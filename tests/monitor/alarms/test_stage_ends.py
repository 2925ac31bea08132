"""Tests for monitor.alarms.stage.

Source: Hand-worked here: what ends by itself does so in the order of time, and a phase lapses
when the limit on its time is raised.
"""

from __future__ import annotations

from monitor.alarms.plan import AlarmsPlan
from monitor.alarms.stage import Alarms
from monitor.events import Action, Control
from tests.monitor.alarms.made import S, act, alarm, enter, raised, run, told


def test_a_shelf_that_ends_before_a_forced_value_is_told_before_it() -> None:
    plan = AlarmsPlan((alarm(),), ("ground",), forcible={"PT-1": (0.0, 200.0)})
    stage = Alarms(plan, 0)
    force = Action("force", "PT-1", "K. Vale", "stuck", 9.0, "M. Orlo", {"value": 40.0})
    run(stage, [act(1, "shelve", reason="noise", seconds=3), Control(S, 1, force)], 2)

    events = run(stage, [], 20)

    assert [(event.t_ns // S, event.kind) for event in events] == [
        (4, "alarm.unshelved"),
        (10, "value.released"),
    ]


def test_a_phase_has_lapsed_from_the_limit_on_its_time_to_the_next_phase() -> None:
    rows = (alarm(), alarm("phase:climb.phase_overlong"))
    stage = Alarms(AlarmsPlan(rows, ("ground", "climb"), lapses=((1, "climb"),)), 0)
    lapsed = [stage.has_lapsed]

    for item in (enter(1, "climb"), raised(2, 1), enter(3, "ground")):
        told(run(stage, [item], item.t_ns / S))
        lapsed.append(stage.has_lapsed)

    assert lapsed == [False, False, True, False]
