"""What people can set on the rig: valves, selectors, water settings, the chamber's target."""

from __future__ import annotations

from dataclasses import dataclass

from drivers.virtual import sizes


@dataclass(slots=True)
class Controls:
    """Positions of everything a hand can move. The scenario moves them.

    Attributes:
        chamber_target_pa: Pressure that pump and air valve work towards, in Pa.
        regulator_open: The cabin regulator's isolation cock.
        vent_open: Cabin vent valve for fire or fumes.
        repressurise_open: Valve that fills the cabin straight from the header.
        inlet: Ambient inlet: -1 held shut, 0 by its aneroid, 1 held open.
        emergency: Emergency flow: -1 safed, 0 automatic, 1 on by hand.
        interface_open: Breathing interface open to the cabin; isolates the loop regulator.
        fan_selector: 0 automatic; 1 or 2 that fan alone, no standby.
        cabin_fan_on: Cabin fan switch.
        stroke_on: Timer of the water separator.
        loop_water: Water setting of the loop heat exchanger, 0 shut, 1 least to 7 most.
        cabin_water: The same for the cabin heat exchanger.
        electronics_water: The same for the electronics heat exchanger.
        ground_cart: Ground cooling connected.
        lamps: Solar lamps, 0 to 1.
        activity: Metabolic simulator's rate, 1 for its daily mean.
        load: Electrical load as a part of nominal.
    """

    chamber_target_pa: float = sizes.ROOM_PA
    regulator_open: bool = True
    vent_open: bool = False
    repressurise_open: bool = False
    inlet: int = 0
    emergency: int = -1
    interface_open: bool = True
    fan_selector: int = 0
    cabin_fan_on: bool = True
    stroke_on: bool = True
    loop_water: float = 0.0
    cabin_water: float = 0.0
    electronics_water: float = 0.0
    ground_cart: bool = True
    lamps: float = 0.0
    activity: float = 1.0
    load: float = 1.0
