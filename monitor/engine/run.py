"""The engine process, put together: opens a run, watches until told to end, closes it."""

from __future__ import annotations

import asyncio
import contextlib
import gc
import logging
import os
import time
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from random import Random

from drivers.reading import Instrument
from drivers.registry import instrument_kinds
from monitor.engine.acts import ActDesk
from monitor.engine.backfill import backfill
from monitor.engine.ending import Ending, uncancel
from monitor.engine.health import memory_mb
from monitor.engine.loop import Heart
from monitor.engine.only_one import only_engine
from monitor.engine.opening import OpenRun, open_run
from monitor.engine.rebuild import rebuild
from monitor.engine.recorder import Recorder
from monitor.engine.serve import LinkServer, announce, new_token, other_engine, withdraw
from monitor.engine.session import Desk
from monitor.engine.supervise import LinkRecord, Supervisor
from monitor.errors import LinkError
from monitor.events import HostEvent
from monitor.link.endpoint import Endpoint
from monitor.stand.model import Stand

_logger = logging.getLogger(__name__)

#: How often links, recording and health are told, in seconds.
_HOUSEKEEPING_S = 1.0
#: How long displays may take to hear of the end, in seconds.
_FAREWELL_S = 0.1

OK = 0
NOT_ON_DISK = 1


@dataclass(frozen=True, slots=True)
class WatchSettings:
    """How to watch.

    Attributes:
        run_dir: The folder in which run folders are made.
        state_dir: Where the engine says where it listens.
        speed: Seconds of data time in a real second; 1 except with the virtual rig.
        for_s: End by itself after so many real seconds; None for never.
        resume: Go on with the stand's run if it was not closed.
    """

    run_dir: Path
    state_dir: Path
    speed: float = 1.0
    for_s: float | None = None
    resume: bool = True


async def watch(
    stand: Stand, settings: WatchSettings, stop: asyncio.Event | None = None
) -> int:
    """Watch *stand* until a signal, the time or a cancellation ends it; close the run.

    Args:
        stand: What to watch.
        settings: How.
        stop: Ends the watch when it is set, whatever the engine is doing at that time; setting
            it again does no harm.

    Returns:
        0, or 1 when the end of the run could not be written.

    Raises:
        LinkError: An engine runs with this state folder already.
        OSError: No run folder can be made, or no port opened.
        RecordError: The open run cannot be gone on with.
    """
    other = other_engine(settings.state_dir)
    if other is not None:
        raise LinkError(
            f"the stand {other.stand!r} is being watched already (process {other.pid}); end "
            "that first, or use another --state-dir"
        )
    with only_engine(settings.state_dir):
        # Before the clock runs: making an instrument loads what it needs, which takes long.
        instruments = _made(stand)
        run = open_run(stand, settings.run_dir, settings.speed, may_resume=settings.resume)
        return await _Engine(run, instruments, settings, stop or asyncio.Event()).run()


def _made(stand: Stand) -> dict[str, Instrument]:
    """Make every instrument of the stand, by name."""
    kinds = instrument_kinds()
    return {
        entry.name: kinds[entry.kind].make(entry.name, entry.settings)
        for entry in stand.instruments
    }


