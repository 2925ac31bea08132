"""Tests for monitor.engine.describe.

Source: hand-worked here.
"""

from __future__ import annotations

import msgspec
import pytest

from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.channels.plan import ChannelsPlan, Linear, Measured, System
from monitor.engine.describe import described
from monitor.limits.plan import Kind, Limit
from monitor.link.messages import (
    AbortInfo,
    ChannelInfo,
    ChartInfo,
    LimitInfo,
    ModeInfo,
    PhaseInfo,
)
from monitor.pipeline import Plan
from monitor.stand.model import (
    AbortEntry,
    ChannelEntry,
    ChartEntry,
    InstrumentEntry,
    ModeEntry,
    PhaseEntry,
    Stand,
)


class NoSettings(msgspec.Struct, frozen=True):
    pass


@pytest.fixture
def stand() -> Stand:
    limits = (
        Limit(
            "PT-1.high", 0, Kind.HIGH, 50.0, {"climb": 60.0}, 2.0, 5_000_000_000, 500_000_000
        ),
        Limit("PT-1.stale", 0, Kind.STALE),
        Limit(
            "PT-1.late",
            0,
            Kind.LATE,
            0.5,
            n_of_m=(2, 3),
            watched_in=frozenset({"b", "a"}),
            is_arming=True,
        ),
        Limit("link:panel.high", 1, Kind.HIGH, 0.5),
    )
    alarms = (
        Alarm("PT-1.high", "PT-1", Priority.HIGH, "High", "Vent", True, frozenset({"b", "a"})),
        Alarm("PT-1.stale", "PT-1", Priority.LOW, "Stale"),
        Alarm(
            "PT-1.late",
            "PT-1",
            Priority.TOP,
            "Late",
            suppressed_by=("link:panel.high",),
            realarm_ns=600_000_000_000,
            group="loss",
            unit="s",
            safe_state="vent",
        ),
        Alarm("link:panel.high", "link:panel", Priority.MEDIUM, "Panel lost"),
    )
    channels = ChannelsPlan(
        (Measured("PT-1", "panel", "a", Linear(), 5_000_000_000),), (System("link:panel"),)
    )
    return Stand(
        name="bench",
        title="Bench",
        lag_ns=500_000_000,
        instruments=(InstrumentEntry("panel", "serial_lines", NoSettings()),),
        channels=(ChannelEntry("PT-1", "Supply", "bar", 1, 0.0, 9.0, "Gas", "panel", "", 0),),
        phases=(
            PhaseEntry("ground", "Ground", "quiet"),
            PhaseEntry("hold", "Hold", "", "hold", 60.0, 90.0, True, "from ground when cold"),
        ),
        modes=(ModeEntry("normal", "Normal", "both loops"),),
        aborts=(AbortEntry("UA-1.abort", "Leak", "PT-1.high", "vent", ("PT-1.high",)),),
        charts=(ChartEntry("Pressures", ("PT-1",)),),
        plan=Plan(channels, limits, AlarmsPlan(alarms, ("ground",))),
        text="",
        warnings=(),
    )


def test_a_limit_stands_with_its_channel(stand: Stand) -> None:
    channel = described(stand).channels[0]

    assert [limit.id for limit in channel.limits] == ["PT-1.high", "PT-1.stale", "PT-1.late"]
    assert msgspec.structs.replace(channel, limits=[]) == ChannelInfo(
        "PT-1", "Supply", "bar", 1, 0.0, 9.0, "Gas", "panel", "", []
    )


def test_a_limit_is_told_in_seconds_and_words(stand: Stand) -> None:
    high = described(stand).channels[0].limits[0]

    assert high == LimitInfo(
        "PT-1.high", "high", "high", "High", "Vent", 50.0, {"climb": 60.0}, 2.0, 5.0, 0.5, True,
        ["a", "b"],
    )  # fmt: skip


def test_a_limit_on_quality_has_no_setpoint(stand: Stand) -> None:
    assert described(stand).channels[0].limits[1].setpoint is None


def test_a_limit_between_yes_and_no_has_no_setpoint_and_tells_the_rest(stand: Stand) -> None:
    late = described(stand).channels[0].limits[2]

    assert late == LimitInfo(
        "PT-1.late", "late", "top", "Late", "", None, {}, 0.0, 0.0, 0.0, False, [],
        unit="s", watched_in=["a", "b"], suppressed_by=["link:panel.high"], realarm_s=600.0,
        group="loss", safe_state="vent", n_of_m=(2, 3), is_arming=True,
    )  # fmt: skip


def test_limits_without_a_channel_stand_apart(stand: Stand) -> None:
    assert [limit.id for limit in described(stand).system_limits] == ["link:panel.high"]


def test_the_rest_is_told_as_it_is(stand: Stand) -> None:
    info = described(stand)

    assert (info.name, info.title, info.lag_s) == ("bench", "Bench", 0.5)
    assert info.phases == [
        PhaseInfo("ground", "Ground", "quiet"),
        PhaseInfo("hold", "Hold", "", "hold", 60.0, 90.0, True, "from ground when cold"),
    ]
    assert info.modes == [ModeInfo("normal", "Normal", "both loops")]
    assert info.aborts == [AbortInfo("UA-1.abort", "Leak", "PT-1.high", ["PT-1.high"], "vent")]
    assert info.charts == [ChartInfo("Pressures", ["PT-1"])]
    assert info.instruments == ["panel"]
