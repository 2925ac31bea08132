"""Tests for monitor.stand.phase_plan.

Source: hand-worked here on the file of places_stand.
"""

from __future__ import annotations

from collections.abc import Callable

from monitor.alarms.plan import Alarm, AutomaticEntry, Priority
from monitor.limits.plan import NO_COLUMN, Kind, Limit
from monitor.pipeline import Pipeline
from monitor.stand.model import ModeEntry, PhaseEntry, Stand
from tests.monitor.stand.places_stand import (
    PLACES,
    SECOND_NS,
    entering,
    readings,
    told_of,
)

Load = Callable[[str], Stand]

IDLE = "quiet = true\nlongest_s = 7200\n"


def pair(stand: Stand, name: str) -> tuple[Limit, Alarm]:
    """Give the limit of that id with its alarm."""
    number = [limit.id for limit in stand.plan.limits].index(name)
    return stand.plan.limits[number], stand.plan.alarms.alarms[number]


def test_phases_are_described_for_people(load: Load) -> None:
    assert load(PLACES).phases == (
        PhaseEntry("ground", "Ground", ""),
        PhaseEntry("climb", "climb", "", planned_s=600),
        PhaseEntry(
            "hold",
            "hold",
            "",
            sort="hold",
            planned_s=1800,
            longest_s=3600,
            automatic="after climb, when PT-301 is below 40 kPa for 10 s and TT-302 is above "
            "-20 °C",
        ),
        PhaseEntry("descent", "descent", ""),
        PhaseEntry("idle", "Not testing", "", longest_s=7200, is_quiet=True),
    )


def test_an_entry_from_several_phases_on_a_plain_number_is_told(load: Load) -> None:
    text = PLACES.replace('after = ["climb"]', 'after = ["climb", "descent"]')
    text = text.replace('tag = "TT-302", above = -20', 'tag = "ZS-401", above = 0.5')

    assert load(text).phases[2].automatic == (
        "after climb or descent, when PT-301 is below 40 kPa for 10 s and ZS-401 is above 0.5"
    )


def test_modes_are_described_for_people(load: Load) -> None:
    assert load(PLACES).modes == (
        ModeEntry("normal", "normal", ""),
        ModeEntry("loop_only", "Loop only", "Cabin valve shut."),
    )


def test_the_plan_has_phases_and_modes_in_their_order(load: Load) -> None:
    alarms = load(PLACES).plan.alarms

    assert (alarms.phases, alarms.modes) == (
        ("ground", "climb", "hold", "descent", "idle"),
        ("normal", "loop_only"),
    )


def test_a_stand_without_modes_has_none(load: Load, good: str) -> None:
    stand = load(good)

    assert (stand.modes, stand.plan.alarms.modes) == ((), ())


def test_conditions_look_at_the_filtered_value_with_their_delay_and_deadband(
    load: Load,
) -> None:
    plan = load(PLACES).plan

    assert plan.alarms.conditions == (
        Limit(
            "enter:hold.PT-301.below",
            plan.channels.column["PT-301~filter"],
            Kind.LOW,
            setpoint=40,
            deadband=0.5,
            on_delay_ns=10 * SECOND_NS,
            bridge_ns=2 * SECOND_NS,
        ),
        Limit(
            "enter:hold.TT-302.above",
            plan.channels.column["TT-302"],
            Kind.HIGH,
            setpoint=-20,
            bridge_ns=5 * SECOND_NS,
        ),
    )


def test_an_entry_names_its_conditions_by_position(load: Load) -> None:
    text = PLACES + (
        '[[phases]]\nname = "out"\nlongest_s = 9\n[phases.enter]\nafter = ["hold", "climb"]\n'
        'when = [{ tag = "PT-302", above = 50 }, { tag = "TT-301", below = 9 }]\n'
    )

    assert load(text).plan.alarms.automatic == (
        AutomaticEntry("hold", frozenset({"climb"}), (0, 1)),
        AutomaticEntry("out", frozenset({"hold", "climb"}), (2, 3)),
    )


def test_a_phase_that_lasts_too_long_is_an_alarm_of_medium_priority(load: Load) -> None:
    limit, alarm = pair(load(PLACES), "phase:hold.phase_overlong")

    assert limit == Limit(
        "phase:hold.phase_overlong",
        NO_COLUMN,
        Kind.PHASE_OVERLONG,
        on_delay_ns=3600 * SECOND_NS,
        watched_in=frozenset({"hold"}),
    )
    assert alarm == Alarm(
        "phase:hold.phase_overlong",
        "phase:hold",
        Priority.MEDIUM,
        "hold lasts longer than 3600 s",
        "Go on to the next phase, or enter hold anew if it is to last longer.",
    )


