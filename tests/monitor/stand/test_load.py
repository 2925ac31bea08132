"""Tests for monitor.stand.load.

Source: hand-worked here; the good file is that of conftest. What each check says is tested
beside that check.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from monitor.errors import Problem, StandError
from monitor.stand.load import load_stand
from monitor.stand.model import Stand
from tests.monitor.stand.places_stand import PLACES

MANY_MISTAKES = """\
[stand]
name = "bad bench"
lag_s = 60
colour = "red"

[instruments.panel]
kind = "lines"
port = 3
fields = ["p1", "p2"]

[instruments.other]
kind = "lins"

[channels.PT-101]
unit = "kpa"
source = "pannel.p1"
span = [10, 0]
filter = { median_of = 4 }

[channels.PT-101.limits.high]
setpoint = 150
deadband = -1
priority = "urgent"

[channels.pt-101]
unit = "kPa"
source = "other.p9"
span = [0, 200]

[channels.pt-101.limits.low]
setpoint = 500
priority = "low"
suppressed_in = ["rnu"]

[channels.PDT-101]
unit = "kPa"
formula = "a - b"
inputs = { a = "PT-109", c = "PT-101" }
clock = "PT-102"

[[phases]]
name = "run"

[[charts]]
tags = ["PT-101", "PT-111"]
"""

#: Line and key of everything above that is wrong, in the order of the file.
EXPECTED = [
    (2, "stand.name"),
    (3, "stand.lag_s"),
    (4, "stand.colour"),
    (8, "instruments.panel.port"),
    (12, "instruments.other.kind"),
    (15, "channels.PT-101.unit"),
    (16, "channels.PT-101.source"),
    (17, "channels.PT-101.span"),
    (18, "channels.PT-101.filter.median_of"),
    (22, "channels.PT-101.limits.high.deadband"),
    (23, "channels.PT-101.limits.high.priority"),
    (25, "channels.pt-101"),
    (31, "channels.pt-101.limits.low.setpoint"),
    (33, "channels.pt-101.limits.low.suppressed_in[1]"),
    (35, "channels.PDT-101.span"),
    (37, "channels.PDT-101.formula"),
    (38, "channels.PDT-101.inputs.a"),
    (39, "channels.PDT-101.clock"),
    (45, "charts[1].tags[2]"),
]


def test_all_mistakes_of_a_file_are_told_at_once_in_its_order(
    problems: Callable[[str], list[Problem]],
) -> None:
    said = [problem for problem in problems(MANY_MISTAKES) if not problem.is_warning]

    assert [(problem.line, problem.key) for problem in said] == EXPECTED


def test_the_error_lists_one_mistake_a_line_with_file_line_and_key(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(MANY_MISTAKES)

    with pytest.raises(StandError) as caught:
        load_stand(path, {})

    lines = str(caught.value).splitlines()
    assert len(lines) == len(caught.value.problems)
    assert lines[0].startswith(f"{path}:2: error: stand.name: 'bad bench' is to be letters")


def test_a_good_file_gives_a_stand_without_warnings(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good)

    assert (stand.name, stand.title, stand.lag_ns) == ("bench", "Leak bench", 200_000_000)
    assert stand.warnings == ()
    assert stand.text == good


def test_what_stands_twice_is_told_together_with_other_mistakes(
    good: str, problems: Callable[[str], list[Problem]]
) -> None:
    text = good.replace("lag_s = 0.2", "lag_s = 60") + '[channels.PT-102]\nunit = "kPa"\n'

    said = problems(text)

    assert [(problem.line, problem.key) for problem in said] == [
        (4, "stand.lag_s"),
        (text.count("\n") - 1, "channels.PT-102"),
    ]


def test_warnings_come_with_the_errors(
    good: str, problems: Callable[[str], list[Problem]]
) -> None:
    text = good.replace('response = "Find the leak."\n', "").replace(
        "lag_s = 0.2", "lag_s = 60"
    )

    assert [problem.is_warning for problem in problems(text)] == [False, True]


def test_calibrations_are_judged_by_the_day_that_is_given(
    good: str, load: Callable[..., Stand]
) -> None:
    assert load(good, today=date(2027, 5, 1)).warnings == ()
    assert len(load(good, today=date(2027, 5, 2)).warnings) == 1


def test_without_a_day_today_counts(tmp_path: Path, good: str) -> None:
    today = datetime.now(tz=UTC).date()
    path = tmp_path / "stand.toml"
    path.write_text(good.replace("2027-05-01", str(today.replace(year=today.year - 1))))

    with pytest.raises(StandError) as caught:
        load_stand(path, {})

    assert "due" in str(caught.value)


def test_a_stand_of_1000_channels_is_loaded_within_seconds(
    good: str, load: Callable[..., Stand]
) -> None:
    tags = range(1000, 2000)
    signals = ", ".join(f'"s{tag}"' for tag in tags)
    channels = "".join(
        f'[channels.PT-{tag}]\nunit = "kPa"\nsource = "panel.s{tag}"\nspan = [0, 9]\n'
        f'[channels.PT-{tag}.limits.high]\nsetpoint = 5\npriority = "low"\nresponse = "x"\n'
        for tag in tags
    )
    text = good.replace('"t1"]', f'"t1", {signals}]') + channels
    started = time.perf_counter()

    stand = load(text)

    assert len(stand.channels) == 1004
    assert time.perf_counter() - started < 10


def test_loading_imports_no_driver_and_no_qt() -> None:
    code = (
        "import sys, monitor.stand.load;"
        "print(sorted({'pymodbus', 'aiomqtt', 'serial', 'PySide6', 'pint', 'asyncio'}"
        " & set(sys.modules)))"
    )

    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert done.stdout.strip() == "[]"


_PIECES = st.sampled_from(
    ["[", "]", "=", '"', "\n", "{", "}", "1", "-", "kPa", "[[phases]]\n", "nan", ",", ".", " "]
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(data=st.data())
def test_a_garbled_file_is_answered_and_never_breaks_the_loader(
    data: st.DataObject, good: str, problems: Callable[[str], list[Problem]]
) -> None:
    text = good
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.integers(0, 30)))
        text = text[:start] + "".join(data.draw(st.lists(_PIECES, max_size=4))) + text[end:]

    for problem in problems(text):
        assert 0 <= problem.line <= text.count("\n") + 1
        assert problem.text


def test_a_file_without_one_of_its_lines_is_answered_and_never_breaks_the_loader(
    problems: Callable[[str], list[Problem]],
) -> None:
    lines = PLACES.splitlines()
    silent = []
    for number, line in enumerate(lines):
        said = problems("\n".join([*lines[:number], *lines[number + 1 :]]))
        if line.startswith("[") and not said:
            silent.append(line)

    assert silent == []
