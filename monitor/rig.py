"""The demo's virtual rig, as a process that speaks lines of JSON."""

from __future__ import annotations

import asyncio
import sys
import tempfile
from asyncio.subprocess import PIPE, Process
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import IO

import msgspec

from monitor.companions import end
from monitor.errors import MonitorError

#: How long the rig may take to open its wires, in seconds.
READY_S = 30.0

Overrides = dict[str, dict[str, str]]


class RigError(MonitorError):
    """The virtual rig did not start, or died; the text holds its last words."""


class Ready(msgspec.Struct, frozen=True):
    """The rig's wires are open. *overrides* tells where, by instrument and setting."""

    overrides: Overrides


class Scene(msgspec.Struct, frozen=True):
    """The script wants a person's action at *at_s* seconds of data time after its start."""

    at_s: float
    enter_phase: str = ""
    note: str = ""


class Behind(msgspec.Struct, frozen=True):
    """The machine is too slow for this speed: the rig has lost *lost_s* seconds by now."""

    lost_s: float


class Line(msgspec.Struct, frozen=True):
    """One line of what the rig says; one of the four is set."""

    ready: Ready | None = None
    scenario: Scene | None = None
    behind: Behind | None = None
    end: bool = False


_LINE = msgspec.json.Decoder(Line)


def rig_command(speed: float, seed: int) -> list[str]:
    """Give the command that runs the rig."""
    options = ["--speed", f"{speed:g}", "--seed", str(seed)]
    return [sys.executable, "-m", "drivers.virtual", *options]


@dataclass(slots=True)
class Rig:
    """The virtual rig's process. Made by :func:`running_rig`."""

    _process: Process
    _say: asyncio.StreamWriter
    _said: asyncio.StreamReader
    _complaints: IO[bytes]

    async def ready(self) -> Overrides:
        """Wait until its wires are open; tell where they are, by instrument and setting.

        Raises:
            RigError: It died, or takes too long.
        """
        try:
            async with asyncio.timeout(READY_S):
                line = await self.line()
        except TimeoutError as error:
            raise self._error(f"is not ready after {READY_S:g} s") from error
        if line.ready is None:
            raise self._error("did not say where its wires are")
        return line.ready.overrides

    def go(self) -> None:
        """Let the script begin; the instruments speak already."""
        self._say.write(b"go\n")

    async def line(self) -> Line:
        """Wait for what it says next.

        Raises:
            RigError: It died, or what it says makes no sense.
        """
        raw = await self._said.readline()
        if not raw:
            raise self._error(f"ended with exit code {await self._process.wait()}")
        try:
            return _LINE.decode(raw)
        except msgspec.DecodeError as error:
            raise self._error(f"said {raw!r} ({error})") from error

    async def end(self) -> None:
        """Tell it to end: it does when nobody talks to it any more."""
        self._say.close()
        await end(self._process)

    def _error(self, problem: str) -> RigError:
        """Tell the problem with the rig's last words."""
        self._complaints.seek(0)
        words = self._complaints.read().decode(errors="replace").splitlines()[-8:]
        return RigError("\n".join([f"the virtual rig {problem}", *words]))


@asynccontextmanager
async def running_rig(command: Sequence[str]) -> AsyncIterator[Rig]:
    """Run the rig; it has ended when the context is left.

    It has a session of its own, so that Ctrl-C does not cut its wires before the run is closed.
    """
    with tempfile.TemporaryFile() as complaints:
        process = await asyncio.create_subprocess_exec(
            *command, stdin=PIPE, stdout=PIPE, stderr=complaints, start_new_session=True
        )
        if process.stdin is None or process.stdout is None:
            raise RigError("the virtual rig has no pipes to talk through")
        rig = Rig(process, process.stdin, process.stdout, complaints)
        try:
            yield rig
        finally:
            await rig.end()
