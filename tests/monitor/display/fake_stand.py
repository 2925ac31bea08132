"""A synthetic stand of about forty channels, for tests of the display and for pictures of it.

Everything is a function of time, so that the past can be asked for and each run is the same.
"""

from __future__ import annotations

import msgspec
import numpy as np

from monitor.link.messages import (
    ChannelInfo,
    ChartInfo,
    LimitInfo,
    LinkState,
    RecordingState,
    StandInfo,
)
from monitor.samples import Floats, Ints, Quality
from tests.monitor.display import fake_extras

NS = 1_000_000_000

#: tag, title, unit, decimals, low, high, group, instrument, middle, swing, period in s, rows/s.
_TABLE = """
PT-101;Chamber pressure;kPa;2;0;110;Chamber;chamber_node;37.9;0.15;700;1
TT-101;Chamber air temperature;degC;1;-60;60;Chamber;chamber_node;-18;2;900;1
ZT-101;Pressure altitude;m;0;0;20000;Chamber;;7500;30;700;1
PT-201;Primary bottle pressure;bar;1;0;220;Gas supply;gas_panel;148.2;0.6;4000;10
PT-202;Secondary bottle pressure;bar;1;0;220;Gas supply;gas_panel;182.4;0.2;5000;10
PT-203;Supply manifold pressure;bar;2;0;12;Gas supply;gas_panel;6.9;0.08;95;10
TT-201;Primary bottle skin;degC;1;-40;60;Gas supply;gas_panel;17.5;0.7;1500;10
TT-202;Secondary bottle skin;degC;1;-40;60;Gas supply;gas_panel;18.1;0.3;1500;10
FT-201;Make-up flow;g/min;2;0;12;Gas supply;gas_panel;0.62;0.2;31;10
FT-202;Emergency flow;g/min;1;0;120;Gas supply;gas_panel;0.0;0.0;60;10
PT-301;Loop pressure;kPa;2;0;60;Breathing loop;gas_panel;38.6;0.12;24;10
PDT-301;Loop minus cabin;kPa;2;-5;5;Breathing loop;;0.7;0.15;24;10
AT-301;Inspired O2;kPa;1;0;60;Breathing loop;analysers;31.2;0.5;200;1
AT-302;Inspired CO2;kPa;2;0;3;Breathing loop;analysers;0.42;0.05;260;1
AT-303;Loop nitrogen by difference;kPa;1;0;60;Breathing loop;;6.4;0.3;700;1
TT-301;Loop supply temperature;degC;1;0;50;Breathing loop;cooling_panel;19.4;0.6;310;1
MT-301;Loop humidity;%;0;0;100;Breathing loop;analysers;46;3;420;1
PDT-302;Loop fan pressure rise;Pa;0;0;900;Breathing loop;cooling_panel;412;9;15;1
SI-301;Loop fan 1 speed;1/min;0;0;12000;Breathing loop;cooling_panel;8450;40;40;1
SI-302;Loop fan 2 speed;1/min;0;0;12000;Breathing loop;cooling_panel;0;0;40;1
PDT-303;Solids trap pressure drop;Pa;0;0;400;Breathing loop;cooling_panel;88;3;800;1
PT-401;Cabin pressure;kPa;2;0;110;Cabin;cabin_node;37.9;0.14;45;2
AT-401;Cabin O2;kPa;1;0;40;Cabin;cabin_node;9.2;0.2;300;1
TT-401;Cabin air temperature;degC;1;0;50;Cabin;cabin_node;21.6;0.8;600;1
MT-401;Cabin humidity;%;0;0;100;Cabin;cabin_node;38;2;500;1
SI-401;Cabin fan speed;1/min;0;0;6000;Cabin;cabin_node;3120;25;50;1
TT-501;Loop exchanger exhaust;degC;1;-10;60;Cooling;cooling_panel;9.8;0.9;140;1
TT-502;Cabin exchanger exhaust;degC;1;-10;60;Cooling;cooling_panel;11.1;0.8;170;1
TT-503;Electronics exchanger exhaust;degC;1;-10;60;Cooling;cooling_panel;14.0;0.9;150;1
LT-501;Coolant water left;kg;2;0;8;Cooling;cooling_panel;5.62;0.0;900;1
WI-501;Separator water;g;0;0;2000;Cooling;cooling_panel;415;0;1800;1
ET-601;Electronics load;W;0;0;600;Electrical;cooling_panel;214;6;20;1
TT-601;Sunlit wall;degC;1;-60;80;Electrical;chamber_node;34.5;1.1;800;1
TT-602;Shaded wall;degC;1;-60;80;Electrical;chamber_node;-22.1;0.9;800;1
PT-701;Metabolic simulator O2 uptake;g/min;2;0;2;Simulator;analysers;0.58;0.03;120;1
PT-702;Metabolic simulator CO2;g/min;2;0;2;Simulator;analysers;0.67;0.03;120;1
"""
_CHANNELS = tuple(tuple(line.split(";")) for line in _TABLE.strip().splitlines())

