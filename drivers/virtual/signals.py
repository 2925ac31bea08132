"""Which sensors sit where, and on which instrument's wire: data."""

from __future__ import annotations

from drivers.virtual.sensors import Around, Current, Number, Platinum, SensorPlan

_KPA, _BAR, _G_MIN = 1e-3, 1e-5, 60e3
_CELSIUS = -273.15
_MA_STEP = 0.001
_OHM_STEP = 0.002


def _pressure(
    signal: str, truth: str, most_kpa: float, noise: float, *, is_gauge: bool = False
) -> SensorPlan:
    """Pressure transmitter in kPa, from 0."""
    return SensorPlan(
        signal,
        truth,
        Current(0.0, most_kpa),
        gain=_KPA,
        lag_s=0.05,
        noise=noise,
        error=most_kpa * 2e-4,
        step=_MA_STEP,
        is_gauge=is_gauge,
    )


def _bottle(signal: str, truth: str, most_bar: float, noise: float) -> SensorPlan:
    """Pressure transmitter in bar, gauge behind a panel that adds its barometer."""
    return SensorPlan(
        signal,
        truth,
        Current(0.0, most_bar),
        gain=_BAR,
        lag_s=0.1,
        noise=noise,
        error=most_bar * 5e-4,
        step=_MA_STEP,
        is_gauge=True,
    )


def _platinum(signal: str, truth: str, lag_s: float, around: Around = "") -> SensorPlan:
    """Pt100 in degC."""
    return SensorPlan(
        signal,
        truth,
        Platinum(),
        offset=_CELSIUS,
        lag_s=lag_s,
        noise=0.01,
        error=0.1,
        step=_OHM_STEP,
        around=around,
    )


def _flow(signal: str, truth: str, most_g_min: float) -> SensorPlan:
    """Thermal mass flow meter in g/min."""
    return SensorPlan(
        signal,
        truth,
        Current(0.0, most_g_min),
        gain=_G_MIN,
        lag_s=0.8,
        noise=most_g_min * 1e-3,
        step=_MA_STEP,
    )


def _contact(signal: str, truth: str) -> SensorPlan:
    """Contact, 0 or 1."""
    return SensorPlan(signal, truth, step=1.0)


#: Streams at 10 Hz; raw mA, ohm, mV and contacts.
GAS_PANEL: tuple[SensorPlan, ...] = (
    _pressure("chamber_ma", "chamber_pa", 110.0, 0.010),
    _pressure("chamber_fine_ma", "chamber_pa", 10.0, 0.002),
    _platinum("chamber_ohm", "chamber_k", 30.0, "chamber"),
    _bottle("primary_ma", "primary_pa", 250.0, 0.05),
    _bottle("secondary_ma", "secondary_pa", 250.0, 0.05),
    _platinum("primary_skin_ohm", "primary_skin_k", 15.0),
    _platinum("secondary_skin_ohm", "secondary_skin_k", 15.0),
    _bottle("header_ma", "header_pa", 16.0, 0.005),
    _pressure("loop_ma", "loop_pa", 110.0, 0.010, is_gauge=True),
    _pressure("fan_rise_ma", "fan_rise_pa", 4.0, 0.004),
    _pressure("trap_drop_ma", "trap_drop_pa", 1.0, 0.001),
    _flow("make_up_ma", "make_up_kg_s", 30.0),
    _flow("emergency_ma", "emergency_kg_s", 40.0),
    _flow("cabin_supply_ma", "cabin_regulator_kg_s", 250.0),
    _flow("repressurise_ma", "repressurise_kg_s", 600.0),
    _platinum("loop_supply_ohm", "loop_supply_k", 20.0, "loop"),
    _platinum("loop_return_ohm", "loop_return_k", 20.0, "loop"),
    SensorPlan(
        "loop_o2_mv",
        "loop_o2_pa",
        Number(0.5),
        gain=_KPA,
        lag_s=6.5,
        noise=0.03,
        error=0.1,
        step=0.001,
        around="loop",
        effect="cell",
    ),
    _contact("secondary_feeds", "secondary_feeds"),
    _contact("fan_1", "fan_1_runs"),
    _contact("fan_2", "fan_2_runs"),
    _contact("fan_selector", "fan_selector"),
    _contact("stroke", "stroke"),
    _contact("interface_open", "interface_open"),
)

#: Answers when asked, once a second.
COOLING_PANEL: tuple[SensorPlan, ...] = (
    _platinum("loop_exhaust_ohm", "loop_exhaust_k", 8.0),
    _platinum("cabin_exhaust_ohm", "cabin_exhaust_k", 8.0),
    _platinum("electronics_ohm", "electronics_k", 10.0),
    SensorPlan(
        "tank_ma",
        "tank_kg",
        Current(0.0, 100.0),
        gain=25.0,
        lag_s=5.0,
        noise=0.05,
        error=0.2,
        step=_MA_STEP,
    ),
    SensorPlan("load_w", "load_w", lag_s=0.5, noise=1.0, step=0.1),
    _contact("loop_wet", "loop_wet"),
    _contact("cabin_wet", "cabin_wet"),
)


def _node(signal: str, truth: str, lag_s: float, around: Around = "") -> SensorPlan:
    """Thermometer of a node that sends degC."""
    return SensorPlan(
        signal,
        truth,
        offset=_CELSIUS,
        lag_s=lag_s,
        noise=0.01,
        error=0.1,
        step=0.01,
        around=around,
    )


#: Packs of samples at 10 Hz, already in kPa and degC.
CABIN_NODE: tuple[SensorPlan, ...] = (
    SensorPlan(
        "pressure", "cabin_pa", gain=_KPA, lag_s=0.05, noise=0.008, error=0.02, step=0.001
    ),
    _node("gas", "cabin_k", 30.0, "cabin"),
    _node("sunlit", "sunlit_k", 10.0),
    _node("shaded", "shaded_k", 10.0),
    _contact("vent", "vent_opening"),
    _contact("inlet", "inlet_opening"),
    _contact("repressurise", "repressurise_opening"),
    _contact("cut_off", "cabin_cut_off"),
    _contact("fan", "cabin_fan_runs"),
)


def _analyser(signal: str, truth: str, lag_s: float, noise: float) -> SensorPlan:
    """Analyser of a partial pressure in kPa."""
    return SensorPlan(signal, truth, gain=_KPA, lag_s=lag_s, noise=noise, step=1e-4)


#: Plain numbers on a topic each, once a second.
ANALYSERS: tuple[SensorPlan, ...] = (
    SensorPlan(
        "loop_co2",
        "loop_co2_pa",
        gain=_KPA,
        lag_s=17.0,
        noise=0.002,
        error=0.003,
        step=1e-4,
        around="loop",
        effect="infrared",
    ),
    _analyser("loop_h2o", "loop_h2o_pa", 10.0, 0.01),
    _analyser("cabin_o2", "cabin_o2_pa", 6.5, 0.03),
    _analyser("cabin_co2", "cabin_co2_pa", 17.0, 0.002),
)

#: Instruments by the names that a stand file gives them.
INSTRUMENTS: dict[str, tuple[SensorPlan, ...]] = {
    "gas_panel": GAS_PANEL,
    "cooling_panel": COOLING_PANEL,
    "cabin_node": CABIN_NODE,
    "analysers": ANALYSERS,
}
