"""Tests for every kind of limit, from its table in a stand file to its event.

Source: hand-worked here, each case in its own words. Three sensors have a reading every second,
from 1 s on; what is not told otherwise stays at 10 kPa.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from drivers.reading import Block
from monitor.events import Action, Control, Event
from monitor.pipeline import Pipeline
from monitor.samples import Admitted
from monitor.stand.load import load_stand
from tests.monitor.stand.conftest import LINES

S = 1_000_000_000
START_NS = 1_800_000_000 * S
SECONDS = 60

STAND = """
[stand]
name = "rig"
[instruments.rig]
kind = "lines"
port = "x"
fields = ["a", "b", "c"]
period_s = 1
[channels.PT-1]
unit = "kPa"
span = [-100, 100]
source = "rig.a"
[channels.PT-2]
unit = "kPa"
span = [-100, 100]
source = "rig.b"
[channels.PT-3]
unit = "kPa"
span = [-100, 100]
source = "rig.c"
[channels.PT-0]
unit = "kPa"
span = [-100, 100]
vote = ["PT-1", "PT-2", "PT-3"]
[[phases]]
name = "rest"
[[phases]]
name = "work"
"""
Signal = Callable[[int], float]


def steady(_: int) -> float:
    return 10.0


def stepped(at_s: int, after: float, before: float = 10.0) -> Signal:
    """Give a signal that steps."""
    return lambda second: after if second >= at_s else before


def pulsed(*seconds: int) -> Signal:
    """Give a signal that is 60 at some seconds and 0 at all others."""
    return lambda second: 60.0 if second in seconds else 0.0


def events(
    limit: str,
    tmp_path: Path,
    signals: tuple[Signal, ...],
    work_s: int | None,
    mean: bool,
    edit: Action | None = None,
) -> list[Event]:
    """Run a minute of signals through a stand with one more limit, edited after 5.5 s."""
    text = STAND + limit
    if mean:
        text = text.replace("[channels.PT-1]\n", "[channels.PT-1]\nfilter = { mean_s = 4 }\n")
    enter = Action("enter_phase", "work", "test")
    controls = [] if work_s is None else [Control(START_NS + work_s * S, 1, enter)]
    controls += [Control(START_NS + 11 * S // 2, 2, edit)] if edit else []
    return run_of(text, tmp_path, signals, controls)


def run_of(
    text: str, tmp_path: Path, signals: tuple[Signal, ...], controls: list[Control]
) -> list[Event]:
    """Run a minute of signals through a stand file."""
    path = tmp_path / "stand.toml"
    path.write_text(text, encoding="utf-8")
    plan = load_stand(path, {"lines": LINES}, today=date(2026, 11, 25)).plan
    pipeline = Pipeline(plan, START_NS)
    columns = [[signal(n) for n in range(1, SECONDS + 1)] for signal in signals]
    t_ns = START_NS + np.arange(1, SECONDS + 1, dtype=np.int64) * S
    block = Block("rig", ("a", "b", "c"), t_ns, np.array(columns).T)
    return list(pipeline.step([Admitted(block)], controls, START_NS + SECONDS * S).events)


def raised(
    limit: str,
    tmp_path: Path,
    *,
    a: Signal = steady,
    b: Signal = steady,
    c: Signal = steady,
    work_s: int | None = None,
    mean: bool = False,
) -> dict[str, float]:
    """Give when each alarm is first raised, in seconds after the start."""
    found: dict[str, float] = {}
    for event in events(limit, tmp_path, (a, b, c), work_s, mean):
        if event.kind == "alarm.raised":
            found.setdefault(event.subject, (event.t_ns - START_NS) / S)
    return found


def table(name: str, keys: str) -> str:
    """Write a limit; *keys* are separated by semicolons."""
    tag, _, kind = name.partition(".")
    written = keys.replace("; ", "\n")
    return f'[channels.{tag}.limits.{kind}]\npriority = "low"\nresponse = "Look."\n{written}\n'


# A line through ten readings, the last k of them 1, 2, ... k and the others 0, rises by
# 35 / 82.5 = 0.42 a second for k = 4 and by 47.5 / 82.5 = 0.58 for k = 5: 30 a minute are 0.5.
@pytest.mark.parametrize(("kind", "sign"), [("rate_of_rise", 1), ("rate_of_fall", -1)])
def test_a_rate_is_that_of_a_line_through_its_window(
    kind: str, sign: int, tmp_path: Path
) -> None:
    limit = table(f"PT-1.{kind}", 'setpoint = 30; per = "min"; window_s = 10')

    assert raised(limit, tmp_path, a=lambda n: sign * max(0.0, n - 20.0)) == {
        f"PT-1.{kind}": 25.0
    }


def test_a_deviation_is_one_to_either_side(tmp_path: Path) -> None:
    limit = table("PT-1.deviation", "from = 10; setpoint = 2; on_delay_s = 3")

    assert raised(limit, tmp_path, a=stepped(21, 13.0)) == {"PT-1.deviation": 24.0}
    assert raised(limit, tmp_path, a=stepped(21, 7.0)) == {"PT-1.deviation": 24.0}
    assert raised(limit, tmp_path, a=stepped(21, 12.0)) == {}


def test_a_deviation_from_a_channel_sees_either_of_the_two_move(tmp_path: Path) -> None:
    limit = table("PT-1.deviation", 'from = "PT-2"; setpoint = 2')

    assert raised(limit, tmp_path, b=stepped(21, 7.0)) == {"PT-1.deviation": 21.0}
    assert raised(limit, tmp_path, b=stepped(21, 13.0)) == {"PT-1.deviation": 21.0}
    assert raised(limit, tmp_path, a=stepped(21, 7.0), b=stepped(21, 7.0)) == {}


# 4 s after the step the mean of four readings has moved by a quarter, a half, three quarters
# and all of it: beyond 50 of 80 with the third.
@pytest.mark.parametrize("origin", ["10", '"PT-2"'])
def test_a_deviation_is_one_of_what_is_filtered(origin: str, tmp_path: Path) -> None:
    limit = table("PT-1.deviation", f"from = {origin}; setpoint = 50")

    assert raised(limit, tmp_path, a=stepped(21, 90.0), mean=True) == {"PT-1.deviation": 23.0}
    assert raised(limit, tmp_path, a=stepped(21, -70.0), mean=True) == {"PT-1.deviation": 23.0}


# In the phase for t seconds, 10 + t is planned.
def test_a_profile_begins_with_the_phase(tmp_path: Path) -> None:
    keys = 'profile = [[0, 10], [20, 30]]; setpoint = 2.5; watched_in = ["work"]'

    assert raised(table("PT-1.deviation", keys), tmp_path, work_s=30) == {
        "PT-1.deviation": 33.0
    }


def test_sensors_disagree_by_the_whole_of_their_spread(tmp_path: Path) -> None:
    limit = table("PT-0.disagreement", "setpoint = 5")
    low, high = stepped(11, 7.0), stepped(21, 13.0)

    assert raised(limit, tmp_path, a=low, c=high) == {"PT-0.disagreement": 21.0}


@pytest.mark.parametrize(
    ("kind", "setpoint", "beyond"), [("high", 50, 60.0), ("low", -50, -60.0)]
)
def test_two_of_three_decide(kind: str, setpoint: int, beyond: float, tmp_path: Path) -> None:
    limit = table(f"PT-0.{kind}", f"setpoint = {setpoint}")

    assert raised(limit, tmp_path, a=stepped(21, beyond), c=stepped(31, beyond)) == {
        f"PT-0.{kind}": 31.0
    }


@pytest.mark.parametrize(
    ("kind", "setpoint", "beyond"), [("high", 50, 60.0), ("low", -50, -60.0)]
)
@pytest.mark.parametrize(("needed", "at_s"), [(1, 21.0), (2, 31.0)])
def test_one_of_two_decides_or_both(
    kind: str, setpoint: int, beyond: float, needed: int, at_s: float, tmp_path: Path
) -> None:
    pair = (
        '[channels.PT-9]\nunit = "kPa"\nspan = [-100, 100]\nvote = ["PT-1", "PT-2"]\n'
        f"needed = {needed}\n"
    )
    limit = pair + table(f"PT-9.{kind}", f"setpoint = {setpoint}")

    assert raised(limit, tmp_path, a=stepped(21, beyond), b=stepped(31, beyond)) == {
        f"PT-9.{kind}": at_s
    }


def test_a_state_is_that_and_no_other(tmp_path: Path) -> None:
    limit = table("PT-1.state", "is = 2; on_delay_s = 3")

    assert raised(limit, tmp_path, a=stepped(21, 2.0, 1.0)) == {"PT-1.state": 24.0}
    assert raised(limit, tmp_path, a=stepped(21, 3.0, 1.0)) == {}


# One a second: at 30 s it is 30, and 20 s are left to 50.
@pytest.mark.parametrize(
    ("toward", "a"), [("up", lambda n: float(n)), ("down", lambda n: 100.0 - n)]
)
def test_a_bound_is_foreseen(toward: str, a: Signal, tmp_path: Path) -> None:
    keys = f'reaches = 50; toward = "{toward}"; within_s = 20.5; window_s = 10'

    assert raised(table("PT-1.time_to_limit", keys), tmp_path, a=a) == {
        "PT-1.time_to_limit": 30.0
    }


# After t seconds of the run 0.1 t are planned and 0.3 t are used: 5.2 more at 26 s.
def test_a_budget_is_one_of_the_run(tmp_path: Path) -> None:
    limit = table("PT-1.budget", "plan = [[0, 0], [100, 10]]; setpoint = 5.1")

    assert raised(limit, tmp_path, a=lambda n: 0.3 * n, work_s=10) == {"PT-1.budget": 26.0}


# It changes for the last time at 20 s; the first reading without a change is that at 21 s.
def test_what_does_not_change_is_stuck(tmp_path: Path) -> None:
    limit = table("PT-1.stuck", "for_s = 10")

    assert raised(limit, tmp_path, a=lambda n: float(min(n, 20))) == {"PT-1.stuck": 31.0}
    assert raised(limit, tmp_path, a=lambda n: n % 2 / 1000) == {}


# On from 5 to 11 s, and never again: from 6 s on nothing begins.
@pytest.mark.parametrize(
    ("kind", "keys", "at_s"),
    [
        ("late", "after_s = 15", 21.0),
        ("missed", "after_s = 20", 26.0),
        ("overlong", "longest_s = 5", 10.0),
    ],
)
def test_a_periodic_event_is_timed_from_its_beginning(
    kind: str, keys: str, at_s: float, tmp_path: Path
) -> None:
    found = raised(
        table(f"PT-1.{kind}", keys), tmp_path, a=lambda n: 1.0 if 5 <= n <= 11 else 0.0
    )

    assert found == {f"PT-1.{kind}": at_s}


@pytest.mark.parametrize(
    ("keys", "a", "at_s"),
    [
        ("above = 20", steady, [15.0]),
        ("above = 20", stepped(12, 30.0), []),
        ("above = 20", stepped(16, 30.0), [15.0]),
        ("below = 5", steady, [15.0]),
        ("below = 5", stepped(12, 3.0), []),
        # It came before it was expected and is gone again: that does not count.
        ("above = 20", stepped(4, 10.0, 30.0), [15.0]),
    ],
)
def test_what_a_phase_expects_has_to_come(
    keys: str, a: Signal, at_s: list[float], tmp_path: Path
) -> None:
    limit = table("PT-1.expected", f'{keys}; within_s = 10; watched_in = ["work"]')

    assert list(raised(limit, tmp_path, a=a, work_s=5).values()) == at_s


def test_a_limit_sleeps_until_its_value_was_inside_the_band(tmp_path: Path) -> None:
    limit = table("PT-1.high", "setpoint = 50; deadband = 5; arm_by_s = 15")

    def high_then_inside_then_high(second: int) -> float:
        return 40.0 if 10 <= second < 20 else 60.0

    assert raised(limit, tmp_path, a=high_then_inside_then_high) == {"PT-1.high": 20.0}


# 47 is below the setpoint and within the deadband: that is not inside.
@pytest.mark.parametrize("value", [60.0, 47.0])
def test_what_never_comes_inside_the_band_is_told(value: float, tmp_path: Path) -> None:
    limit = table("PT-1.high", "setpoint = 50; deadband = 5; arm_by_s = 15")

    found = raised(limit, tmp_path, a=lambda _: value)

    assert found == {"PT-1.high.arming": 15.0}


@pytest.mark.parametrize(
    ("beyond", "at_s"), [((21, 23, 25), [25.0]), ((21, 24, 27), []), ((21, 22, 30), [])]
)
def test_n_of_the_last_m_samples_decide(
    beyond: tuple[int, ...], at_s: list[float], tmp_path: Path
) -> None:
    limit = table("PT-1.high", "setpoint = 50; n_of_m = [3, 5]")

    assert list(raised(limit, tmp_path, a=pulsed(*beyond)).values()) == at_s


# 10 % of a span of 200 are 20: it clears below 30, at 31 s.
def test_a_deadband_in_percent_is_one_of_the_span(tmp_path: Path) -> None:
    limit = table("PT-1.high", 'setpoint = 50; deadband = "10 %"')

    def falling(second: int) -> float:
        return {True: 60.0, False: 30.0}[second < 21] if second < 31 else 29.9

    found = events(limit, tmp_path, (falling, steady, steady), None, False)

    assert [
        (event.kind, (event.t_ns - START_NS) / S) for event in found if "PT-1" in event.subject
    ] == [("alarm.raised", 1.0), ("alarm.cleared", 31.0)]
