"""A run with every part of the limit engine in it, as messages of the link.

Built on the small run: more kinds of limit, modes, planned phases and an abort criterion.
"""

from __future__ import annotations

import msgspec

from monitor.display.state.model import Model
from monitor.link.messages import (
    AbortInfo,
    AlarmState,
    ModeInfo,
    PhaseInfo,
    PhaseState,
    Snapshot,
)
from tests.monitor.display.made import (
    FAULT,
    HIGH,
    HIGH_HIGH,
    LINK,
    NOON,
    NS,
    STALE,
    STAND,
    channel,
    limit,
    snapshot,
)

LOW = limit(
    "PT-1", "low", "medium", 2.0, group="loss", realarm_s=600.0, suppressed_by=["PT-1.low_low"]
)
LOW_LOW = limit("PT-1", "low_low", "top", 1.0, group="loss")
RATE = limit("PT-1", "rate_of_rise", "high", 2.0, unit="bar/min", suppressed_in=["soak"])
EXPECTED = limit("PT-2", "expected", "top", 5.0, watched_in=["soak"])
ASLEEP = limit("PT-2", "low", "low", 3.0, is_arming=True, suppressed_in=["loop_only"])
LATE = limit("PT-2", "late", "low", None)
ABORT = limit("UA-9", "combination", "top", None, safe_state="Vent and close")
ABORT = msgspec.structs.replace(ABORT, id="UA-9.abort", message="Loop is lost")

PHASES = [
    PhaseInfo("fill", "Fill", "Pressure rises.", "test", 600.0, 900.0),
    PhaseInfo("soak", "Soak", "Steady.", "hold", entry="from fill when PT-1 above 8 bar"),
    PhaseInfo("rest", "Rest", "", "abort", is_quiet=True),
]
MODES = [
    ModeInfo("normal", "Normal", "Both are held."),
    ModeInfo("loop_only", "Loop only", "Cabin follows."),
]
STAND_RICH = msgspec.structs.replace(
    STAND,
    channels=[
        channel("PT-1", HIGH_HIGH, HIGH, LOW, LOW_LOW, RATE),
        channel("PT-2", STALE, FAULT, EXPECTED, ASLEEP, LATE),
        channel("TT-1", unit="degC", group="Air"),
    ],
    phases=PHASES,
    modes=MODES,
    system_limits=[LINK, ABORT],
    aborts=[
        AbortInfo(
            "UA-9.abort",
            "Loop is lost",
            "PT-1.low_low and not PT-1.low",
            ["PT-1.low_low", "PT-1.low"],
            "Vent and close",
        )
    ],
)
LIMITS = {one.id: one for info in STAND_RICH.channels for one in info.limits}


def at_rest(alarm_id: str, **more: object) -> AlarmState:
    """Describe an alarm whose condition does not stand, with its setpoint in force."""
    known = LIMITS.get(alarm_id)
    made = AlarmState(alarm_id, setpoint=known.setpoint if known else None)
    return msgspec.structs.replace(made, **more)


def rich(*alarms: AlarmState, **more: object) -> Snapshot:
    """Describe the run ten seconds after its start; alarms not given are at rest."""
    given = {one.id: one for one in alarms}
    system = [one.id for one in STAND_RICH.system_limits]
    states = [given.get(one) or at_rest(one) for one in [*LIMITS, *system]]
    made = snapshot(
        stand=STAND_RICH, alarms=states, phase=PhaseState("fill", NOON, "normal", NOON + 2 * NS)
    )
    return msgspec.structs.replace(made, **more)


def rich_model(*alarms: AlarmState, **more: object) -> Model:
    """Give that run as a display knows it."""
    return Model(rich(*alarms, **more), 0)
