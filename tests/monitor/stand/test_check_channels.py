"""Tests for monitor.stand.check_channels.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from monitor.stand.model import Stand

LOOP = 'convert = { kind = "current_loop", at_4mA = 0, at_20mA = 250 }\n'
PT100 = 'convert = { kind = "pt100" }\n'
MEDIAN = "filter = { median_of = 5 }\n"
CALIBRATION = 'calibration = { date = 2026-05-01, due = 2027-05-01, by = "K. Vale" }\n'
P2 = 'unit = "kPa"\nsource = "panel.p2"\n'
PT102 = "[channels.PT-102]\n" + P2 + "span = [0, 200]\n"


@pytest.mark.parametrize(
    ("old", "new", "at", "key", "text"),
    [
        (
            P2,
            'source = "panel.p2"\n',
            "[channels.PT-102]",
            "PT-102.unit",
            'missing; write unit = "',
        ),
        (
            P2,
            P2.replace("kPa", "kpa"),
            'unit = "kpa"',
            "PT-102.unit",
            "unknown 'kpa'; did you mean",
        ),
        (P2, P2.replace("kPa", "C"), 'unit = "C"', "PT-102.unit", "unknown 'C'; write degC"),
        (
            P2,
            P2.replace('"kPa"', "3"),
            "unit = 3",
            "PT-102.unit",
            "must be a text in quotes, is the",
        ),
        (
            P2,
            P2.replace("panel", "pannel"),
            "pannel",
            "PT-102.source",
            "unknown instrument 'pannel'; did you mean 'panel'?; instruments are panel",
        ),
        (
            P2,
            P2.replace("p2", "p3"),
            "panel.p3",
            "PT-102.source",
            "panel has no signal 'p3'; it delivers p1, p2, t1",
        ),
        (
            P2,
            P2.replace(".p2", ""),
            'source = "panel"',
            "PT-102.source",
            'write "panel.SIGNAL"; signals of panel are p1, p2, t1',
        ),
        (
            P2,
            'unit = "kPa"\n',
            "[channels.PT-102]",
            "PT-102.source",
            'missing; write source = "instrument.signal", or formula with inputs',
        ),
        (
            P2,
            P2 + 'formula = "a"\ninputs = { a = "PT-101" }\n',
            'formula = "a"',
            "PT-102.formula",
            "stands beside a source; take one of them out",
        ),
        (
            P2,
            P2 + 'clock = "PT-101"\n',
            "clock",
            "PT-102.clock",
            "belongs to a computed channel",
        ),
        (
            'formula = "vessel - reference"\n',
            'formula = "vessel - reference"\nstale_after_s = 3\n',
            "stale_after_s = 3\ninputs",
            "PDT-101.stale_after_s",
            "belongs to a measured channel only",
        ),
        (
            "range = [0, 250]\n",
            "range = [250, 0]\n",
            None,
            "PT-101.range",
            "runs from 250 to 0; wri",
        ),
        (
            "span = [0, 60]\n",
            "span = [60, 60]\n",
            None,
            "TT-101.span",
            "runs from 60 to 60; write",
        ),
        (
            "span = [0, 60]\n",
            "span = [0]\n",
            None,
            "TT-101.span",
            "must be a list of 2, as in [0.0",
        ),
        (
            "span = [0, 60]\n",
            'span = [0, "9"]\n',
            None,
            "TT-101.span[2]",
            "must be a number, is the",
        ),
        (
            "span = [0, 60]\n",
            "",
            "[channels.TT-101]",
            "TT-101.span",
            "missing; write span = [lowe",
        ),
        (
            "decimals = 1\n",
            "decimals = 1.5\n",
            None,
            "PT-101.decimals",
            "must be a whole number",
        ),
        (
            "decimals = 1\n",
            "decimals = -1\n",
            None,
            "PT-101.decimals",
            "must be at least 0, is -1",
        ),
        (
            "decimals = 1\n",
            "decimals = true\n",
            None,
            "PT-101.decimals",
            "must be a whole number",
        ),
        (
            "stale_after_s = 3\n",
            "stale_after_s = 0\n",
            None,
            "PT-101.stale_after_s",
            "must be more",
        ),
        (
            "stale_after_s = 3\n",
            "stale_after_s = 0.5\n",
            None,
            "PT-101.stale_after_s",
            "0.5 s is not longer than the 0.5 s between two readings; write at least 1",
        ),
        (
            LOOP,
            LOOP.replace("250", "0"),
            "convert",
            "PT-101.convert.at_20mA",
            "is 0 as at_4mA: nothing would be measured",
        ),
        (
            LOOP,
            LOOP.replace("at_20mA", "at_20ma"),
            "convert",
            "PT-101.convert.at_20ma",
            "unknown key; did you mean 'at_20mA'?",
        ),
        (
            PT100,
            'convert = { kind = "pt1000" }\n',
            None,
            "TT-101.convert.kind",
            "unknown 'pt1000'; did you mean 'pt100'?; known are linear, polynomial",
        ),
        (
            PT100,
            "convert = { gain = 2 }\n",
            None,
            "TT-101.convert.kind",
            "missing; one of linear",
        ),
        (PT100, 'convert = "pt100"\n', None, "TT-101.convert", "must be a table, is the text"),
        (
            PT100,
            'convert = { kind = "linear", gain = 0 }\n',
            None,
            "TT-101.convert.gain",
            "is 0: nothing would be measured",
        ),
        (
            PT100,
            'convert = { kind = "polynomial", coefficients = [1] }\n',
            None,
            "TT-101.convert.coefficients",
            "needs at least two numbers, the first for the constant part",
        ),
        (
            PT100,
            'convert = { kind = "pt100", r0_ohm = 0 }\n',
            None,
            "TT-101.convert.r0_ohm",
            "must be more than 0, is 0",
        ),
        (
            'unit = "degC"\n',
            'unit = "K"\n',
            None,
            "TT-101.unit",
            "is 'K'; this conversion gives 'degC'",
        ),
        (
            PT100,
            'convert = { kind = "type_k" }\n',
            None,
            "TT-101.convert.cold_junction",
            "write either cold_junction (a tag) or cold_junction_degC",
        ),
        (
            PT100,
            'convert = { kind = "type_k", cold_junction = "TT-102" }\n',
            None,
            "TT-101.convert.cold_junction",
            "unknown channel 'TT-102'; did you mean 'TT-101'?",
        ),
        (
            PT100,
            'convert = { kind = "type_k", cold_junction = "PDT-101" }\n',
            None,
            "TT-101.convert.cold_junction",
            "PDT-101 is computed; a cold junction must be measured",
        ),
        (
            PT100,
            'convert = { kind = "type_k", cold_junction = "TT-101" }\n',
            None,
            "TT-101.convert.cold_junction",
            "TT-101 is a thermocouple itself; name another thermometer",
        ),
        (
            PT100,
            'convert = { kind = "type_k", cold_junction = "PT-102" }\n',
            None,
            "TT-101.convert.cold_junction",
            "PT-102 is in 'kPa'; it must be in 'degC'",
        ),
        (
            MEDIAN,
            "filter = { median_of = 4 }\n",
            None,
            "PT-101.filter.median_of",
            "must be odd, fro",
        ),
        (
            MEDIAN,
            "filter = { median_of = 1 }\n",
            None,
            "PT-101.filter.median_of",
            "must be odd, fro",
        ),
        (
            MEDIAN,
            "filter = { median_of = 101 }\n",
            None,
            "PT-101.filter.median_of",
            "must be odd",
        ),
        (
            MEDIAN,
            "filter = {}\n",
            None,
            "PT-101.filter",
            "write one of median_of (an odd number), lag_s and mean_s",
        ),
        (
            MEDIAN,
            "filter = { median_of = 5, lag_s = 1 }\n",
            None,
            "PT-101.filter",
            "write one of median_of (an odd number), lag_s and mean_s",
        ),
        (
            MEDIAN,
            "filter = { lag_s = -1 }\n",
            None,
            "PT-101.filter.lag_s",
            "must be more than 0, is",
        ),
        (
            CALIBRATION,
            CALIBRATION.replace("2027", "2025"),
            "calibration",
            "PT-101.calibration.due",
            "2025-05-01 is not after the calibration on 2026-05-01",
        ),
        (
            CALIBRATION,
            CALIBRATION.replace("2027-05-01", '"2027-05-01"'),
            "calibration",
            "PT-101.calibration.due",
            "must be a date such as 2026-05-01, without quotes, is the text '2027-05-01'",
        ),
        (
            CALIBRATION,
            CALIBRATION.replace("2027-05-01", "2027-05-01T10:00:00"),
            "calibration",
            "PT-101.calibration.due",
            "must be a date such as 2026-05-01, without quotes, is the date",
        ),
        (
            CALIBRATION,
            CALIBRATION.replace(", due = 2027-05-01", ""),
            "calibration",
            "PT-101.calibration.due",
            "missing; write due = 2026-05-01",
        ),
        (
            "period_s = 0.5\n",
            "perriod_s = 0.5\n",
            None,
            "PT-101.perriod_s",
            "unknown key; did you m",
        ),
        (
            "[channels.PT-101.limits.high]",
            "[channels.PT-101.limit.high]",
            None,
            "PT-101.limit",
            "un",
        ),
    ],
)
def test_a_mistake_in_a_channel_is_told(
    old: str,
    new: str,
    at: str | None,
    key: str,
    text: str,
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    line, problem = mistake(old, new, at)

    assert (problem.line, problem.key) == (line, f"channels.{key}")
    assert problem.text.startswith(text)
    assert not problem.is_warning


@pytest.mark.parametrize(
    ("tag", "text"),
    [
        ("PT.102", "'.' has no place in a tag; write letters, a dash and a number: PT-101"),
        ("PT 102", "' ' has no place in a tag"),
        ("link:x", "':' has no place in a tag"),
        ("PT-102~f", "'~' has no place in a tag"),
        ("", "a tag is missing; write letters"),
        ("pdt-101", "differs from 'PDT-101' by capitals only"),
    ],
)
def test_a_tag_that_could_be_taken_for_something_else_is_refused(
    tag: str, text: str, good: str, problems: Callable[[str], list[Problem]]
) -> None:
    said = problems(good + PT102.replace("PT-102", f'"{tag}"').replace("p2", "t1"))

    (problem,) = [one for one in said if not one.is_warning]
    assert (problem.line, problem.text[: len(text)]) == (good.count("\n") + 1, text)


@pytest.mark.parametrize(
    ("tag", "wish"), [("pt-103", "; 'PT-103' would be one"), ("Vessel", ""), ("PT_1", "")]
)
def test_a_tag_of_another_style_is_told(
    tag: str, wish: str, mistake: Callable[..., tuple[int, Problem]], good: str
) -> None:
    _, problem = mistake("[channels.TT-101]", f"[channels.{tag}]")

    assert problem.is_warning
    assert problem.text == f"is no instrument tag of letters and a number like PT-101{wish}"


@pytest.mark.parametrize("tag", ["PT1", "10-PT-101", "PDT-301A", "TT-5-2"])
def test_usual_tags_are_taken(
    tag: str, good: str, problems: Callable[[str], list[Problem]]
) -> None:
    assert problems(good.replace("[channels.TT-101]", f"[channels.{tag}]")) == []


def test_two_channels_on_one_signal_are_told(
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    line, problem = mistake(
        'source = "panel.t1"', 'source = "panel.p2"', 'source = "panel.p2"\nconvert'
    )

    assert (problem.line, problem.key, problem.is_warning) == (
        line,
        "channels.TT-101.source",
        True,
    )
    assert problem.text == "'panel.p2' is read by PT-102 already"


def test_an_overdue_calibration_is_told_and_makes_values_uncertain(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good.replace("due = 2027-05-01", "due = 2026-11-23"))

    (warning,) = stand.warnings
    assert warning.key == "channels.PT-101.calibration.due"
    assert warning.text.startswith("overdue by 1 days: every value is uncertain")
    assert [one.is_calibration_overdue for one in stand.plan.channels.measured] == [
        True,
        False,
        False,
    ]


def test_a_calibration_holds_through_its_last_day(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good.replace("due = 2027-05-01", "due = 2026-11-24"))

    assert stand.warnings == ()
    assert not stand.plan.channels.measured[0].is_calibration_overdue


def test_a_stand_without_channels_is_refused(
    problems: Callable[[str], list[Problem]],
) -> None:
    said = problems('[stand]\nname = "a"\n')

    assert ("channels", "missing; write [channels.TAG] for each channel") in [
        (problem.key, problem.text) for problem in said
    ]


def test_channels_that_are_no_tables_are_refused(
    good: str, problems: Callable[[str], list[Problem]]
) -> None:
    text = "channels = 3\n" + good[: good.index("[channels.PT-101]")]

    assert [problem.text for problem in problems(text) if problem.key == "channels"] == [
        "must be tables like [channels.NAME], is the number 3"
    ]


def test_the_period_of_an_instrument_counts_for_its_channels(
    good: str, load: Callable[..., Stand], problems: Callable[..., list[Problem]]
) -> None:
    text = good.replace('"t1"]\n', '"t1"]\nperiod_s = 4\n')

    stand = load(text.replace("period_s = 0.5\n", "").replace("stale_after_s = 3\n", ""))
    (said,) = problems(text.replace("period_s = 0.5\n", ""))

    assert {row.stale_after_ns for row in stand.plan.channels.measured} == {12_000_000_000}
    assert said.key == "channels.PT-101.stale_after_s"
    assert said.text.startswith("3 s is not longer than the 4 s between two readings; write at")
    assert load(text).plan.channels.measured[0].stale_after_ns == 3_000_000_000
