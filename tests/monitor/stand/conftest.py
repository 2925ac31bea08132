"""A small instrument kind of the tests' own, and a stand file that uses everything once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import msgspec
import pytest

from drivers.errors import SettingsError
from drivers.reading import Instrument
from drivers.registry import InstrumentKind
from monitor.errors import Problem, StandError
from monitor.stand.load import load_stand
from monitor.stand.model import Stand

TODAY = date(2026, 11, 24)

GOOD = """\
[stand]
name = "bench"
title = "Leak bench"
lag_s = 0.2

[instruments.panel]
kind = "lines"
port = "/dev/ttyUSB0"
fields = ["", "p1", "p2", "t1"]
[instruments.panel.alarm]
priority = "high"
on_delay_s = 3

[channels.PT-101]
title = "Vessel pressure"
unit = "kPa"
source = "panel.p1"
convert = { kind = "current_loop", at_4mA = 0, at_20mA = 250 }
range = [0, 250]
span = [0, 200]
decimals = 1
stale_after_s = 3
period_s = 0.5
time_constant_s = 0.1
group = "Vessel"
filter = { median_of = 5 }
calibration = { date = 2026-05-01, due = 2027-05-01, by = "K. Vale" }
[channels.PT-101.limits.high]
setpoint = 150
setpoint_in = { leak = 160 }
deadband = 2
on_delay_s = 5
off_delay_s = 4
priority = "top"
message = "Vessel pressure high"
response = "Open the vent."
latch = true
suppressed_in = ["fill"]
time_to_respond_s = 60
[channels.PT-101.limits.low]
setpoint = 20
priority = "medium"
response = "Look for the leak."

[channels.PT-102]
unit = "kPa"
source = "panel.p2"
span = [0, 200]

[channels.TT-101]
title = "Vessel temperature"
unit = "degC"
source = "panel.t1"
convert = { kind = "pt100" }
span = [0, 60]

[channels.PDT-101]
title = "Vessel minus reference"
unit = "kPa"
formula = "vessel - reference"
inputs = { vessel = "PT-101", reference = "PT-102" }
span = [-10, 10]
[channels.PDT-101.limits.low]
setpoint = -5
priority = "high"
response = "Find the leak."

[[phases]]
name = "fill"
title = "Fill"
note = "Pressure rises."

[[phases]]
name = "leak"

[[charts]]
title = "Pressures"
tags = ["PT-101", "PT-102"]
"""


class LinesSettings(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    port: str
    fields: list[str]
    baud: int = 9600
    timeout_s: float = 1.0
    period_s: float = 0.0
    is_slow: bool = False
    note: str | None = None


def _check(settings: LinesSettings) -> None:
    if settings.baud not in (9600, 115200):
        raise SettingsError("baud", f"{settings.baud} is no usual rate; write 9600 or 115200")
    for place, field in enumerate(settings.fields):
        if " " in field:
            raise SettingsError(f"fields[{place}]", f"{field!r} is no name of a signal")


def _make(name: str, settings: Any) -> Instrument:
    raise AssertionError(f"{name} was made: loading a stand makes nothing")


LINES = InstrumentKind(
    name="lines",
    title="Lines of text",
    settings=LinesSettings,
    check=_check,
    signals=lambda settings: tuple(field for field in settings.fields if field),
    make=_make,
)

Load = Callable[..., Stand]
Problems = Callable[..., list[Problem]]


@pytest.fixture
def good() -> str:
    """A stand file without mistakes."""
    return GOOD


@pytest.fixture
def load(tmp_path: Path) -> Load:
    """Load a text as a stand file."""

    def load_text(text: str, **options: Any) -> Stand:
        path = tmp_path / "stand.toml"
        path.write_text(text, encoding="utf-8")
        options.setdefault("today", TODAY)
        return load_stand(path, {"lines": LINES}, **options)

    return load_text


@pytest.fixture
def problems(load: Load) -> Problems:
    """Load a text as a stand file and give everything that is said about it."""

    def problems_of(text: str, **options: Any) -> list[Problem]:
        try:
            return list(load(text, **options).warnings)
        except StandError as error:
            return list(error.problems)

    return problems_of


Mistake = Callable[..., tuple[int, Problem]]


@pytest.fixture
def mistake(good: str, problems: Problems) -> Mistake:
    """Change the good file in one place; give the line of *at* and the only thing said.

    The line is found by looking for *at* in the changed text, apart from the code under test.
    """

    def changed(old: str, new: str, at: str | None = None) -> tuple[int, Problem]:
        assert good.count(old) == 1, f"{old!r} stands {good.count(old)} times in the good file"
        text = good.replace(old, new)
        line = text[: text.index(new.strip() if at is None else at)].count("\n") + 1
        said = problems(text)
        assert len(said) == 1, "\n".join(map(str, said)) or "nothing was said"
        return line, said[0]

    return changed
