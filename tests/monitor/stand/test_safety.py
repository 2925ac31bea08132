"""Tests for monitor.stand.safety.

Source: hand-worked here on the file of places_stand: PT-301.low is of top priority, UA-901 an
abort criterion that looks at PT-301.low, TT-301.high and, through UA-401, at ZS-401.state.
PT-301, PT-303, TT-301 and ZS-401 are read by panel, TT-302 by node.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.stand.model import Stand
from monitor.stand.safety import behind_top, safety_alarms, suppressed_there
from tests.monitor.stand.places_stand import PLACES, draft_of

Load = Callable[[str], Stand]

LOW = 'on_delay_s = 3\npriority = "top"\n'
HOT = 'setpoint = 40\npriority = "low"\n'
DISCREPANCY = """
[channels.PDY-301.limits.high]
setpoint = 5
priority = "top"
response = "-"
"""
AGAINST_302 = """
[channels.TT-301.limits.deviation]
from = "TT-302"
setpoint = 5
priority = "top"
response = "-"
"""
WITHOUT_ABORT = PLACES[: PLACES.index("[abort.UA-901]")] + PLACES[PLACES.index("[[phases]]") :]


def safe(text: str, *names: str) -> set[str]:
    """Give those of *names* that matter to safety."""
    return set(names) & safety_alarms(draft_of(text))


def test_top_priority_and_abort_criteria_matter_to_safety() -> None:
    names = ("PT-301.low", "PT-301.high", "TT-301.high", "UA-401.combination", "UA-901.abort")

    assert safe(PLACES, *names) == {"PT-301.low", "UA-901.abort"}


def test_an_abort_criterion_of_lower_priority_matters_all_the_same() -> None:
    text = PLACES.replace("safe_state =", 'priority = "medium"\nsafe_state =')

    assert safe(text, "UA-901.abort") == {"UA-901.abort"}


@pytest.mark.parametrize(("old", "said"), [(LOW, "false"), (HOT, "true")])
def test_a_table_that_says_so_goes_before(old: str, said: str) -> None:
    text = PLACES.replace(old, f"{old}safety = {said}\n")
    names = safe(text, "PT-301.low", "TT-301.high")

    assert names == (set() if old == LOW else {"PT-301.low", "TT-301.high"})


def test_recording_and_phases_that_last_too_long_always_speak() -> None:
    names = {"host:recording.high", "phase:hold.phase_overlong", "phase:idle.phase_overlong"}

    assert safe(PLACES, *names) == names


@pytest.mark.parametrize(
    ("tag", "is_safe"),
    [
        ("PT-301", True),
        ("TT-301", True),
        ("ZS-401", True),
        ("PT-303", False),
        ("TT-302", False),
    ],
)
def test_a_sensors_alarm_matters_if_it_blinds_one_that_does(tag: str, is_safe: bool) -> None:
    names = {f"{tag}.stale", f"{tag}.fault"}

    assert safe(PLACES, *names) == (names if is_safe else set())


def test_without_the_criterion_only_the_limit_of_top_priority_counts() -> None:
    names = ("PT-301.fault", "TT-301.fault", "ZS-401.fault")

    assert safe(WITHOUT_ABORT, *names) == {"PT-301.fault"}


def test_an_input_of_a_formula_blinds_its_limits() -> None:
    text = PLACES.replace(LOW, 'priority = "low"\n') + DISCREPANCY

    assert safe(text, "PT-303.stale", "PT-302.stale") == {"PT-303.stale"}


def test_the_other_channel_of_a_deviation_blinds_it() -> None:
    assert safe(PLACES + AGAINST_302, "TT-302.stale", "link:node.high") == {
        "TT-302.stale",
        "link:node.high",
    }


def test_a_deviation_from_a_number_needs_no_other_channel() -> None:
    text = PLACES + AGAINST_302.replace('"TT-302"', "20")

    assert safe(text, "TT-302.stale", "TT-301.stale") == {"TT-301.stale"}


def test_a_link_matters_if_one_of_its_sensors_does() -> None:
    assert safe(PLACES, "link:panel.high", "link:node.high") == {"link:panel.high"}


@pytest.mark.parametrize(
    ("alarm", "is_safe"),
    [("safety = true", True), ('priority = "top"', True), ('priority = "high"', False)],
)
def test_the_table_of_a_link_goes_before(alarm: str, is_safe: bool) -> None:
    text = PLACES.replace('fields = ["t2"]\n', f'fields = ["t2"]\nalarm = {{ {alarm} }}\n')

    assert safe(text, "link:node.high") == ({"link:node.high"} if is_safe else set())


def test_a_link_can_be_said_not_to_matter() -> None:
    text = PLACES.replace('"z1"]\n', '"z1"]\nalarm = { safety = false }\n')

    assert safe(text, "link:panel.high") == set()


def test_a_sensors_alarm_of_top_priority_matters() -> None:
    text = PLACES + '[channels.TT-302.limits.fault]\npriority = "top"\n'

    assert safe(text, "TT-302.fault", "TT-302.stale") == {"TT-302.fault"}


def test_a_sensors_alarm_of_top_priority_does_not_make_its_own_sensor_matter() -> None:
    text = PLACES + "[channels.TT-302.limits.fault]\nsafety = true\n"

    assert safe(text, "link:node.high") == set()


def test_combinations_that_look_at_each_other_end_the_search() -> None:
    text = PLACES.replace('"ZS-401.state" }', '"UA-901.abort" }')

    assert safe(text, "ZS-401.stale", "TT-301.stale") == {"TT-301.stale"}


def test_a_combination_that_looks_at_what_is_not_there_is_no_end_of_the_search() -> None:
    text = PLACES.replace('"ZS-401.state" }', '"ZS-402.state" }')

    assert safe(text, "TT-301.stale") == {"TT-301.stale"}


def test_a_quiet_phase_suppresses_what_does_not_matter_to_safety(load: Load) -> None:
    alarms = {alarm.id: alarm for alarm in load(PLACES).plan.alarms.alarms}
    quiet = {name for name, alarm in alarms.items() if "idle" in alarm.suppressed_in}

    assert quiet == set(alarms) - safety_alarms(draft_of(PLACES))


def test_what_was_suppressed_before_stays_so(load: Load) -> None:
    alarms = {alarm.id: alarm for alarm in load(PLACES).plan.alarms.alarms}

    assert alarms["PT-301.high"].suppressed_in == {"ground", "idle"}


def test_without_a_quiet_phase_nothing_is_added(load: Load) -> None:
    plan = load(PLACES.replace("quiet = true\n", "")).plan

    assert {x.id for x in plan.alarms.alarms if x.suppressed_in} == {
        "PT-301.high",
        "ZS-401.state",
    }


def test_what_a_phase_suppresses_is_listed_in_the_order_of_the_file() -> None:
    assert suppressed_there(draft_of(PLACES), "ground") == ["PT-301.high", "ZS-401.state"]


def test_what_a_quiet_phase_suppresses_is_listed(load: Load) -> None:
    alarms = load(PLACES).plan.alarms.alarms

    assert suppressed_there(draft_of(PLACES), "idle") == [
        alarm.id for alarm in alarms if "idle" in alarm.suppressed_in
    ]


def test_a_criterion_that_looks_at_a_sensors_alarm_is_not_blinded_by_the_sensor() -> None:
    text = PLACES.replace('hot = "TT-301.high"', 'hot = "TT-302.fault"')

    assert safe(text, "TT-302.fault", "link:node.high") == set()


def test_what_an_abort_criterion_goes_by_is_behind_top_priority() -> None:
    """UA-901 looks at UA-401.combination, that at a limit of PT-301 and a state of ZS-401."""
    found = behind_top(draft_of(PLACES))

    assert {"TT-301.high", "TT-301", "UA-401.combination", "ZS-401.state", "ZS-401"} <= found
    assert "PT-301.high" not in found


def test_the_cause_that_silences_an_alarm_of_top_priority_is_behind_it() -> None:
    text = WITHOUT_ABORT.replace(LOW, f'{LOW}suppressed_by = ["TT-301.high"]\n')

    assert "TT-301.high" not in behind_top(draft_of(WITHOUT_ABORT))
    assert {"TT-301.high", "TT-301"} <= behind_top(draft_of(text))
