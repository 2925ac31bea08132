"""Tests for monitor.stand.combination_plan.

Source: hand-worked here on the file of places_stand.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.alarms.plan import Alarm, Priority
from monitor.limits.condition import parse_condition
from monitor.limits.plan import NO_COLUMN, Kind, Limit
from monitor.pipeline import Pipeline
from monitor.stand.alarm_names import Named, alarm_names
from monitor.stand.combination_plan import in_order, looked_at, signs_of, spelled_out
from monitor.stand.model import AbortEntry, Stand
from monitor.stand.schema_phases import CombinationTable
from tests.monitor.stand.places_stand import (
    PLACES,
    SECOND_NS,
    draft_of,
    readings,
    told_of,
)

Load = Callable[[str], Stand]

INPUTS = 'inputs = { low = "PT-301.low", open = "ZS-401.state" }\n'
UA = "on_delay_s = 4\n"
HOT = 'setpoint = 40\npriority = "low"\n'


def pair(stand: Stand, name: str) -> tuple[Limit, Alarm]:
    """Give the limit of that id with its alarm."""
    number = [limit.id for limit in stand.plan.limits].index(name)
    return stand.plan.limits[number], stand.plan.alarms.alarms[number]


def combination(tag: str, when: str, **inputs: str) -> str:
    """Write another combination."""
    listed = ", ".join(f'{name} = "{wanted}"' for name, wanted in inputs.items())
    head = f'[combinations.{tag}]\nwhen = "{when}"\n'
    return f'{head}inputs = {{ {listed} }}\npriority = "journal"\n'


def test_a_combination_has_its_condition_and_the_positions_of_its_inputs(load: Load) -> None:
    stand = load(PLACES)
    ids = [limit.id for limit in stand.plan.limits]
    limit, _ = pair(stand, "UA-401.combination")

    assert limit == Limit(
        "UA-401.combination",
        NO_COLUMN,
        Kind.COMBINATION,
        on_delay_ns=4 * SECOND_NS,
        condition=parse_condition("low and not open"),
        inputs=(("low", ids.index("PT-301.low")), ("open", ids.index("ZS-401.state"))),
    )


def test_it_takes_off_delay_and_places_from_its_table(load: Load) -> None:
    extra = 'off_delay_s = 7\nwatched_in = ["hold", "loop_only"]\n'
    limit, _ = pair(load(PLACES.replace(UA, UA + extra)), "UA-401.combination")

    assert (limit.off_delay_ns, limit.watched_in) == (7 * SECOND_NS, {"hold", "loop_only"})


def test_without_a_delay_it_has_none(load: Load) -> None:
    limit, _ = pair(load(PLACES.replace(UA, "")), "UA-401.combination")

    assert (limit.on_delay_ns, limit.off_delay_ns) == (0, 0)


def test_its_alarm_has_title_priority_and_response(load: Load) -> None:
    _, alarm = pair(load(PLACES), "UA-401.combination")

    assert alarm == Alarm(
        "UA-401.combination",
        "UA-401",
        Priority.HIGH,
        "Make-up without effect",
        "Look for the leak.",
        suppressed_in=frozenset({"idle"}),
        period_ns=6 * SECOND_NS,
    )


def test_everything_that_an_alarm_may_have_reaches_it(load: Load) -> None:
    extra = (
        'message = "No make-up"\nlatch = true\nsuppressed_in = ["climb"]\nrealarm_s = 60\n'
        'suppressed_by = ["link:node.high"]\nfirst_out = "loop"\nsafety = true\n'
    )
    text = PLACES.replace(UA, UA + extra).replace(HOT, f'{HOT}first_out = "loop"\n')
    _, alarm = pair(load(text), "UA-401.combination")

    assert alarm == Alarm(
        "UA-401.combination",
        "UA-401",
        Priority.HIGH,
        "No make-up",
        "Look for the leak.",
        is_latching=True,
        suppressed_in=frozenset({"climb"}),
        suppressed_by=("link:node.high",),
        realarm_ns=60 * SECOND_NS,
        group="loop",
        period_ns=6 * SECOND_NS,
    )


def test_it_may_clear_by_itself(load: Load) -> None:
    _, alarm = pair(
        load(PLACES.replace(UA, f"{UA}clears_by_itself = true\n")), "UA-401.combination"
    )

    assert alarm.clears_by_itself


def test_without_a_title_its_message_is_the_condition_with_the_limits(load: Load) -> None:
    text = PLACES.replace('title = "Make-up without effect"\n', "")
    _, alarm = pair(load(text), "UA-401.combination")

    assert alarm.message == "UA-401: PT-301.low and not ZS-401.state"


def test_it_is_known_no_better_than_its_slowest_input(load: Load) -> None:
    # PT-301.low: on-delay 3 s, filter 2 s, a reading each second; UA-401 itself: 4 s more.
    _, alarm = pair(load(PLACES), "UA-901.abort")

    assert alarm.period_ns == 10 * SECOND_NS


def test_a_criterion_is_of_top_priority_and_latches_and_says_its_safe_state(
    load: Load,
) -> None:
    _, alarm = pair(load(PLACES), "UA-901.abort")

    assert alarm == Alarm(
        "UA-901.abort",
        "UA-901",
        Priority.TOP,
        "Loop lost",
        "Bring about: Cabin at ambient pressure, oxygen shut.",
        is_latching=True,
        period_ns=10 * SECOND_NS,
        safe_state="Cabin at ambient pressure, oxygen shut.",
    )


def test_a_criterion_may_say_otherwise(load: Load) -> None:
    old = "on_delay_s = 10\n"
    text = PLACES.replace(old, f'{old}priority = "high"\nlatch = false\nresponse = "Out."\n')
    _, alarm = pair(load(text), "UA-901.abort")

    assert (alarm.priority, alarm.is_latching, alarm.response) == (Priority.HIGH, False, "Out.")


def test_criteria_are_listed_with_what_they_look_at(load: Load) -> None:
    assert load(PLACES).aborts == (
        AbortEntry(
            "UA-901.abort",
            "Loop lost",
            "at_least(2, PT-301.low, TT-301.high, UA-401.combination)",
            "Cabin at ambient pressure, oxygen shut.",
            ("PT-301.low", "TT-301.high", "ZS-401.state"),
        ),
    )


def test_a_criterion_without_a_title_is_listed_by_its_tag(load: Load) -> None:
    assert load(PLACES.replace('title = "Loop lost"\n', "")).aborts[0].title == "UA-901"


def test_inputs_come_before_those_that_use_them(load: Load) -> None:
    text = PLACES + combination("UA-1", "x and y", x="UA-2.combination", y="UA-901.abort")
    text += combination("UA-2", "x", x="UA-3.combination") + combination(
        "UA-3", "x", x="PT-301.low"
    )
    limits = load(text).plan.limits
    late = [
        (limit.id, limits[place].id)
        for number, limit in enumerate(limits)
        for _, place in limit.inputs
        if place >= number
    ]

    assert late == []


def test_otherwise_they_come_in_the_order_of_the_file_and_criteria_last(load: Load) -> None:
    text = combination("UA-9", "x", x="PT-301.low") + PLACES
    text += combination("UA-1", "x", x="PT-301.low")

    assert [limit.id for limit in load(text).plan.limits[-4:]] == [
        "UA-9.combination",
        "UA-401.combination",
        "UA-1.combination",
        "UA-901.abort",
    ]


def test_a_loop_leaves_each_there_once() -> None:
    text = PLACES + combination("UA-1", "x", x="UA-2.combination")
    text += combination("UA-2", "x", x="UA-1.combination")

    assert sorted(one.id for one in in_order(alarm_names(draft_of(text)))) == [
        "UA-1.combination",
        "UA-2.combination",
        "UA-401.combination",
        "UA-901.abort",
    ]


def test_an_input_that_is_not_there_has_no_place_in_the_order() -> None:
    text = PLACES + combination("UA-1", "x", x="UA-7.combination")

    assert "UA-7.combination" not in [one.id for one in in_order(alarm_names(draft_of(text)))]


def raising(load: Load, text: str) -> list[str]:
    """Give the limits that bad data raises."""
    return [limit.id for limit in load(text).plan.limits if limit.raises_on_bad]


def test_bad_data_raises_what_a_criterion_looks_at_but_not_under_a_not(load: Load) -> None:
    assert raising(load, PLACES) == ["PT-301.low", "TT-301.high"]


def test_without_a_criterion_it_raises_top_priority_only(load: Load) -> None:
    start, end = PLACES.index("[abort.UA-901]"), PLACES.index("[[phases]]")

    assert raising(load, PLACES[:start] + PLACES[end:]) == ["PT-301.low"]


def test_it_raises_what_counts_in_a_combination_of_a_criterion(load: Load) -> None:
    text = PLACES.replace("low and not open", "low and open")

    assert raising(load, text) == ["PT-301.low", "TT-301.high", "ZS-401.state"]


def test_a_not_of_a_not_counts_as_it_is(load: Load) -> None:
    text = PLACES.replace("at_least(2, low, hot, dry)", "low or hot or not dry")

    assert raising(load, text) == ["PT-301.low", "TT-301.high", "ZS-401.state"]


def test_what_says_hold_is_not_raised(load: Load) -> None:
    assert raising(load, PLACES.replace(HOT, f'{HOT}on_bad = "hold"\n')) == ["PT-301.low"]


def test_what_counts_both_ways_is_not_raised(load: Load) -> None:
    text = PLACES.replace("low, hot, dry)", "low, hot, dry) or not hot")

    assert raising(load, text) == ["PT-301.low"]


@pytest.mark.parametrize("limit", ["TT-301.fault", "phase:hold.phase_overlong"])
def test_what_does_not_compare_is_not_raised(limit: str, load: Load) -> None:
    text = PLACES.replace('hot = "TT-301.high"', f'hot = "{limit}"')

    assert raising(load, text) == ["PT-301.low"]


def test_a_sensor_counts_as_the_criterion_that_it_blinds(load: Load) -> None:
    stand = load(PLACES)
    names = ("TT-301.stale", "TT-301.fault", "ZS-401.fault", "TT-302.fault")

    assert [pair(stand, name)[1].priority.value for name in names] == [
        "high",
        "high",
        "high",
        "low",
    ]


def test_limits_are_looked_at_once_in_the_order_of_the_conditions() -> None:
    names = alarm_names(draft_of(PLACES))

    assert looked_at(names, "UA-901.abort") == ["PT-301.low", "TT-301.high", "ZS-401.state"]


def test_signs_multiply_along_the_way() -> None:
    text = PLACES.replace("at_least(2, low, hot, dry)", "not (low and dry) and hot")

    assert signs_of(alarm_names(draft_of(text)), ["UA-901.abort"]) == {
        "PT-301.low": {True},
        "TT-301.high": {False},
        "ZS-401.state": {False},
    }


def test_combinations_in_a_loop_end_the_search() -> None:
    text = PLACES.replace(INPUTS, INPUTS.replace("ZS-401.state", "UA-901.abort"))

    assert set(signs_of(alarm_names(draft_of(text)), ["UA-901.abort"])) == {
        "PT-301.low",
        "TT-301.high",
    }


def test_names_are_replaced_whole() -> None:
    ids = {"a": "PT-1.low", "and_b": "PT-2.low"}

    assert spelled_out(" at_least(1, a, and_b) and not a ", ids) == (
        "at_least(1, PT-1.low, PT-2.low) and not PT-1.low"
    )


def test_the_compiled_stand_raises_the_criterion_when_two_of_three_stand(load: Load) -> None:
    plan = load(PLACES.replace("filter = { lag_s = 2 }\n", "")).plan
    step = Pipeline(plan, 0).step(readings(1, 30, p1=20, z1=1, t1=45), [], 30 * SECOND_NS)

    # PT-301 for 3 s, beside TT-301 at once; then 10 s.
    assert (14, "UA-901.abort") in told_of(step.events, "alarm.raised")


def test_the_compiled_stand_raises_the_criterion_when_its_sensors_are_lost(load: Load) -> None:
    pipeline = Pipeline(load(PLACES).plan, 0)
    pipeline.step(readings(1, 10), [], 10 * SECOND_NS)

    step = pipeline.step([], [], 40 * SECOND_NS)

    # Stale 5 s after the last reading; PT-301.low after a bridge of 2 s, TT-301.high after 5 s.
    assert told_of(step.events, "alarm.raised")[-2:] == [
        (21, "UA-401.combination"),
        (30, "UA-901.abort"),
    ]


def test_a_chain_of_combinations_may_be_longer_than_calls_are_deep() -> None:
    chain = [(f"UA-{n}", f"UA-{n + 1}.combination") for n in range(1500)]
    tables = [
        (tag, CombinationTable(priority=Priority.LOW, when="a", inputs={"a": needs}))
        for tag, needs in chain
    ]
    names = {
        f"{tag}.combination": Named(f"{tag}.combination", (), table, Kind.COMBINATION)
        for tag, table in tables
    }

    assert [one.id for one in in_order(names)] == list(reversed(names))