#: tag -> kind, setpoint, deadband, priority, message, response.
_LIMITS: dict[str, tuple[tuple[str, float, float, str, str, str], ...]] = {
    "PT-201": (
        ("low", 50, 2, "high", "Primary bottle low",
         "Check the flow against the plan.\nExpect the changeover at the second regulator's "
         "setting; have the secondary bottle's pressure read out now."),
    ),
    "PT-301": (
        ("high_high", 48, 1, "top", "Loop overpressure", "Open the relief by hand."),
        ("high", 44, 0.5, "medium", "Loop pressure high", "Look for a stuck make-up valve."),
        ("low", 34, 0.5, "high", "Loop pressure low",
         "1. Compare with cabin pressure: if both fall, it is the cabin.\n"
         "2. If the loop alone falls, close the isolation valve and read the make-up flow.\n"
         "3. Below 30 kPa: go to emergency flow and abort."),
        ("low_low", 30, 0.5, "top", "Loop pressure at abort bound", "Emergency flow. Abort."),
    ),
    "AT-301": (
        ("high", 42, 0.5, "high", "Oxygen too rich: fire risk", "Stop the make-up flow."),
        ("low", 22, 0.5, "top", "Inspired oxygen low",
         "Emergency flow on, now. Then find out whether nitrogen has built up."),
    ),
    "AT-302": (("high", 1.0, 0.05, "high", "Inspired CO2 high", "Absorber near its end."),),
    "PT-401": (
        ("high", 41, 0.3, "medium", "Cabin pressure high", "Watch the relief."),
        ("low", 35, 0.3, "high", "Cabin pressure low",
         "Is the regulator cut off? Read the rate of fall; below 32 kPa hold the test."),
    ),
    "TT-501": (("low", 1, 0.5, "medium", "Loop exchanger near freezing", "Less water."),),
    "TT-401": (("high", 28, 0.5, "low", "Cabin warm", "Raise the cabin cooler's setting."),),
    "LT-501": (("low", 1.2, 0.1, "medium", "Coolant water low", "40 minutes are left."),),
    "SI-301": (("low", 6000, 200, "high", "Loop fan 1 slow", "Has fan 2 started?"),),
    "PDT-303": (("high", 200, 10, "low", "Solids trap loading", "Note it down."),),
}  # fmt: skip

CHARTS = (
    ("Pressures", ("PT-401", "PT-301", "PT-101")),
    ("Breathing gas", ("AT-301", "AT-303")),
    ("Inspired CO2", ("AT-302",)),
    ("Bottles", ("PT-201", "PT-202")),
    ("Exchanger exhausts", ("TT-501", "TT-502", "TT-503")),
    ("Air temperatures", ("TT-401", "TT-301", "TT-601", "TT-602")),
)
INSTRUMENTS = ("gas_panel", "cooling_panel", "cabin_node", "analysers", "chamber_node")


def limit_info(tag: str, row: tuple[str, float, float, str, str, str]) -> LimitInfo:
    """Describe one limit."""
    kind, setpoint, deadband, priority, message, response = row
    in_phase = {"forced": 26.0} if (tag, kind) == ("PT-401", "low") else {}
    made = LimitInfo(
        f"{tag}.{kind}", kind, priority, message, response, setpoint, in_phase, deadband,
        2.0, 2.0, priority == "top", ["ground"] if tag == "TT-501" else [],
    )  # fmt: skip
    return msgspec.structs.replace(made, **fake_extras.MORE.get(made.id, {}))


def quality_limits(tag: str) -> list[LimitInfo]:
    """Describe the two limits that every channel has."""
    return [
        LimitInfo(
            f"{tag}.{kind}", kind, "low", message, "Look at the instrument's link first.",
            None, {}, 0.0, 0.0, 0.0, False, [],
        )
        for kind, message in (("stale", "Value stale"), ("fault", "Sensor fault"))
    ]  # fmt: skip


def channel_info(row: tuple[str, ...]) -> ChannelInfo:
    """Describe one channel."""
    tag, title, unit, decimals, low, high, group, instrument = row[:8]
    limits = [limit_info(tag, one) for one in _LIMITS.get(tag, ())]
    limits += [*fake_extras.LIMITS.get(tag, ()), *quality_limits(tag)]
    formula = "" if instrument else "a - b"
    return ChannelInfo(
        tag, title, unit, int(decimals), float(low), float(high), group, instrument, formula,
        limits,
    )  # fmt: skip


