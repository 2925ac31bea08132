"""Sizes of the gondola's rig: every number of the hardware, in one place, in SI.

The rig is invented. Pressures follow common practice for a small cabin on oxygen: held near
5.5 psia (37.9 kPa), regulator shut below 4.1 psia (28.3 kPa), ambient inlet open below about
20 000 ft. A number without a reason is a choice that gives a usual effect of the trade.
"""

from __future__ import annotations

ROOM_PA = 101_325.0
ROOM_K = 293.15
#: Mole fractions of room air in the order of ``gas.KINDS``.
ROOM_AIR = (0.2075, 0.7835, 0.0004, 0.0086)

# --- Altitude chamber ------------------------------------------------------------------
CHAMBER_M3 = 12.0
#: Volume over pumping speed: the pressure falls to 1/e in this time, in s.
CHAMBER_PUMP_S = 130.0
#: Effective area of the air valve: from vacuum to room pressure in about 8 min.
CHAMBER_AIR_M2 = 1.5e-4
#: Part of the pump or air valve opened for each Pa of difference, related to pressure.
CHAMBER_GAIN = 40.0
#: Water given off by the walls, in kg/s.
CHAMBER_OUTGAS_KG_S = 3.0e-7
CHAMBER_WALL_J_K = 400e3
CHAMBER_WALL_W_K = 300.0
CHAMBER_ROOM_W_K = 15.0
LAMPS_W = 600.0

# --- Cabin -----------------------------------------------------------------------------
CABIN_M3 = 1.6
CABIN_SET_PA = 37_900.0
#: Pressure below the setpoint at which the regulator is wide open: droop.
CABIN_BAND_PA = 1_600.0
#: Part of its travel by which the regulator's needle sticks: makes it hunt by 0.1 kPa.
CABIN_STICK = 0.050
#: Opening that is left when the needle sits on its seat.
CABIN_CREEP = 0.001
CABIN_NEEDLE_S = 1.5
CABIN_REGULATOR_M2 = 1.6e-6
CABIN_CUT_OFF_PA = 28_300.0
CABIN_CUT_IN_PA = 30_300.0
#: Aneroid of the outflow valve: wide open above the second, shut below the first.
CABIN_OUTFLOW_SHUT_PA = 38_150.0
CABIN_OUTFLOW_OPEN_PA = 39_200.0
CABIN_OUTFLOW_M2 = 4.5e-4
#: Relief valve, cabin over ambient; reseats 5 % lower.
CABIN_RELIEF_PA = 41_400.0
CABIN_RELIEF_M2 = 2.0e-4
#: Vent valve for fire or fumes: 20 mm bore, discharge coefficient 0.8.
CABIN_VENT_M2 = 2.5e-4
CABIN_REPRESSURISE_M2 = 4.2e-6
#: Ambient inlet: its aneroid opens above the first and shuts below the second.
INLET_OPEN_PA = 46_600.0
INLET_SHUT_PA = 44_000.0
INLET_M2 = 8.0e-4
#: Seams and seals: about 1.7 g/min at the working pressure.
CABIN_LEAK_M2 = 3.0e-7
#: Gas to each wall at the working density, in W/K; goes with density to the 0.6.
CABIN_WALL_W_K = 6.5
CABIN_DENSITY = 0.49
WALL_J_K = 15e3
#: Wall to chamber wall by radiation, in W/K, and by air at room density, in W/K.
WALL_RADIATION_W_K = 3.0
WALL_AIR_W_K = 6.0
SUN_W = 130.0
CABIN_FAN_W = 12.0

# --- Breathing loop --------------------------------------------------------------------
LOOP_M3 = 0.060
#: Held above the cabin, and never lower than the second on its own.
LOOP_OVER_CABIN_PA = 700.0
LOOP_LEAST_PA = 32_000.0
LOOP_BAND_PA = 150.0
LOOP_REGULATOR_KG_S = 0.4e-3
#: Relief into the cabin: cracks at this difference, reseats 5 % lower.
LOOP_RELIEF_PA = 1_600.0
RESEAT = 0.95
LOOP_RELIEF_M2 = 4.0e-5
#: Below this absolute pressure an aneroid holds the relief valve shut.
LOOP_RELIEF_LOCK_PA = 34_000.0
#: Flap that lets cabin gas in before the loop could collapse, and its opening difference.
LOOP_FLAP_M2 = 3.0e-4
LOOP_FLAP_PA = 250.0
LOOP_LEAK_M2 = 3.0e-8
INTERFACE_M2 = 6.0e-4
FAN_M3_S = 0.012
#: Fan pressure rise over density at full speed, in Pa per kg/m3: 1 kPa at altitude.
FAN_RISE = 2_000.0
FAN_W = 18.0
FAN_SPIN_UP_S = 1.2
FAN_COAST_S = 2.5
#: Automatic position: below this part of full speed for this time the other fan starts.
FAN_FAILED_BELOW = 0.6
FAN_FAILED_S = 3.0
#: Trap pressure drop over density at full flow, in Pa per kg/m3, clean; growth per s.
TRAP_DROP = 180.0
TRAP_GROWTH_S = 2.0e-5
ABSORBER_KG = 0.90
ABSORBER_PASS = 0.70
#: Lithium hydroxide: water given and heat set free per kg of CO2.
ABSORBER_WATER = 0.4093
ABSORBER_J_KG = 2.05e6
LOOP_PARTS_J_K = 10e3
LOOP_PARTS_W_K = 12.0
LOOP_TO_CABIN_W_K = 4.0

