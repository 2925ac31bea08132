"""Tests for monitor.display.state.charts.

Source: hand-worked here.
"""

from __future__ import annotations

import math

import msgspec
import numpy as np

from monitor.display.state.axis import Range
from monitor.display.state.charts import (
    ChartPlan,
    chart_plans,
    end_labels,
    held_labels,
    limit_lines,
    plan_of,
    shown_range,
)
from monitor.display.state.index import StandIndex
from monitor.display.state.rows import channel_rows
from monitor.display.state.severity import Severity
from monitor.display.state.trace import Line, line_of
from monitor.link.messages import ChartInfo
from tests.monitor.display.made import NOON, NS, STAND, alarm, channel, model
from tests.monitor.display.rich import at_rest, rich_model

INDEX = StandIndex(STAND)
PRESSURES = chart_plans(INDEX)[0]


def flat(*values: float) -> Line:
    """Give a line through *values*."""
    return line_of(np.arange(len(values)) * 1.0, np.array(values, np.float64))


def test_charts_are_those_of_the_stand() -> None:
    assert chart_plans(INDEX) == (ChartPlan("Pressures", "bar", (0, 1), Range(0.0, 10.0)),)


def test_tags_that_the_stand_does_not_have_are_left_out() -> None:
    charts = [ChartInfo("A", ["PT-1", "XX"]), ChartInfo("B", ["XX"])]

    plans = chart_plans(StandIndex(msgspec.structs.replace(STAND, charts=charts)))

    assert [(plan.title, plan.channels) for plan in plans] == [("A", (0,))]


def test_without_charts_there_is_one_for_each_unit_in_each_group() -> None:
    plans = chart_plans(StandIndex(msgspec.structs.replace(STAND, charts=[])))

    assert [(plan.title, plan.channels) for plan in plans] == [
        ("Loop, bar", (0, 1)),
        ("Air, degC", (2,)),
    ]


def test_a_chart_made_by_itself_has_at_most_six_lines() -> None:
    many = [channel(f"PT-{n}", group="", unit="") for n in range(8)]
    stand = msgspec.structs.replace(STAND, charts=[], channels=many)

    plans = chart_plans(StandIndex(stand))

    assert [(plan.title, len(plan.channels)) for plan in plans] == [
        ("Channels", 6),
        ("Channels", 2),
    ]


def test_channels_of_several_units_and_spans_share_an_axis_that_holds_all() -> None:
    assert plan_of(INDEX, "X", (0, 2)).unit == "bar / degC"


def test_a_chart_without_a_sensible_span_has_one_all_the_same() -> None:
    stand = msgspec.structs.replace(STAND, channels=[channel("X", low=-math.inf)], charts=[])

    assert plan_of(StandIndex(stand), "X", (0,)).span == Range(0.0, 1.0)


def test_limits_that_compare_become_lines_and_those_that_judge_quality_do_not() -> None:
    lines = limit_lines(model(), PRESSURES)

    assert [(line.at, line.text, line.line) for line in lines] == [
        (9.0, "PT-1 high-high", 0),
        (8.0, "PT-1 high", 0),
        (2.0, "PT-1 low", 0),
        (5.0, "PT-2 high", 1),
    ]
    assert {line.severity for line in lines} == {Severity.CALM}


def test_only_limits_on_the_value_itself_have_a_line_and_at_the_setpoint_in_force() -> None:
    run = rich_model(at_rest("PT-1.low", setpoint=2.5), at_rest("PT-1.low_low", setpoint=None))

    lines = limit_lines(run, chart_plans(run.index)[0])

    assert [(line.text, line.at) for line in lines] == [
        ("PT-1 high-high", 9.0),
        ("PT-1 high", 8.0),
        ("PT-1 low", 2.5),
        ("PT-2 low", 3.0),
    ]


def test_the_limit_of_an_annunciated_alarm_stands_out() -> None:
    made = model(alarms=[alarm("PT-1.high"), alarm("PT-1.low", is_annunciated=False)])

    lines = {line.text: line.severity for line in limit_lines(made, PRESSURES)}

    assert lines["PT-1 high"] is Severity.HIGH
    assert lines["PT-1 low"] is Severity.CALM


def test_the_words_at_the_right_end_are_those_of_the_table() -> None:
    made = model(alarms=[alarm("PT-1.high")])
    rows = channel_rows(made, [None] * 3, NOON + 10 * NS, is_frozen=False)

    first, second = end_labels(made, PRESSURES, rows)

    assert (first.tag, first.value, first.at, first.alarm) == ("PT-1", "8.5", 8.5, "high")
    assert (second.value, second.at, second.severity) == ("---", None, Severity.BAD)


def test_a_held_chart_tells_what_its_lines_say_at_the_right_end() -> None:
    made = model()
    rows = channel_rows(made, [None] * 3, NOON + 10 * NS, is_frozen=False)
    labels = end_labels(made, PRESSURES, rows)

    held = held_labels(made, labels, (flat(1.0, 4.25), flat(1.0, np.nan)), PRESSURES)

    assert [(label.value, label.at, label.severity) for label in held] == [
        ("4.2", 4.25, Severity.CALM),
        ("---", None, Severity.BAD),
    ]


def test_the_range_holds_lines_and_limits() -> None:
    shown = shown_range(PRESSURES, (flat(4.0, 5.0), flat()), (2.0, 9.0, 99.0), None)

    assert shown.low <= 2.0
    assert 9.0 <= shown.high < 99.0


def test_a_close_up_holds_the_lines_alone() -> None:
    shown = shown_range(PRESSURES, (flat(4.0, 5.0),), (), None)

    assert shown == Range(3.5, 5.5)


def test_without_anything_to_draw_the_range_stays_or_is_the_span() -> None:
    assert shown_range(PRESSURES, (flat(),), (), None) == PRESSURES.span
    assert shown_range(PRESSURES, (flat(np.nan),), (), Range(1, 2)) == Range(1, 2)
