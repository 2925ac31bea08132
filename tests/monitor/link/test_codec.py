"""Tests for monitor.link.codec.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.errors import LinkError
from monitor.events import Event
from monitor.link.codec import decode_from_display, decode_from_engine, encode
from monitor.link.messages import (
    Act,
    Acted,
    AlarmState,
    Ask,
    Beat,
    Cancel,
    Change,
    Column,
    Done,
    FromDisplay,
    FromEngine,
    Hello,
    LinkState,
    Part,
    PhaseState,
    Ready,
    RecordingState,
    Refused,
    Snapshot,
    StandInfo,
    Value,
    Welcome,
)

STAND = StandInfo("bench", "Bench", [], [], [], ["panel"], [], 0.1)
RECORDING = RecordingState("recording", "/runs/one", "", 100, 5)

OF_THE_DISPLAY: list[FromDisplay] = [
    Hello(1, "secret", "screen"),
    Ready(7),
    Ask(1, [0, 3], 5, 9, 100),
    Cancel(1),
    Act("a-1", "shelve", "PT-1.high", "K. Vale", "sensor loose", 60.0),
    Act("a-2", "edit_limit", "PT-1.low", "K", "noise", 0.0, "A. Roe", {"setpoint": 2.5}),
    Beat(12),
]

OF_THE_ENGINE: list[FromEngine] = [
    Welcome(1, "run-1"),
    Refused("wrong token"),
    Snapshot(
        seq=1,
        until_ns=2,
        run_id="run-1",
        started_ns=1,
        speed=1.0,
        stand=STAND,
        phase=PhaseState("ground", 1),
        values=[Value(1, None, 0x87), Value(2, 2.5, 0)],
        alarms=[AlarmState("PT-1.high", is_active=True, value=3.5)],
        events=[Event(2, "alarm.raised", "PT-1.high", {"value": 3.5, "note": None})],
        links=[LinkState("panel", True, 1, "opened", "", 3, 2, {"noise": 1}, {"noise": "x"})],
        recording=RECORDING,
        health={"steps": 3.0},
    ),
    Change(2, 3, [Column(0, b"12345678", b"12345678", b"1")], phase=PhaseState("climb", 3)),
    Change(
        3,
        4,
        alarms=[
            AlarmState(
                "PT-1.low",
                setpoint=2.5,
                cause="PT-2.low",
                first_out="first",
                armed="asleep",
                is_edited=True,
                edits={"deadband": 0.5},
            )
        ],
        phase=PhaseState("climb", 3, "normal", 2, True),
    ),
    Part(1, 0, b"12345678", b"12345678"),
    Done(1),
    Acted("a-1", 9, ""),
    Beat(13),
]


@pytest.mark.parametrize("message", OF_THE_DISPLAY, ids=lambda m: type(m).__name__)
def test_what_a_display_says_survives(message: FromDisplay) -> None:
    assert decode_from_display(encode(message)) == message


@pytest.mark.parametrize("message", OF_THE_ENGINE, ids=lambda m: type(m).__name__)
def test_what_an_engine_says_survives(message: FromEngine) -> None:
    assert decode_from_engine(encode(message)) == message


@pytest.mark.parametrize("data", [b"", b"\xc1", b"hello", encode(Welcome(1, "run"))])
def test_what_no_display_says_is_refused(data: bytes) -> None:
    with pytest.raises(LinkError, match="not a message of a display"):
        decode_from_display(data)


@pytest.mark.parametrize("data", [b"", b"\xc1", b"hello", encode(Ready(1))])
def test_what_no_engine_says_is_refused(data: bytes) -> None:
    with pytest.raises(LinkError, match="not a message of an engine"):
        decode_from_engine(data)


def test_an_unknown_verb_is_refused() -> None:
    good = encode(Act("a-1", "silence", "", "K. Vale"))

    with pytest.raises(LinkError, match="silenci"):
        decode_from_display(good.replace(b"\xa7silence", b"\xa7silenci"))
