"""Tests for monitor.stand.alarm_plan.

Source: hand-worked here; the good file is that of conftest. A sensor's alarm takes the highest
priority among the alarms that fall blind with it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from monitor.alarms.plan import Alarm, Priority
from monitor.limits.plan import Kind, Limit
from monitor.stand.alarm_plan import ns
from monitor.stand.model import Stand

S = 1_000_000_000
COMPUTED = (
    '[channels.{tag}]\nunit = "kPa"\nspan = [0, 9]\nformula = "a"\ninputs = {{ a = "{a}" }}\n'
)


def limits_of(stand: Stand) -> dict[str, Limit]:
    return {limit.id: limit for limit in stand.plan.limits}


def alarms_of(stand: Stand) -> dict[str, Alarm]:
    return {alarm.id: alarm for alarm in stand.plan.alarms.alarms}


def test_every_written_key_of_a_limit_arrives(good: str, load: Callable[..., Stand]) -> None:
    stand = load(good)

    assert limits_of(stand)["PT-101.high"] == Limit(
        id="PT-101.high",
        column=stand.plan.channels.column["PT-101~filter"],
        kind=Kind.HIGH,
        setpoint=150.0,
        setpoint_in={"leak": 160.0},
        deadband=2.0,
        on_delay_ns=5 * S,
        off_delay_ns=4 * S,
        bridge_ns=S,
        raises_on_bad=True,
    )
    assert alarms_of(stand)["PT-101.high"] == Alarm(
        id="PT-101.high",
        tag="PT-101",
        priority=Priority.TOP,
        message="Vessel pressure high",
        response="Open the vent.",
        is_latching=True,
        suppressed_in=frozenset(["fill"]),
        lag_ns=1_100_000_000,
        period_ns=500_000_000,
    )


def test_limits_and_alarms_stand_in_the_order_of_the_file_system_ones_last(
    good: str, load: Callable[..., Stand]
) -> None:
    text = good.replace(
        "[channels.PT-102]", "[channels.PT-101.limits.stale]\n[channels.PT-102]"
    )
    stand = load(text)

    assert [limit.id for limit in stand.plan.limits] == [
        "PT-101.high",
        "PT-101.low",
        "PT-101.stale",
        "PT-101.fault",
        "PT-102.stale",
        "PT-102.fault",
        "TT-101.stale",
        "TT-101.fault",
        "PDT-101.low",
        "PDT-101.fault",
        "link:panel.high",
        "host:recording.high",
    ]
    assert [alarm.id for alarm in stand.plan.alarms.alarms] == [
        limit.id for limit in stand.plan.limits
    ]


def test_what_a_limit_leaves_out_is_nothing_but_a_bridge(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good)
    low = limits_of(stand)["PDT-101.low"]

    assert (low.on_delay_ns, low.off_delay_ns, low.deadband) == (0, 0, 0)
    assert (low.bridge_ns, low.raises_on_bad) == (S, False)
    assert alarms_of(stand)["PDT-101.low"].message == "Vessel minus reference low"


def test_top_priority_has_no_delay_of_its_own(good: str, load: Callable[..., Stand]) -> None:
    text = (
        good.replace("on_delay_s = 5\n", "")
        .replace("on_delay_s = 3\n", "")
        .replace('priority = "high"\n\n', 'priority = "top"\n\n')
    )
    text += '[channels.PT-101.limits.fault]\npriority = "top"\n'
    limits = limits_of(load(text))

    assert limits["PT-101.high"].on_delay_ns == 0
    assert limits["PT-101.fault"].on_delay_ns == 0
    assert limits["link:panel.high"].on_delay_ns == 0


@pytest.mark.parametrize(
    ("priority", "on_bad", "raises"),
    [
        ("top", "", True),
        ("high", "", False),
        ("top", 'on_bad = "hold"\n', False),
        ("low", 'on_bad = "raise"\n', True),
    ],
)
def test_bad_data_raises_top_priority_and_whatever_says_so(
    priority: str, on_bad: str, raises: bool, good: str, load: Callable[..., Stand]
) -> None:
    text = good.replace('priority = "top"\n', f'priority = "{priority}"\n{on_bad}')

    assert limits_of(load(text))["PT-101.high"].raises_on_bad is raises


@pytest.mark.parametrize(
    ("bridge", "expected_ns"), [("", S), ("bridge_s = 0\n", 0), ("bridge_s = 7\n", 7 * S)]
)
def test_the_bridge_is_two_periods_unless_it_is_written(
    bridge: str, expected_ns: int, good: str, load: Callable[..., Stand]
) -> None:
    text = good.replace("latch = true\n", f"latch = true\n{bridge}")

    assert limits_of(load(text))["PT-101.high"].bridge_ns == expected_ns


def test_a_sensor_has_its_alarms_by_itself(good: str, load: Callable[..., Stand]) -> None:
    stand = load(good)
    stale, fault = limits_of(stand)["PT-101.stale"], limits_of(stand)["PT-101.fault"]
    alarms = alarms_of(stand)

    assert (stale.kind, stale.column, stale.on_delay_ns) == (Kind.STALE, 0, 0)
    assert (fault.kind, fault.column, fault.on_delay_ns) == (Kind.FAULT, 0, 2 * S)
    assert alarms["PT-101.stale"].message == "Vessel pressure: no reading for 3 s"
    assert alarms["PT-101.stale"].response == (
        "Check that panel is on and sends p1; until then the limits of PT-101 are blind."
    )
    assert alarms["PT-101.fault"].message == "Vessel pressure: sensor fault"
    assert "wiring to panel" in alarms["PT-101.fault"].response


def test_a_computed_channel_with_limits_has_an_alarm_for_no_result(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good + COMPUTED.format(tag="PY-1", a="PT-101"))
    alarms = alarms_of(stand)

    assert alarms["PDT-101.fault"].message == "Vessel minus reference: no result"
    assert alarms["PDT-101.fault"].response.startswith("Check PT-101, PT-102; until then")
    assert "PY-1.fault" not in alarms
    assert "PDT-101.stale" not in alarms


def test_the_alarms_of_a_sensor_can_be_adjusted(good: str, load: Callable[..., Stand]) -> None:
    added = (
        "[channels.TT-101.limits.stale]\n"
        'priority = "journal"\non_delay_s = 1\noff_delay_s = 2\nmessage = "M"\nresponse = "R"\n'
        'latch = true\nsuppressed_in = ["fill"]\n'
    )
    stand = load(good + added)

    limit, alarm = limits_of(stand)["TT-101.stale"], alarms_of(stand)["TT-101.stale"]
    assert (limit.on_delay_ns, limit.off_delay_ns) == (S, 2 * S)
    assert replace(alarm, suppressed_in=frozenset(), suppressed_by=()) == Alarm(
        "TT-101.stale", "TT-101", Priority.JOURNAL, "M", "R", True
    )
    assert alarm.suppressed_in == {"fill"}


@pytest.mark.parametrize(
    ("own", "expected"),
    [
        ("journal", "low"),
        ("low", "low"),
        ("medium", "medium"),
        ("high", "high"),
        ("top", "high"),
    ],
)
def test_a_sensor_alarm_is_as_urgent_as_what_it_blinds_between_low_and_high(
    own: str, expected: str, good: str, load: Callable[..., Stand]
) -> None:
    added = (
        f'[channels.TT-101.limits.high]\nsetpoint = 50\npriority = "{own}"\nresponse = "x"\n'
    )
    alarms = alarms_of(load(good + added))

    assert alarms["TT-101.stale"].priority == expected
    assert alarms["TT-101.fault"].priority == expected


def test_a_sensor_that_blinds_nothing_has_low_priority(
    good: str, load: Callable[..., Stand]
) -> None:
    assert alarms_of(load(good))["TT-101.stale"].priority is Priority.LOW


def test_a_sensor_blinds_the_limits_of_all_that_is_computed_from_it(
    good: str, load: Callable[..., Stand]
) -> None:
    text = (
        good
        + COMPUTED.format(tag="PY-2", a="PY-1")
        + '[channels.PY-2.limits.high]\nsetpoint = 5\npriority = "medium"\nresponse = "x"\n'
        + COMPUTED.format(tag="PY-1", a="PT-103")
        + '[channels.PT-103]\nunit = "kPa"\nsource = "panel.p2"\nspan = [0, 9]\n'
    )
    alarms = alarms_of(load(text))

    assert alarms["PT-103.stale"].priority is Priority.MEDIUM
    assert alarms["PT-102.stale"].priority is Priority.HIGH


def test_a_cold_junction_blinds_its_thermocouple(good: str, load: Callable[..., Stand]) -> None:
    text = good + (
        '[channels.TT-102]\nunit = "degC"\nsource = "panel.p2"\nspan = [0, 900]\n'
        'convert = { kind = "type_k", cold_junction = "TT-101" }\n'
        '[channels.TT-102.limits.high]\nsetpoint = 500\npriority = "high"\nresponse = "x"\n'
    )

    assert alarms_of(load(text))["TT-101.stale"].priority is Priority.HIGH


def test_a_link_has_an_alarm_as_it_is_written(good: str, load: Callable[..., Stand]) -> None:
    stand = load(good)

    assert limits_of(stand)["link:panel.high"] == Limit(
        "link:panel.high",
        stand.plan.channels.column["link:panel"],
        Kind.HIGH,
        setpoint=0.5,
        on_delay_ns=3 * S,
        off_delay_ns=2 * S,
    )
    alarm = alarms_of(stand)["link:panel.high"]
    assert (alarm.tag, alarm.priority) == ("link:panel", Priority.HIGH)
    assert alarm.message == "Link to panel lost"
    assert "row of panel" in alarm.response


@pytest.mark.parametrize(
    ("top", "pdt", "expected"),
    [("top", "low", "high"), ("low", "low", "medium"), ("medium", "high", "high")],
)
def test_a_link_without_a_table_is_as_urgent_as_what_it_blinds_but_medium_at_least(
    top: str, pdt: str, expected: str, good: str, load: Callable[..., Stand]
) -> None:
    text = good.replace('[instruments.panel.alarm]\npriority = "high"\non_delay_s = 3\n', "")
    text = text.replace('priority = "top"', f'priority = "{top}"')
    text = text.replace(
        'priority = "high"\nresponse = "Find', f'priority = "{pdt}"\nresponse = "Find'
    )
    text = text.replace('priority = "medium"', 'priority = "low"') if top != "medium" else text
    stand = load(text)

    assert alarms_of(stand)["link:panel.high"].priority == expected
    assert limits_of(stand)["link:panel.high"].on_delay_ns == 2 * S


def test_an_instrument_that_nobody_reads_has_a_link_alarm_all_the_same(
    good: str, load: Callable[..., Stand]
) -> None:
    text = good + '[instruments.spare]\nkind = "lines"\nport = "x"\nfields = ["a"]\n'

    assert alarms_of(load(text))["link:spare.high"].priority is Priority.MEDIUM


def test_a_recording_that_stopped_is_an_alarm_at_once(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good)
    limit, alarm = (
        limits_of(stand)["host:recording.high"],
        alarms_of(stand)["host:recording.high"],
    )

    assert (limit.column, limit.setpoint, limit.on_delay_ns) == (
        stand.plan.channels.column["host:recording"],
        0.5,
        0,
    )
    assert (alarm.tag, alarm.priority) == ("host:recording", Priority.HIGH)
    assert alarm.message == "Nothing is being recorded"
    assert alarm.response


def test_a_link_alarm_stays_until_its_slowest_channel_has_had_two_periods(
    good: str, load: Callable[..., Stand]
) -> None:
    text = good.replace("period_s = 0.5\n", "period_s = 2.9\n")
    written = good.replace("on_delay_s = 3\n", "on_delay_s = 3\noff_delay_s = 0\n")

    assert limits_of(load(text))["link:panel.high"].off_delay_ns == 5_800_000_000
    assert limits_of(load(good))["link:panel.high"].off_delay_ns == 2 * S
    assert limits_of(load(written))["link:panel.high"].off_delay_ns == 0


def test_sensor_alarms_are_consequences_of_the_links_behind_them(
    good: str, load: Callable[..., Stand]
) -> None:
    spare = (
        '[instruments.spare]\nkind = "lines"\nport = "x"\nfields = ["a"]\n'
        '[channels.PT-9]\nunit = "kPa"\nspan = [0, 9]\nsource = "spare.a"\n'
    )
    text = good.replace('reference = "PT-102" }', 'reference = "PT-9" }') + spare
    alarms = alarms_of(load(text))

    assert alarms["PT-101.stale"].suppressed_by == ("link:panel.high",)
    assert alarms["PT-9.fault"].suppressed_by == ("link:spare.high",)
    assert alarms["PDT-101.fault"].suppressed_by == ("link:panel.high", "link:spare.high")
    assert alarms["PT-101.high"].suppressed_by == ()
    assert alarms["link:panel.high"].suppressed_by == ()


def test_a_vote_is_the_consequence_only_of_a_link_that_all_its_sensors_need(
    good: str, load: Callable[..., Stand]
) -> None:
    text = good + (
        '[instruments.spare]\nkind = "lines"\nport = "x"\nfields = ["a"]\n'
        '[channels.PT-9]\nunit = "kPa"\nspan = [0, 9]\nsource = "spare.a"\n'
        '[channels.PT-1]\nunit = "kPa"\nspan = [0, 9]\nvote = ["PT-101", "PT-9"]\n'
        '[channels.PT-2]\nunit = "kPa"\nspan = [0, 9]\nvote = ["PT-101", "PT-102"]\n'
        "[channels.PT-1.limits.fault]\n[channels.PT-2.limits.fault]\n"
    )
    alarms = alarms_of(load(text))

    assert alarms["PT-1.fault"].suppressed_by == ()
    assert alarms["PT-2.fault"].suppressed_by == ("link:panel.high",)


def test_a_thermocouple_needs_the_link_of_its_cold_junction_too(
    good: str, load: Callable[..., Stand]
) -> None:
    text = good + (
        '[instruments.spare]\nkind = "lines"\nport = "x"\nfields = ["a"]\n'
        '[channels.TT-9]\nunit = "degC"\nspan = [0, 9]\nsource = "spare.a"\n'
        'convert = { kind = "type_k", cold_junction = "TT-101" }\n'
    )
    alarm = alarms_of(load(text))["TT-9.fault"]

    assert alarm.suppressed_by == ("link:panel.high", "link:spare.high")


def test_written_causes_come_before_those_that_exist_by_themselves(
    good: str, load: Callable[..., Stand]
) -> None:
    added = '[channels.TT-101.limits.stale]\nsuppressed_by = ["PT-101.stale"]\n'
    alarms = alarms_of(load(good + added))

    assert alarms["TT-101.stale"].suppressed_by == ("PT-101.stale", "link:panel.high")


def test_everything_that_an_alarm_may_say_arrives(
    good: str, load: Callable[..., Stand]
) -> None:
    text = good.replace(
        "latch = true\n",
        'realarm_s = 600\nclears_by_itself = true\nfirst_out = "loss"\n'
        'suppressed_by = ["PDT-101.low"]\nwatched_in = ["fill", "leak"]\n',
    )
    stand = load(text)
    alarm = alarms_of(stand)["PT-101.high"]

    assert (alarm.realarm_ns, alarm.clears_by_itself) == (600 * S, True)
    assert (alarm.group, alarm.suppressed_by) == ("loss", ("PDT-101.low",))
    assert limits_of(stand)["PT-101.high"].watched_in == {"fill", "leak"}


def test_the_higher_names_the_high_one_as_milder_where_there_is_one(
    good: str, load: Callable[..., Stand]
) -> None:
    added = "".join(
        f'[channels.{tag}.limits.{kind}]\nsetpoint = {setpoint}\npriority = "top"\n'
        'response = "x"\n'
        for tag, kind, setpoint in [
            ("PT-101", "high_high", 170),
            ("PT-101", "low_low", 10),
            ("TT-101", "low_low", 10),
        ]
    )
    alarms = alarms_of(load(good + added))

    assert alarms["PT-101.high_high"].milder == "PT-101.high"
    assert alarms["PT-101.low_low"].milder == "PT-101.low"
    assert alarms["PT-101.high"].milder == ""
    assert alarms["TT-101.low_low"].milder == ""


def test_a_limit_that_is_armed_has_a_second_alarm_right_behind_it(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good.replace("latch = true\n", "arm_by_s = 900\n"))
    ids = [limit.id for limit in stand.plan.limits]
    limits, alarms = limits_of(stand), alarms_of(stand)
    limit, arming = limits["PT-101.high"], limits["PT-101.high.arming"]

    assert ids[:3] == ["PT-101.high", "PT-101.high.arming", "PT-101.low"]
    assert (limit.is_arming, limits["PT-101.low"].is_arming) == (True, False)
    assert arming == Limit(
        "PT-101.high.arming",
        limit.column,
        Kind.EXPECTED,
        setpoint=150.0,
        setpoint_in={"leak": 160.0},
        deadband=2.0,
        on_delay_ns=900 * S,
        bridge_ns=S,
        is_once=True,
        expects_low=True,
    )
    assert alarms["PT-101.high.arming"].priority is Priority.HIGH
    assert alarms["PT-101.high.arming"].suppressed_in == {"fill"}
    assert alarms["PT-101.high.arming"].message == (
        "Vessel pressure high: not inside its band in time"
    )


def test_the_alarm_of_a_forecast_has_the_unit_of_a_time(
    good: str, load: Callable[..., Stand]
) -> None:
    added = (
        '[channels.PT-101.limits.time_to_limit]\nreaches = "high"\nwithin_s = 300\n'
        'window_s = 60\npriority = "low"\nresponse = "x"\n'
    )
    alarm = alarms_of(load(good + added))["PT-101.time_to_limit"]

    assert (alarm.unit, alarm.message) == ("s", "Vessel pressure on its way to high")
    assert alarm.lag_ns == 31_100_000_000


def test_seconds_become_whole_nanoseconds() -> None:
    assert [ns(0.1), ns(3), ns(0.3), ns(864_000.1)] == [
        100_000_000,
        3 * S,
        300_000_000,
        864_000_100_000_000,
    ]
