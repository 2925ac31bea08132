"""Tests for monitor.stand.compile.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from monitor.channels.plan import (
    Computed,
    Conversion,
    CurrentLoop,
    Filtered,
    Linear,
    Measured,
    PlatinumRtd,
    Polynomial,
    Take,
    ThermocoupleK,
    Voted,
)
from monitor.stand.model import (
    CalibrationEntry,
    ChannelEntry,
    ChartEntry,
    LimitTime,
    PhaseEntry,
    Stand,
)

S = 1_000_000_000
PT100 = 'convert = { kind = "pt100" }\n'


def test_columns_are_measured_system_computed_filtered(
    good: str, load: Callable[..., Stand]
) -> None:
    assert load(good).plan.channels.column == {
        "PT-101": 0,
        "PT-102": 1,
        "TT-101": 2,
        "link:panel": 3,
        "host:recording": 4,
        "PDT-101": 5,
        "PT-101~filter": 6,
    }


def test_people_see_channels_in_the_order_of_the_file(
    good: str, load: Callable[..., Stand]
) -> None:
    computed = good[good.index("[channels.PDT-101]") : good.index("[[phases]]")]
    text = good.replace(computed, "").replace(
        "[channels.PT-101]", f"{computed}[channels.PT-101]"
    )

    stand = load(text)

    assert [(entry.tag, entry.column) for entry in stand.channels] == [
        ("PDT-101", 5),
        ("PT-101", 0),
        ("PT-102", 1),
        ("TT-101", 2),
    ]


def test_a_measured_channel_arrives_whole(good: str, load: Callable[..., Stand]) -> None:
    stand = load(good)

    assert stand.plan.channels.measured[0] == Measured(
        tag="PT-101",
        instrument="panel",
        signal="p1",
        conversion=CurrentLoop(0.0, 250.0),
        stale_after_ns=3 * S,
        low=0.0,
        high=250.0,
        is_calibration_overdue=False,
    )
    assert stand.channels[0] == ChannelEntry(
        tag="PT-101",
        title="Vessel pressure",
        unit="kPa",
        decimals=1,
        low=0.0,
        high=200.0,
        group="Vessel",
        instrument="panel",
        formula="",
        column=0,
        signal="p1",
        calibration=CalibrationEntry(
            datetime.date(2026, 5, 1), datetime.date(2027, 5, 1), "K. Vale"
        ),
    )


def test_what_a_channel_leaves_out_has_defaults(good: str, load: Callable[..., Stand]) -> None:
    stand = load(good)

    assert stand.plan.channels.measured[1] == Measured(
        "PT-102", "panel", "p2", Linear(1.0, 0.0), 5 * S, -math.inf, math.inf, False
    )
    assert stand.channels[1].title == "PT-102"
    assert stand.channels[1].calibration is None


def test_a_computed_channel_arrives_whole(good: str, load: Callable[..., Stand]) -> None:
    stand = load(
        good.replace(
            '{ vessel = "PT-101", reference',
            '{ reference2 = "TT-101", vessel = "PT-101", reference',
        ).replace("vessel - reference", "vessel - reference + 0 * (reference2 > 0) * vessel")
    )
    (computed,) = stand.plan.channels.computed

    assert isinstance(computed, Computed)
    assert computed.inputs == (
        ("vessel", "PT-101"),
        ("reference", "PT-102"),
        ("reference2", "TT-101"),
    )
    assert computed.clock == "TT-101"
    assert computed.largest_skew_ns == 2 * S
    values = {"vessel": [5.0], "reference": [2.0], "reference2": [1.0]}
    arrays = {name: np.array(value) for name, value in values.items()}
    assert computed.formula.evaluate(arrays).tolist() == [3.0]


def test_clock_and_skew_are_as_written(good: str, load: Callable[..., Stand]) -> None:
    text = good.replace(
        'formula = "vessel', 'clock = "PT-102"\nlargest_skew_s = 0.5\nformula = "vessel'
    )
    (computed,) = load(text).plan.channels.computed

    assert (computed.clock, computed.largest_skew_ns) == ("PT-102", S // 2)


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("", Linear()),
        ('convert = { kind = "linear" }\n', Linear(1.0, 0.0)),
        ('convert = { kind = "linear", gain = 2, offset = -1 }\n', Linear(2.0, -1.0)),
        (
            'convert = { kind = "polynomial", coefficients = [1, 2, 3] }\n',
            Polynomial((1.0, 2.0, 3.0)),
        ),
        ('convert = { kind = "pt100" }\n', PlatinumRtd(100.0)),
        ('convert = { kind = "pt100", r0_ohm = 1000 }\n', PlatinumRtd(1000.0)),
        (
            'convert = { kind = "type_k", cold_junction_degC = 25 }\n',
            ThermocoupleK(25.0, ""),
        ),
        (
            'convert = { kind = "type_k", cold_junction_degC = 0 }\n',
            ThermocoupleK(0.0, ""),
        ),
        (
            'convert = { kind = "type_k", cold_junction = "TT-102" }\n',
            ThermocoupleK(0.0, "TT-102"),
        ),
    ],
)
def test_each_conversion_arrives(
    written: str, expected: Conversion, good: str, load: Callable[..., Stand]
) -> None:
    added = '[channels.TT-102]\nunit = "degC"\nsource = "panel.p2"\nspan = [0, 60]\n'

    stand = load(good.replace(PT100, written) + added)

    assert stand.plan.channels.measured[2].conversion == expected


def test_a_falling_current_loop_gives_a_rising_span(
    good: str, load: Callable[..., Stand]
) -> None:
    loop = 'convert = { kind = "current_loop", at_4mA = 60, at_20mA = -20 }\n'

    entry = load(good.replace(PT100, loop).replace("span = [0, 60]\n", "")).channels[2]

    assert (entry.low, entry.high) == (-20.0, 60.0)


def test_the_range_is_the_span_where_there_is_none(
    good: str, load: Callable[..., Stand]
) -> None:
    entry = load(good.replace("span = [0, 200]\ndecimals", "decimals")).channels[0]

    assert (entry.low, entry.high) == (0.0, 250.0)


@pytest.mark.parametrize(
    ("filtered", "expected"),
    [
        ("{ median_of = 7 }", Filtered("PT-101~filter", "PT-101", 7, 0)),
        ("{ lag_s = 2.5 }", Filtered("PT-101~filter", "PT-101", 0, 2_500_000_000)),
        ("{ mean_s = 4 }", Filtered("PT-101~filter", "PT-101", 0, 0, 4 * S)),
    ],
)
def test_a_filter_is_a_hidden_channel(
    filtered: str, expected: Filtered, good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good.replace("{ median_of = 5 }", filtered))

    assert stand.plan.channels.filtered == (expected,)
    assert expected.tag not in [entry.tag for entry in stand.channels]


@pytest.mark.parametrize(
    ("span", "decimals"),
    [
        ("[0, 2500]", 0),
        ("[0, 1000]", 0),
        ("[0, 250]", 1),
        ("[0, 60]", 2),
        ("[-1, 1]", 3),
        ("[0, 0.001]", 6),
        ("[0, 1e-12]", 9),
    ],
)
def test_about_a_thousandth_of_the_span_is_shown(
    span: str, decimals: int, good: str, load: Callable[..., Stand]
) -> None:
    assert load(good.replace("[0, 60]", span)).channels[2].decimals == decimals


def test_the_frame_arrives_whole(good: str, load: Callable[..., Stand]) -> None:
    stand = load(good)
    settings: Any = stand.instruments[0].settings

    assert (stand.name, stand.title, stand.lag_ns) == ("bench", "Leak bench", S // 5)
    assert stand.phases == (
        PhaseEntry("fill", "Fill", "Pressure rises."),
        PhaseEntry("leak", "leak", ""),
    )
    assert stand.plan.alarms.phases == ("fill", "leak")
    assert stand.charts == (ChartEntry("Pressures", ("PT-101", "PT-102")),)
    assert (stand.instruments[0].name, stand.instruments[0].kind) == ("panel", "lines")
    assert (settings.port, settings.baud) == ("/dev/ttyUSB0", 9600)


def test_a_stand_without_a_title_has_its_name(good: str, load: Callable[..., Stand]) -> None:
    assert load(good.replace('title = "Leak bench"\n', "")).title == "bench"


def test_the_lag_is_a_tenth_of_a_second_where_it_is_not_written(
    good: str, load: Callable[..., Stand]
) -> None:
    assert load(good.replace("lag_s = 0.2\n", "")).lag_ns == S // 10


def test_how_late_each_limit_is_is_added_up(good: str, load: Callable[..., Stand]) -> None:
    assert load(good).limit_times == (
        LimitTime("PT-101.high", 0.1, 1.0, 5.0, 60.0, 0.0, "150 kPa; leak 160"),
        LimitTime("PT-101.low", 0.1, 1.0, 0.0, None, 0.0, "20 kPa"),
        LimitTime("PDT-101.low", 0.1, 0.0, 0.0, None, 0.0, "-5 kPa"),
    )


VOTED = (
    '[channels.PT-103]\nunit = "kPa"\nsource = "panel.p3"\nspan = [0, 200]\n'
    '[channels.PT-100]\nunit = "kPa"\nspan = [0, 200]\nvote = ["PT-101", "PT-102", "PT-103"]\n'
)


def with_votes(good: str) -> str:
    """Add a third sensor and their vote to the good file."""
    return good.replace('"p2", "t1"]', '"p2", "t1", "p3"]') + VOTED


def test_a_vote_is_a_column_behind_the_channels_that_vote(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(with_votes(good))
    column = stand.plan.channels.column

    assert stand.plan.channels.computed[-1] == Voted(
        "PT-100", ("PT-101", "PT-102", "PT-103"), 2, 2 * S, Take.VALUE
    )
    assert column["PT-100"] > max(column[tag] for tag in ("PT-101", "PT-102", "PT-103"))
    assert stand.channels[-1].formula == "2 of 3 vote: PT-101, PT-102, PT-103"


def test_hidden_columns_stand_behind_those_that_people_see(
    good: str, load: Callable[..., Stand]
) -> None:
    text = with_votes(good) + (
        '[channels.PT-100.limits.high]\nsetpoint = 150\npriority = "low"\nresponse = "x"\n'
        '[channels.PT-101.limits.rate_of_fall]\nsetpoint = 2\nper = "min"\nwindow_s = 30\n'
        'priority = "low"\nresponse = "x"\n'
    )
    stand = load(text)

    assert list(stand.plan.channels.column)[-5:] == [
        "PDT-101",
        "PT-100",
        "PT-100~upper",
        "PT-101~filter",
        "PT-101~rate-30-min",
    ]
    assert [entry.tag for entry in stand.channels if "~" in entry.tag] == []


def test_the_time_of_counted_samples_and_of_a_window_is_stated(
    good: str, load: Callable[..., Stand]
) -> None:
    text = good.replace("on_delay_s = 5\n", "n_of_m = [3, 5]\n") + (
        '[channels.PT-101.limits.rate_of_rise]\nsetpoint = 2\nper = "min"\nwindow_s = 30\n'
        'priority = "low"\nresponse = "x"\n'
    )

    times = {time.id: time for time in load(text).limit_times}

    assert (times["PT-101.high"].delay_s, times["PT-101.high"].window_s) == (1.0, 0.0)
    assert times["PT-101.rate_of_rise"].window_s == 30.0
    assert times["PT-101.rate_of_rise"].figure == "2 kPa/min"
