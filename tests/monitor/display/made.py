"""A small run as messages of the link, for the tests of the display.

Two channels with limits, one without, one link alarm; noon is the start of the run.
"""

from __future__ import annotations

import msgspec
import numpy as np

from monitor.display.state.model import Model
from monitor.events import Event
from monitor.link.messages import (
    AlarmState,
    ChannelInfo,
    ChartInfo,
    Column,
    LimitInfo,
    LinkState,
    PhaseInfo,
    PhaseState,
    RecordingState,
    Snapshot,
    StandInfo,
    Value,
)
from monitor.samples import Quality

NS = 1_000_000_000
#: 2026-03-01 12:00:00 UTC.
NOON = 1_772_366_400 * NS


def limit(
    tag: str,
    kind: str,
    priority: str = "high",
    setpoint: float | None = 8.0,
    **more: object,
) -> LimitInfo:
    """Describe a limit."""
    made = LimitInfo(
        f"{tag}.{kind}", kind, priority, f"{tag} {kind}", f"Do this for {tag}.", setpoint,
        {}, 0.5, 0.0, 0.0, False, [],
    )  # fmt: skip
    return msgspec.structs.replace(made, **more)


def channel(tag: str, *limits: LimitInfo, **more: object) -> ChannelInfo:
    """Describe a channel of 0 to 10 bar."""
    made = ChannelInfo(tag, f"{tag} title", "bar", 1, 0.0, 10.0, "Loop", "panel", "", [*limits])
    return msgspec.structs.replace(made, **more)


HIGH_HIGH = limit("PT-1", "high_high", "top", 9.0)
HIGH = limit("PT-1", "high", "high", 8.0, setpoint_in={"soak": 6.0})
LOW = limit("PT-1", "low", "medium", 2.0)
STALE = limit("PT-2", "stale", "low", None, message="Value stale")
FAULT = limit("PT-2", "fault", "low", None, message="Sensor fault")
JOURNAL = limit("PT-2", "high", "journal", 5.0)
LINK = limit("link:panel", "high", "high", 0.5, message="No link to panel")

STAND = StandInfo(
    name="bench",
    title="Leak bench",
    channels=[
        channel("PT-1", HIGH_HIGH, HIGH, LOW),
        channel("PT-2", STALE, FAULT, JOURNAL),
        channel("TT-1", unit="degC", group="Air"),
    ],
    phases=[PhaseInfo("fill", "Fill", "Pressure rises."), PhaseInfo("soak", "Soak", "Steady.")],
    charts=[ChartInfo("Pressures", ["PT-1", "PT-2"])],
    instruments=["panel"],
    system_limits=[LINK],
    lag_s=0.5,
)


#: Setpoints as the stand has them, by id.
SETPOINTS = {limit.id: limit.setpoint for info in STAND.channels for limit in info.limits}


def link_state(*, is_up: bool = True, **more: object) -> LinkState:
    """Describe the link to the panel."""
    made = LinkState("panel", is_up, NOON, "unplugged", "Plug it in", 9, NOON + 9 * NS, {}, {})
    return msgspec.structs.replace(made, **more)


def recording(state: str = "recording") -> RecordingState:
    """Describe the recording."""
    why = "disk full" if state == "stopped" else ""
    return RecordingState(state, "run-1", why, 3 * 1024 * 1024, NOON + 8 * NS)


def snapshot(**more: object) -> Snapshot:
    """Describe the run ten seconds after its start."""
    until_ns = NOON + 10 * NS
    made = Snapshot(
        seq=1, until_ns=until_ns, run_id="run-1", started_ns=NOON, speed=1.0, stand=STAND,
        phase=PhaseState("fill", NOON),
        values=[
            Value(until_ns, 8.5, Quality.GOOD),
            Value(until_ns - 4 * NS, None, Quality.STALE),
            Value(until_ns, 20.0, Quality.CALIBRATION_OVERDUE),
        ],
        alarms=[], events=[Event(NOON, "run.started", "", {})], links=[link_state()],
        recording=recording(), health={"steps": 20.0},
    )  # fmt: skip
    return msgspec.structs.replace(made, **more)


def model(**more: object) -> Model:
    """Give the run as a display knows it, taken at 0 of the monotonic clock."""
    return Model(snapshot(**more), 0)


def alarm(alarm_id: str, at_s: float = 5.0, **more: object) -> AlarmState:
    """Describe an alarm raised *at_s* seconds after the start and not acknowledged."""
    when = NOON + int(at_s * NS)
    made = AlarmState(
        alarm_id, is_active=True, is_acknowledged=False, is_annunciated=True,
        onset_ns=when, true_ns=when, annunciated_ns=when, value=8.5,
        setpoint=SETPOINTS.get(alarm_id),
    )  # fmt: skip
    return msgspec.structs.replace(made, **more)


def column(
    number: int, values: list[float], first_ns: int, *, step_ns: int = NS, quality: int = 0
) -> Column:
    """Give rows of one channel."""
    t_ns = first_ns + step_ns * np.arange(len(values), dtype=np.int64)
    return Column(
        number,
        t_ns.astype("<i8").tobytes(),
        np.array(values, "<f8").tobytes(),
        bytes([quality]) * len(values),
    )
