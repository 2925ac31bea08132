"""The parts that the rig is put together from, and what people have set."""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.cabin import Cabin
from drivers.virtual.chamber import Chamber
from drivers.virtual.controls import Controls
from drivers.virtual.cooling import Tank
from drivers.virtual.electronics import Electronics
from drivers.virtual.loop import Loop
from drivers.virtual.realgas import load_oxygen_table
from drivers.virtual.separator import Separator
from drivers.virtual.supply import Supply


class Parts:
    """Everything that has a state.

    Attributes:
        controls: What people have set; change it at will between steps.
        chamber: The altitude chamber.
        cabin: The cabin.
        loop: The breathing loop.
        supply: Bottles, regulators, header.
        electronics: The cooled electronics.
        tank: Of coolant water.
    """

    def __init__(self, separator: Separator) -> None:
        """Put them together, on the ground."""
        self.controls: Controls = Controls()
        self.chamber: Chamber = Chamber()
        self.cabin: Cabin = Cabin()
        self.loop: Loop = Loop(separator)
        self.supply: Supply = Supply(load_oxygen_table())
        self.electronics: Electronics = Electronics()
        self.tank: Tank = Tank(sizes.TANK_START_KG, sizes.ROOM_K)