# --- Metabolic simulator ---------------------------------------------------------------
#: Daily figures of a resting-to-light day (NASA BVAD Rev 2, Table 3-31), per second.
BREATH_O2_KG_S = 0.895 / 86_400
BREATH_CO2_KG_S = 1.085 / 86_400
#: 71 W of latent heat, of which 60 W reach the loop as vapour.
BREATH_WATER_KG_S = 60.0 / 2.43e6
BODY_LOOP_W = 45.0
BODY_CABIN_W = 28.0

# --- Separator -------------------------------------------------------------------------
STROKE_EVERY_S = 1800.0
STROKE_S = 30.0
#: Oxygen that drives the piston and then blows into the loop, in kg: a 0.05 kPa blip.
STROKE_GAS_KG = 36e-6
STROKE_TAKES = 0.95
SPONGE_KG = 0.150
SPONGE_START_KG = 0.030

# --- Oxygen supply ---------------------------------------------------------------------
BOTTLE_M3 = 0.010
BOTTLE_METAL_J_K = 6.2e3
#: Gas to metal in W/K at 200 bar (goes with density to the 0.3), metal to bay in W/K.
BOTTLE_INSIDE_W_K = 22.0
BOTTLE_OUTSIDE_W_K = 7.0
FULL_DENSITY = 279.6
BAY_K = 293.15
PRIMARY_BAR = 54.0
SECONDARY_BAR = 190.0
#: Regulators: setpoint with 200 bar behind, lock-up, droop per flow, gain of the inlet.
PRIMARY_SET_PA = 7.6e5
SECONDARY_SET_PA = 6.4e5
LOCK_UP = 0.07
#: Flow that the seat lets through between lock-up and setpoint, in kg/s.
SEAT_KG_S = 0.15e-3
DROOP_PA_PER_KG_S = 0.75e5 / 7e-3
INLET_EFFECT = 0.7e5 / 100e5
SEAT_M2 = 9.0e-6
HEADER_M3 = 0.002
LINE_J_K = 8.0e3
LINE_GAS_W_K = 5.0
LINE_BAY_W_K = 6.0
#: Gas standing in the header to the line's metal, in W/K.
HEADER_W_K = 0.5
EMERGENCY_M2 = 2.3e-7
#: Emergency flow opens by itself below this loop pressure.
EMERGENCY_BELOW_PA = 27_000.0

# --- Cooling ---------------------------------------------------------------------------
TANK_KG = 4.0
TANK_START_KG = 3.5
FEED_HEAD_PA = 36_000.0
LOOP_FEED_KG_S = 0.0125e-3
CABIN_FEED_KG_S = 0.0075e-3
ELECTRONICS_FEED_KG_S = 0.0145e-3
BOIL_W_K = 70.0
#: Water that wets all of the evaporator, and that lifts the moisture switch, in kg.
EVAPORATOR_FULL_KG = 0.060
EVAPORATOR_WET_KG = 0.035
#: Ice that blocks all of the evaporator, in kg.
EVAPORATOR_ICE_KG = 0.050
#: Back pressure of the steam duct, in Pa per kg/s.
DUCT_PA_PER_KG_S = 1.2e6
EVAPORATOR_J_K = 2.5e3
ELECTRONICS_J_K = 9e3
ELECTRONICS_W = 200.0
CABIN_LOAD_W = 45.0
GROUND_CART_K = 285.0
GROUND_CART_W_K = 30.0
LOOP_EXCHANGER = 0.90
CABIN_EXCHANGER = 0.75
CABIN_FAN_M3_S = 0.025