def stand_info() -> StandInfo:
    """Describe the stand."""
    system = [
        LimitInfo(
            f"link:{name}.high", "high", "high", f"No link to {name}",
            "Look at cable and supply of the instrument; the engine tries again by itself.",
            0.5, {}, 0.0, 2.0, 0.0, False, [],
        )
        for name in INSTRUMENTS
    ]  # fmt: skip
    return StandInfo(
        name="gondola",
        title="Gondola environmental-control rig",
        channels=[channel_info(row) for row in _CHANNELS],
        phases=fake_extras.PHASES,
        charts=[ChartInfo(title, list(tags)) for title, tags in CHARTS],
        instruments=list(INSTRUMENTS),
        system_limits=[*system, *fake_extras.SYSTEM],
        lag_s=0.5,
        modes=fake_extras.MODES,
        aborts=fake_extras.ABORTS,
    )


TAGS = tuple(row[0] for row in _CHANNELS)
RATE_HZ = tuple(int(row[11]) for row in _CHANNELS)
#: Instrument whose channels are down in the stale scene, and channels with sensor faults.
DOWN = "analysers"
FAULTY = {"TT-503": Quality.CURRENT_FAULT, "PT-203": Quality.OUT_OF_RANGE}
DOUBTFUL = {"TT-401": Quality.CALIBRATION_OVERDUE}


def grid_ns(number: int, from_ns: int, until_ns: int) -> Ints:
    """Give the times of a channel's rows in (from, until]."""
    step = NS // RATE_HZ[number]
    return np.arange(from_ns // step + 1, until_ns // step + 1, dtype=np.int64) * step


def values_at(number: int, t_ns: Ints, scene: str) -> Floats:
    """Give a channel's values: a slow swing, a little noise, and what the scene does to it."""
    row = _CHANNELS[number]
    middle, swing, period = (float(x) for x in row[8:11])
    t_s = t_ns / NS
    noise = np.sin(t_s * 37.7) + np.sin(t_s * 91.3 + number) + np.sin(t_s * 211.7 + 2 * number)
    value = middle + swing * np.sin(2 * np.pi * t_s / period + number) + 0.06 * swing * noise
    if scene == "alarm":
        fall = {"PT-401": 4.1, "PT-301": 5.4, "AT-301": 10.4, "PT-101": 3.9}.get(
            TAGS[number], 0
        )
        value = value - fall * (0.75 + 0.25 * np.sin(2 * np.pi * t_s / 90))
    return np.asarray(value, np.float64)


def quality_of(number: int, scene: str) -> int:
    """Give a channel's quality in a scene."""
    if scene == "inhibited":
        doubtful = {**DOUBTFUL, "PT-203": Quality.FORCED}
        return int(doubtful.get(TAGS[number], Quality.GOOD))
    if scene != "stale":
        return int(DOUBTFUL.get(TAGS[number], Quality.GOOD)) if scene == "alarm" else 0
    if _CHANNELS[number][7] == DOWN:
        return int(Quality.LINK_LOST)
    if TAGS[number].startswith("SI-"):
        return int(Quality.STALE)
    return int(FAULTY.get(TAGS[number], DOUBTFUL.get(TAGS[number], Quality.GOOD)))


def links_of(scene: str, now_ns: int) -> list[LinkState]:
    """Give the links in a scene."""
    links = []
    for name in INSTRUMENTS:
        is_up = scene != "stale" or name != DOWN
        counts = {"line without number": 3, "half a line": 1} if name == "gas_panel" else {}
        examples = {"line without number": "P2=--.-,bar"} if counts else {}
        since_ns = now_ns - (5400 if is_up else 65) * NS
        links.append(
            LinkState(
                name, is_up, since_ns,
                "readings arrive" if is_up else "broker 192.0.2.7:1883 does not answer",
                "" if is_up else "See that the broker runs and the cable is in",
                54000, now_ns - (0 if is_up else 65 * NS), counts, examples,
            )
        )  # fmt: skip
    return links


def recording_of(scene: str, now_ns: int) -> RecordingState:
    """Give the state of recording in a scene."""
    folder = "run-2026-11-24T210000Z-gondola"
    if scene == "stale":
        return RecordingState("stopped", folder, "no space left on device", 181_403_648, 0)
    return RecordingState("recording", folder, "", 48_234_496, now_ns - NS)