class _Engine:
    """Everything that runs in the process."""

    def __init__(
        self,
        run: OpenRun,
        instruments: Mapping[str, Instrument],
        settings: WatchSettings,
        stop: asyncio.Event,
    ) -> None:
        self._run = run
        self._settings = settings
        self._ending = Ending(stop)
        self._loop = asyncio.get_running_loop()
        self._recorder = Recorder(run.writer, self._stopped, self._resumed)
        self._heart = Heart(
            run.pipeline, run.gate, run.clock, run.board, self._recorder, run.collector
        )
        desk = Desk(
            run.board,
            ActDesk(run.stand.plan, self._heart.act),
            run.writer.folder.name,
            new_token(),
            run.clock.now_ns,
        )
        self._token = desk.token
        self._server = LinkServer(desk)
        self._supervisors = {
            name: self._supervised(name, instrument) for name, instrument in instruments.items()
        }

    async def run(self) -> int:
        """Watch until told to end; give the exit code."""
        for event in self._run.first:
            self._heart.host(event)
        self._note_all(0.0)
        with self._ending.by_signals(), _no_long_pauses():
            try:
                await self._announce()
                await self._work()
                is_whole = await self._close()
            finally:
                withdraw(self._settings.state_dir)
                await self._server.close()
                # After a fault nothing was closed: what was whole is written, the run stays.
                self._heart.abandon()
                await self._close_record(None)
            if is_whole:
                await rebuild(self._run.writer.folder, self._ending.hurry)
        return OK if is_whole else NOT_ON_DISK

    async def _announce(self) -> None:
        """Listen, and say where."""
        endpoint = Endpoint(
            url=await self._server.start(),
            token=self._token,
            pid=os.getpid(),
            run=str(self._run.writer.folder.resolve()),
            stand=self._run.stand.name,
            started_ns=self._run.started_ns,
        )
        announce(self._settings.state_dir, endpoint)

    async def _work(self) -> None:
        """Do everything at once until told to end; raise what went wrong in any of it."""
        jobs = self._jobs()
        older = asyncio.create_task(self._backfill(), name="older part of the charts")
        older.add_done_callback(_log_backfill)
        try:
            await asyncio.wait(
                jobs, timeout=self._settings.for_s, return_when=asyncio.FIRST_COMPLETED
            )
        except asyncio.CancelledError:
            # To cancel a watch is a way to end it: its run is closed like any other.
            uncancel()
        finally:
            for job in (older, *jobs):
                job.cancel()
            _, *results = await asyncio.gather(older, *jobs, return_exceptions=True)
        for result in results:
            if isinstance(result, Exception):
                raise result

    def _jobs(self) -> list[asyncio.Task[None]]:
        """Start what runs until the end; the first one to end ends the watch."""
        jobs = {
            "wait for the end": self._ending.wait(),
            "heart": self._heart.run(),
            "housekeeping": self._keep_house(),
        }
        for name, supervisor in self._supervisors.items():
            jobs[f"instrument {name}"] = supervisor.run()
        return [asyncio.create_task(job, name=name) for name, job in jobs.items()]

    async def _backfill(self) -> None:
        """Bring the older part of the run back into the charts."""
        run = self._run
        plan, history = run.stand.plan, run.board.history
        await backfill(run.writer.folder, plan, run.older, run.columns, history)

    async def _close(self) -> bool:
        """Close the run; say whether all of it is on the disk."""
        self._heart.close(HostEvent("run_closed"))
        summary = {"stand": self._run.stand.name, "until_ns": self._run.pipeline.until_ns}
        is_whole = await self._close_record(summary)
        self._run.board.note_recording(self._recorder.state())
        if not is_whole:
            _logger.error("%s: %s", self._run.writer.folder, self._recorder.state().why)
        await asyncio.sleep(_FAREWELL_S)
        return is_whole

    async def _close_record(self, summary: Mapping[str, object] | None) -> bool:
        """Have the recorder write the rest, while displays are still told."""
        with ThreadPoolExecutor(1, "close the record") as pool:
            return await self._loop.run_in_executor(pool, self._recorder.close, summary)

    async def _keep_house(self) -> None:
        """Tell displays what changes slowly."""
        while True:
            before_s = self._loop.time()
            await asyncio.sleep(_HOUSEKEEPING_S)
            self._note_all(self._loop.time() - before_s - _HOUSEKEEPING_S)

    def _note_all(self, late_s: float) -> None:
        """Publish links, recording and health."""
        board = self._run.board
        board.note_links()
        board.note_recording(self._recorder.state())
        board.note_health(
            {
                **self._heart.gauges(),
                **self._recorder.gauges(),
                **self._server.gauges(),
                "memory (MB)": round(memory_mb(), 1),
                "loop late (ms)": round(max(0.0, late_s) * 1e3, 1),
                "wall clock off data time (s)": round(self._clock_offset_s(), 3),
            }
        )

    def _clock_offset_s(self) -> float:
        """Give how far the wall clock has gone from data time; 0 at other speeds than 1."""
        if self._settings.speed != 1.0:
            return 0.0
        return (time.time_ns() - self._run.clock.now_ns()) * 1e-9

    def _supervised(self, name: str, instrument: Instrument) -> Supervisor:
        """Put an instrument under its supervisor."""
        record = LinkRecord(name, self._heart, self._run.clock.now_ns)
        self._run.links[name] = record
        return Supervisor(instrument, record, self._run.clock, Random())

    def _stopped(self, why: str) -> None:
        """Raise the alarm that nothing is written; called from any thread."""
        self._loop.call_soon_threadsafe(self._host, HostEvent("recording_stopped", why))

    def _resumed(self, gap_ns: int, lost_frames: int) -> None:
        """Say that writing works again; called from any thread."""
        numbers = {"gap_ns": gap_ns, "lost_frames": lost_frames}
        event = HostEvent("recording_resumed", numbers=numbers)
        self._loop.call_soon_threadsafe(self._host, event)

    def _host(self, event: HostEvent) -> None:
        self._heart.host(event)
        self._run.board.note_recording(self._recorder.state())


@contextlib.contextmanager
def _no_long_pauses() -> Iterator[None]:
    """Spare the garbage collector what lives as long as the process: tens of ms each time."""
    gc.collect()
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()


def _log_backfill(task: asyncio.Task[None]) -> None:
    """Say why charts are not whole; the watch goes on without."""
    if not task.cancelled() and task.exception() is not None:
        _logger.error("charts begin at the restart", exc_info=task.exception())