def test_its_text_says_what_lapses(load: Load) -> None:
    text = PLACES.replace(
        'response = "Vent."\nsuppressed_in = ["ground"]', 'response = "Vent."'
    )
    text = text.replace('suppressed_in = ["ground", "descent"]', 'suppressed_in = ["hold"]')
    _, alarm = pair(load(text), "phase:hold.phase_overlong")

    assert alarm.response.endswith("It suppresses no more from here on: ZS-401.state.")


def test_of_many_that_lapse_eight_are_named_and_the_others_counted(load: Load) -> None:
    _, alarm = pair(load(PLACES), "phase:idle.phase_overlong")

    assert alarm.response == (
        "Go on to the next phase, or enter idle anew if it is to last longer. It suppresses no "
        "more from here on: PT-301.high, PT-302.stale, PT-302.fault, PT-303.stale, "
        "PT-303.fault, "
        "TT-301.high, TT-302.stale, TT-302.fault and 3 more."
    )


def test_exactly_eight_that_lapse_are_all_named(load: Load) -> None:
    safe = "setpoint = 40\n", "setpoint = 40\nsafety = true\n"
    text = PLACES.replace(*safe).replace("is = 1\n", "is = 1\nsafety = true\n")
    text = text.replace("on_delay_s = 4\n", "on_delay_s = 4\nsafety = true\n")
    _, alarm = pair(load(text), "phase:idle.phase_overlong")

    assert alarm.response.endswith(
        "from here on: PT-301.high, PT-302.stale, PT-302.fault, PT-303.stale, PT-303.fault, "
        "TT-302.stale, TT-302.fault, link:node.high."
    )


def test_its_table_goes_before(load: Load) -> None:
    text = PLACES.replace(
        IDLE,
        f'{IDLE}alarm = {{ priority = "high", message = "Wake up", response = "Look.", '
        "latch = true }\n",
    )
    _, alarm = pair(load(text), "phase:idle.phase_overlong")

    assert alarm == Alarm(
        "phase:idle.phase_overlong",
        "phase:idle",
        Priority.HIGH,
        "Wake up",
        "Look.",
        is_latching=True,
    )


def test_the_plan_says_which_alarm_ends_what_a_phase_suppresses(load: Load) -> None:
    plan = load(PLACES).plan

    assert [(plan.limits[number].id, phase) for number, phase in plan.alarms.lapses] == [
        ("phase:hold.phase_overlong", "hold"),
        ("phase:idle.phase_overlong", "idle"),
    ]


def test_limits_without_a_column_stand_at_the_end(load: Load) -> None:
    columns = [limit.column == NO_COLUMN for limit in load(PLACES).plan.limits]

    assert columns == sorted(columns)


def test_the_compiled_stand_enters_hold_when_both_conditions_stand(load: Load) -> None:
    pipeline = Pipeline(load(PLACES.replace("lag_s = 2", "median_of = 3")).plan, 0)
    pipeline.step(readings(1, 20), [entering(5, "climb")], 20 * SECOND_NS)
    # Alone, neither brings it.
    pipeline.step(readings(21, 60, p1=35), [], 60 * SECOND_NS)
    pipeline.step(readings(61, 70), [], 70 * SECOND_NS)
    pipeline.step(readings(71, 100, t2=-10), [], 100 * SECOND_NS)

    step = pipeline.step(readings(101, 160, p1=35, t2=-10), [], 160 * SECOND_NS)

    # The median sees 35 from its second reading on, and 10 s must pass.
    assert told_of(step.events, "phase.entered") == [(112, "hold")]


def test_the_compiled_stand_lets_the_quiet_lapse(load: Load) -> None:
    pipeline = Pipeline(load(PLACES.replace("longest_s = 7200", "longest_s = 50")).plan, 0)

    rows = [*readings(1, 20), *readings(21, 100, t1=45)]
    step = pipeline.step(rows, [entering(10, "idle")], 100 * SECOND_NS)

    assert told_of(step.events, "alarm.raised", "phase.lapsed", "alarm.annunciated") == [
        (21, "TT-301.high"),
        (60, "phase:idle.phase_overlong"),
        (60, "idle"),
        (60, "TT-301.high"),
    ]
