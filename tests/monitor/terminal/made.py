"""A small run, as messages of the link, for the tests of this folder."""

from __future__ import annotations

import numpy as np

from monitor.display.state.model import Model
from monitor.events import Event
from monitor.link.messages import (
    AlarmState,
    ChannelInfo,
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

HIGH = LimitInfo(
    "PT-1.high", "high", "high", "Loop high", "Vent.", 8.0, {}, 0.5, 0, 0, False, []
)
LOW = LimitInfo("PT-1.low", "low", "top", "Loop low", "Stop.", 2.0, {}, 0.5, 0, 0, False, [])


def channel(tag: str, limits: list[LimitInfo]) -> ChannelInfo:
    """Describe a channel of 0 to 10 bar."""
    return ChannelInfo(tag, "Loop pressure", "bar", 1, 0, 10, "Loop", "panel", "", limits)


STAND = StandInfo(
    name="bench",
    title="Leak bench",
    channels=[channel("PT-1", [HIGH, LOW]), channel("PT-2", [])],
    phases=[PhaseInfo("fill", "Fill", "Pressure rises."), PhaseInfo("soak", "Soak", "")],
    charts=[],
    instruments=["panel"],
    system_limits=[],
    lag_s=0.0,
)

RAISED = Event(NOON + 5 * NS, "alarm.raised", "PT-1.high", {"value": 8.5})
STARTED = Event(NOON, "run.started", "", {})


def recording(state: str = "recording") -> RecordingState:
    """Describe the recording."""
    return RecordingState(state, "run-1", "disk full" if state == "stopped" else "", 0, 0)


def snapshot(
    seq: int = 1,
    *,
    events: list[Event] | None = None,
    alarms: list[AlarmState] | None = None,
    state: str = "recording",
    is_up: bool = True,
) -> Snapshot:
    """Describe the run ten seconds after its start."""
    until_ns = NOON + 10 * NS
    return Snapshot(
        seq=seq,
        until_ns=until_ns,
        run_id="run-1",
        started_ns=NOON,
        speed=1.0,
        stand=STAND,
        phase=PhaseState("fill", NOON),
        values=[Value(until_ns, 8.5, Quality.GOOD), Value(until_ns, None, Quality.STALE)],
        alarms=alarms if alarms is not None else [],
        events=events if events is not None else [STARTED],
        links=[
            LinkState("panel", is_up, NOON, "unplugged", "Plug it in.", 9, until_ns, {}, {})
        ],
        recording=recording(state),
        health={},
    )


def model(made: Snapshot | None = None) -> Model:
    """Give the run as a display knows it, at 0 of the monotonic clock."""
    return Model(made if made is not None else snapshot(), 0)


def active(limit: LimitInfo, *, is_acknowledged: bool = False) -> AlarmState:
    """Describe an alarm that stands since five seconds after the start."""
    when = NOON + 5 * NS
    return AlarmState(
        limit.id,
        is_active=True,
        is_acknowledged=is_acknowledged,
        is_annunciated=True,
        onset_ns=when,
        true_ns=when,
        annunciated_ns=when,
        value=8.5,
    )


def column(channel_number: int, values: list[float], first_ns: int) -> Column:
    """Give good rows of one channel, one a second."""
    t_ns = first_ns + NS * np.arange(len(values), dtype=np.int64)
    return Column(
        channel_number,
        t_ns.astype("<i8").tobytes(),
        np.array(values, "<f8").tobytes(),
        bytes(len(values)),
    )
