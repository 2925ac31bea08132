"""A rig at altitude, worked out once: most effects are looked at from there."""

from __future__ import annotations

import asyncio
import copy
from collections.abc import AsyncIterator, Callable

import pytest

from drivers.virtual.rig import Rig

Run = Callable[..., None]


def run_rig(rig: Rig, seconds: float, watch: Callable[[Rig], None] | None = None) -> None:
    """Go on in steps of 0.1 s; call *watch* after each."""
    for _ in range(round(seconds * 10)):
        rig.step(0.1)
        if watch is not None:
            watch(rig)


@pytest.fixture
def run() -> Run:
    """Give the function that runs a rig."""
    return run_rig


@pytest.fixture(scope="session")
def _settled() -> Rig:
    """Climb once: interface closed, water on, chamber at 1.2 kPa, regulators in charge."""
    rig = Rig()
    rig.controls.interface_open = False
    run_rig(rig, 60)
    rig.controls.chamber_target_pa = 1200.0
    rig.controls.ground_cart = False
    rig.controls.lamps = 1.0
    run_rig(rig, 400)
    rig.controls.loop_water = 6.0
    rig.controls.cabin_water = 5.0
    rig.controls.electronics_water = 6.0
    rig.controls.emergency = 0
    run_rig(rig, 600)
    return rig


@pytest.fixture
def aloft(_settled: Rig) -> Rig:
    """Give a rig of one's own at altitude."""
    return copy.deepcopy(_settled)


@pytest.fixture
async def executor_ended() -> AsyncIterator[None]:
    """End the loop's helper threads, in which an MQTT client opens its connection."""
    yield
    await asyncio.get_running_loop().shutdown_default_executor()
