"""A stand file with phases that have rules of their own, modes, combinations and criteria."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable
from datetime import date

import msgspec
import numpy as np

from drivers.reading import Block
from monitor.errors import Problem
from monitor.events import Action, Control, Event
from monitor.samples import Admitted
from monitor.stand.draft import Draft, InstrumentDraft, read_draft
from monitor.stand.locate import locate
from monitor.stand.report import Report
from monitor.stand.schema import AlarmTable

SECOND_NS = 1_000_000_000

PLACES = """\
[stand]
name = "cell"

[instruments.panel]
kind = "lines"
port = "/dev/ttyUSB0"
fields = ["p1", "p2", "p3", "t1", "z1"]

[instruments.node]
kind = "lines"
port = "/dev/ttyUSB1"
fields = ["t2"]

[channels.PT-301]
unit = "kPa"
source = "panel.p1"
span = [0, 110]
period_s = 1
filter = { lag_s = 2 }
[channels.PT-301.limits.low]
setpoint = 30
setpoint_in = { climb = 25 }
deadband = 1
on_delay_s = 3
priority = "top"
response = "Open the make-up valve."
[channels.PT-301.limits.high]
setpoint = 60
setpoint_in = { loop_only = 50 }
deadband = 1
priority = "medium"
response = "Vent."
suppressed_in = ["ground"]

[channels.PT-302]
unit = "kPa"
source = "panel.p2"
span = [0, 110]
period_s = 1

[channels.PT-303]
unit = "kPa"
source = "panel.p3"
span = [0, 110]

[channels.PT-300]
unit = "kPa"
vote = ["PT-301", "PT-302"]
span = [0, 110]

[channels.PDY-301]
unit = "kPa"
formula = "a - b"
inputs = { a = "PT-301", b = "PT-303" }
span = [-20, 20]

[channels.TT-301]
title = "Loop temperature"
unit = "degC"
source = "panel.t1"
span = [-50, 100]
[channels.TT-301.limits.high]
setpoint = 40
priority = "low"
response = "More cooling."

[channels.TT-302]
unit = "degC"
source = "node.t2"
span = [-50, 100]

[channels.ZS-401]
unit = "1"
source = "panel.z1"
span = [0, 1]
[channels.ZS-401.limits.state]
is = 1
priority = "medium"
response = "Shut the inlet."
suppressed_in = ["ground", "descent"]

[combinations.UA-401]
title = "Make-up without effect"
when = "low and not open"
inputs = { low = "PT-301.low", open = "ZS-401.state" }
priority = "high"
on_delay_s = 4
response = "Look for the leak."

[abort.UA-901]
title = "Loop lost"
when = "at_least(2, low, hot, dry)"
inputs = { low = "PT-301.low", hot = "TT-301.high", dry = "UA-401.combination" }
on_delay_s = 10
safe_state = "Cabin at ambient pressure, oxygen shut."

[[phases]]
name = "ground"
title = "Ground"

[[phases]]
name = "climb"
planned_s = 600

[[phases]]
name = "hold"
sort = "hold"
planned_s = 1800
longest_s = 3600
[phases.enter]
after = ["climb"]
when = [
    { tag = "PT-301", below = 40, for_s = 10, deadband = 0.5 },
    { tag = "TT-302", above = -20 },
]

[[phases]]
name = "descent"

[[phases]]
name = "idle"
title = "Not testing"
quiet = true
longest_s = 7200

[[modes]]
name = "normal"

[[modes]]
name = "loop_only"
title = "Loop only"
note = "Cabin valve shut."
"""


def one_problem(
    problems: Callable[..., list[Problem]], old: str, new: str, at: str | None = None
) -> tuple[int, Problem]:
    """Change PLACES in one place; give the line of *at* and the only thing said.

    The line is found by looking for *at* in the changed text, apart from the code under test.
    """
    assert PLACES.count(old) == 1, f"{old!r} stands {PLACES.count(old)} times in PLACES"
    text = PLACES.replace(old, new)
    line = text[: text.index(new.strip() if at is None else at)].count("\n") + 1
    said = problems(text)
    assert len(said) == 1, "\n".join(map(str, said)) or "nothing was said"
    assert said[0].file.endswith("stand.toml")
    return line, said[0]


def draft_of(text: str) -> Draft:
    """Read a text as a draft that no check has seen, its instruments by name and alarm."""
    report = Report("f", locate(text))
    draft = Draft(report, {}, {}, date(2026, 11, 24), tomllib.loads(text))
    read_draft(draft)
    for name, table in draft.raw.get("instruments", {}).items():
        alarm = msgspec.convert(table["alarm"], AlarmTable) if "alarm" in table else None
        draft.instruments[name] = InstrumentDraft(name, alarm=alarm)
    return draft


def readings(first_s: int, last_s: int, **values: float) -> list[Admitted]:
    """Give a reading of both instruments each second: *values* by signal, else normal ones."""
    normal = {"p1": 45.0, "p2": 45.0, "p3": 45.0, "t1": 20.0, "z1": 0.0, "t2": -30.0} | values
    t_ns = np.arange(first_s, last_s + 1, dtype=np.int64) * SECOND_NS
    blocks = []
    for name, signals in (("panel", ("p1", "p2", "p3", "t1", "z1")), ("node", ("t2",))):
        row = [normal[signal] for signal in signals]
        blocks.append(Admitted(Block(name, signals, t_ns, np.array([row] * t_ns.size))))
    return blocks


def entering(t_s: int, phase: str) -> Control:
    """Give the action of entering a phase."""
    return Control(t_s * SECOND_NS, t_s, Action("enter_phase", phase, "K. Vale", "as planned"))


def told_of(events: Iterable[Event], *kinds: str) -> list[tuple[float, str]]:
    """Give time in seconds and subject of the events of those kinds."""
    return [(one.t_ns / SECOND_NS, one.subject) for one in events if one.kind in kinds]
