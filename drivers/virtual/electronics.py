"""The electronics on their cold plate: a heat load that water must carry away."""

from __future__ import annotations

from drivers.virtual import sizes
from drivers.virtual.cooling import Evaporator, Tank, cool_on_ground
from drivers.virtual.gas import Gas
from drivers.virtual.ledger import Ledger


class Electronics:
    """A plate that is heated by current and cooled by its own evaporator.

    Attributes:
        plate: Metal and evaporator in one.
        load_w: Electrical power taken now, in W.
    """

    def __init__(self) -> None:
        """Start at room temperature."""
        feed = sizes.ELECTRONICS_FEED_KG_S
        self.plate = Evaporator(feed, sizes.ELECTRONICS_J_K, sizes.ROOM_K)
        self.load_w = sizes.ELECTRONICS_W

    def heat(self, dt_s: float, load: float, on_cart: bool, ledger: Ledger) -> None:
        """Let the load heat the plate and the ground cart cool it."""
        self.load_w = sizes.ELECTRONICS_W * load
        self.plate.heat(self.load_w * dt_s)
        ledger.energy("electricity", self.load_w * dt_s)
        if on_cart:
            cool_on_ground(self.plate, dt_s, ledger)

    def cool(
        self, dt_s: float, setting: float, tank: Tank, press_pa: float, chamber: Gas
    ) -> None:
        """Run the evaporator."""
        self.plate.step(dt_s, setting, tank, press_pa, chamber)
