"""Tests for monitor.rig.

Source: hand-worked here. The rig is played by short scripts that speak the same lines.
"""

from __future__ import annotations

import asyncio
import sys

import pytest

from monitor import companions, rig
from monitor.rig import Line, RigError, Scene, rig_command, running_rig

READY = 'print(\'{"ready": {"overrides": {"panel": {"port": "/dev/pts/9"}}}}\', flush=True)'
UNTIL_NOBODY_TALKS = "import sys; sys.stdin.read()"


def script(*lines: str) -> list[str]:
    """Give the command of a rig that does *lines*."""
    return [sys.executable, "-c", "\n".join(lines)]


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Do not wait long for an end."""
    monkeypatch.setattr(companions, "PATIENCE_S", 1.0)


async def test_the_rig_tells_where_its_wires_are() -> None:
    async with running_rig(script(READY, UNTIL_NOBODY_TALKS)) as made:
        assert await made.ready() == {"panel": {"port": "/dev/pts/9"}}


async def test_the_script_begins_with_go_and_its_lines_come_in_order() -> None:
    says = [
        READY,
        "assert input() == 'go'",
        'print(\'{"scenario": {"at_s": 60, "enter_phase": "climb", "note": "up"}}\')',
        'print(\'{"scenario": {"at_s": 90, "note": "look"}, "more": 1}\')',
        "print('{\"end\": true}', flush=True)",
        UNTIL_NOBODY_TALKS,
    ]
    async with running_rig(script(*says)) as made:
        await made.ready()
        made.go()
        lines = [await made.line() for _ in range(3)]

    assert lines == [
        Line(scenario=Scene(60, "climb", "up")),
        Line(scenario=Scene(90, "", "look")),
        Line(end=True),
    ]


async def test_a_rig_that_dies_is_told_with_its_last_words() -> None:
    async with running_rig(script("import sys", "sys.exit('no such table')")) as made:
        with pytest.raises(RigError, match=r"(?s)ended with exit code 1.*no such table"):
            await made.ready()


async def test_a_rig_that_is_not_ready_in_time_is_given_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(rig, "READY_S", 0.1)
    async with running_rig(script(UNTIL_NOBODY_TALKS)) as made:
        with pytest.raises(RigError, match="is not ready after"):
            await made.ready()


async def test_a_rig_that_does_not_say_where_it_is_is_refused() -> None:
    async with running_rig(script("print('{}', flush=True)", UNTIL_NOBODY_TALKS)) as made:
        with pytest.raises(RigError, match="did not say where its wires are"):
            await made.ready()


async def test_a_line_that_makes_no_sense_is_shown() -> None:
    async with running_rig(script("print('hello', flush=True)", UNTIL_NOBODY_TALKS)) as made:
        with pytest.raises(RigError, match="said b'hello"):
            await made.line()


async def test_the_rig_ends_when_nobody_talks_to_it_any_more() -> None:
    async with running_rig(
        script(READY, UNTIL_NOBODY_TALKS, "print('{\"end\": true}')")
    ) as made:
        await made.ready()
    line = await asyncio.wait_for(made.line(), 5)

    assert line.end


def test_the_command_carries_speed_and_seed() -> None:
    assert rig_command(20.0, 7)[1:] == ["-m", "drivers.virtual", "--speed", "20", "--seed", "7"]
