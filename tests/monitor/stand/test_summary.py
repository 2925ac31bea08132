"""Tests for monitor.stand.summary.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

from collections.abc import Callable

from monitor.stand.model import Stand
from monitor.stand.summary import describe_check


def test_what_there_is_and_how_late_limits_are(good: str, load: Callable[..., Stand]) -> None:
    assert describe_check(load(good)) == [
        "Leak bench (bench)",
        "instruments: 1 (panel: lines)",
        "channels: 4 (3 measured, 1 computed)",
        "phases: fill, leak",
        "alarms: 12 (1 top, 8 high, 1 medium, 2 low)",
        "alarms come 0.2 s after the readings, beside the times below",
        "",
        "limit        setpoint           priority  sensor  filter  delay  total  to respond",
        "PT-101.high  150 kPa; leak 160  top          0.1       1      5    6.1          60",
        "PT-101.low   20 kPa             medium       0.1       1      0    1.1",
        "PDT-101.low  -5 kPa             high         0.1       0      0    0.1",
    ]


def test_a_time_that_is_not_known_is_no_zero(good: str, load: Callable[..., Stand]) -> None:
    text = good.replace("period_s = 0.5\n", "").replace("time_to_respond_s = 60\n", "")
    text = text.replace("setpoint_in = { leak = 160 }\n", "")

    rows = describe_check(load(text))[8:]

    assert rows[0] == "PT-101.high  150 kPa   top          0.1       ?      5  > 5.1"


def test_a_plain_number_has_no_unit_behind_it(good: str, load: Callable[..., Stand]) -> None:
    text = good.replace('unit = "degC"', 'unit = "1"').replace("pt100", "linear")
    text += '[channels.TT-101.limits.high]\nsetpoint = 0.5\npriority = "journal"\n'

    rows = describe_check(load(text))

    assert any(row.split()[:3] == ["TT-101.high", "0.5", "journal"] for row in rows)


def test_a_stand_without_limits_has_no_table(good: str, load: Callable[..., Stand]) -> None:
    text = good[: good.index("[channels.PT-101.limits.high]")]
    text += good[good.index("[channels.PT-102]") : good.index("[channels.PDT-101]")]

    rows = describe_check(load(text + good[good.index("[[phases]]") :]))

    assert len(rows) == 6


def test_windows_counts_and_votes_are_told(good: str, load: Callable[..., Stand]) -> None:
    text = good.replace("on_delay_s = 5\n", "n_of_m = [3, 5]\n").replace(
        "leak = 160", "leak = 9"
    )
    text = text.replace("setpoint = 20\n", "setpoint = 2\n") + (
        '[channels.PT-100]\nunit = "kPa"\nspan = [0, 200]\nvote = ["PT-101", "PT-102"]\n'
        '[channels.PT-101.limits.rate_of_fall]\nsetpoint = 2\nper = "min"\nwindow_s = 30\n'
        'priority = "low"\nresponse = "x"\n'
    )

    rows = describe_check(load(text))

    assert rows[2] == "channels: 5 (3 measured, 1 computed, 1 voted)"
    assert rows[7].split()[:7] == [
        "limit",
        "setpoint",
        "priority",
        "sensor",
        "filter",
        "window",
        "delay",
    ]
    assert rows[8].split()[1:] == (
        [
            "150",
            "kPa;",
            "leak",
            "9,",
            "3",
            "of",
            "5",
            "samples",
            "top",
            "0.1",
            "1",
            "0",
            "1",
            "2.1",
            "60",
        ]
    )
    assert rows[10].split() == (
        ["PT-101.rate_of_fall", "2", "kPa/min", "low", "0.1", "1", "30", "0", "31.1"]
    )
