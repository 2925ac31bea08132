"""Tests for monitor.attended.

Source: hand-worked here. Engine and screens are played by short scripts: the real ones are in
tests/end_to_end.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import sys
from pathlib import Path

import pytest

from monitor import attended, companions
from monitor.alarms.plan import AlarmsPlan
from monitor.attended import watch_attended
from monitor.channels.plan import ChannelsPlan
from monitor.companions import View
from monitor.engine.run import WatchSettings
from monitor.link.endpoint import ENDPOINT_FILE, Endpoint, encode_endpoint
from monitor.pipeline import Plan
from monitor.stand.model import Stand

PLAN = Plan(ChannelsPlan(()), (), AlarmsPlan((), ()))
STAND = Stand("bench", "Bench", 0, (), (), (), (), PLAN, "", ())


class Engine:
    """An engine that says where it listens, and closes its run when it is told to end."""

    def __init__(self, *, lasts_s: float = 30.0, code: int = 0) -> None:
        self.closing = asyncio.Event()
        self.is_closed = False
        self._lasts_s = lasts_s
        self._code = code

    async def watch(self, stand: Stand, settings: WatchSettings, stop: asyncio.Event) -> int:
        """Run until the time is over or it is told to end; closing takes a while."""
        self.say(settings)
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(stop.wait(), self._lasts_s)
        self.closing.set()
        await asyncio.sleep(0.1)
        self.is_closed = True
        return self._code

    def say(self, settings: WatchSettings) -> None:
        """Say where it listens."""
        endpoint = Endpoint("ws://127.0.0.1:9", "secret", os.getpid(), "runs/run-1", "bench", 0)
        (settings.state_dir / ENDPOINT_FILE).write_bytes(encode_endpoint(endpoint))


@pytest.fixture
def settings(tmp_path: Path) -> WatchSettings:
    """Give settings that keep everything in one folder."""
    return WatchSettings(run_dir=tmp_path, state_dir=tmp_path)


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> Engine:
    """Put the pretended engine in place."""
    made = Engine()
    monkeypatch.setattr(attended, "watch", made.watch)
    monkeypatch.setattr(companions, "PATIENCE_S", 0.2)
    monkeypatch.setattr(attended, "PEACE_S", 0.0)
    return made


def screen(monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    """Have every view be a Python script."""
    command = [sys.executable, "-c", script]
    monkeypatch.setattr(companions, "view_command", lambda _view, _folder: command)


async def watched(
    settings: WatchSettings, view: View, *, does_window_end_it: bool = False
) -> int:
    """Watch a stand that nobody looks into, 5 s at most."""
    watching = watch_attended(STAND, settings, view, does_window_end_it=does_window_end_it)
    return await asyncio.wait_for(watching, 5)


async def test_the_engines_exit_code_is_the_watchs(
    settings: WatchSettings, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(attended, "watch", Engine(lasts_s=0.01, code=3).watch)

    assert await watched(settings, View.NONE) == 3


async def test_the_person_is_told_where_the_run_is(
    settings: WatchSettings, engine: Engine, capsys: pytest.CaptureFixture[str]
) -> None:
    await watch_attended(STAND, settings, View.NONE, beside=[asyncio.sleep(0.2)])

    assert capsys.readouterr().err == "Watching bench. The run is in runs/run-1\n"


@pytest.mark.parametrize("takes_long", [False, True])
async def test_tables_that_take_long_are_told_of(
    takes_long: bool,
    settings: WatchSettings,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    async def closing(stand: Stand, settings: WatchSettings, stop: asyncio.Event) -> int:
        Engine().say(settings)
        await asyncio.sleep(0.2)
        (settings.state_dir / ENDPOINT_FILE).unlink()
        await asyncio.sleep(0.4 if takes_long else 0.07)
        return 0

    monkeypatch.setattr(attended, "watch", closing)
    monkeypatch.setattr(attended, "TABLES_S", 0.1)
    await watched(settings, View.NONE)

    assert ("are being made" in capsys.readouterr().err) is takes_long


async def test_the_screen_ends_with_the_engine(
    settings: WatchSettings, monkeypatch: pytest.MonkeyPatch, engine: Engine
) -> None:
    note = settings.state_dir / "note"
    screen(monkeypatch, f"open({str(note)!r}, 'w').close(); import time; time.sleep(30)")
    monkeypatch.setattr(attended, "watch", Engine(lasts_s=0.5).watch)

    assert await watched(settings, View.WINDOW) == 0
    assert note.exists()


async def test_closing_the_window_closes_the_run_where_it_is_meant_to(
    settings: WatchSettings, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    screen(monkeypatch, "")

    assert await watched(settings, View.WINDOW, does_window_end_it=True) == 0
    assert engine.is_closed


@pytest.mark.parametrize(
    ("script", "does_window_end_it"),
    [("", False), (f"import os; os.kill(os.getpid(), {signal.SIGKILL})", True)],
    ids=["closed by a person", "killed"],
)
async def test_a_watch_goes_on_without_its_window(
    script: str,
    does_window_end_it: bool,
    settings: WatchSettings,
    engine: Engine,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    screen(monkeypatch, script)
    watching = asyncio.create_task(
        watched(settings, View.WINDOW, does_window_end_it=does_window_end_it)
    )
    await asyncio.sleep(0.5)
    said = capsys.readouterr().err

    assert not watching.done()
    assert "the watch goes on" in said
    watching.cancel()
    await asyncio.gather(watching, return_exceptions=True)


async def test_what_ends_beside_the_engine_closes_the_run(
    settings: WatchSettings, engine: Engine
) -> None:
    watching = watch_attended(STAND, settings, View.NONE, beside=[asyncio.sleep(0.05)])

    assert await asyncio.wait_for(watching, 5) == 0
    assert engine.is_closed


async def test_what_goes_wrong_beside_the_engine_is_raised_after_the_run_was_closed(
    settings: WatchSettings, engine: Engine
) -> None:
    async def fail() -> None:
        raise ConnectionError("the rig died")

    with pytest.raises(ConnectionError, match="the rig died"):
        await watch_attended(STAND, settings, View.NONE, beside=[fail()])

    assert engine.is_closed


async def test_being_told_to_end_closes_the_run_first(
    settings: WatchSettings, engine: Engine
) -> None:
    watching = asyncio.create_task(watch_attended(STAND, settings, View.NONE))
    await asyncio.sleep(0.05)
    watching.cancel()
    await asyncio.gather(watching, return_exceptions=True)

    assert engine.is_closed


async def test_an_engine_that_is_closing_its_run_is_not_disturbed(
    settings: WatchSettings, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = Engine(lasts_s=0.05)
    monkeypatch.setattr(attended, "watch", engine.watch)

    async def end_while_it_closes() -> None:
        await engine.closing.wait()

    await watch_attended(STAND, settings, View.NONE, beside=[end_while_it_closes()])

    assert engine.is_closed


async def test_an_engine_that_fails_is_not_a_success(
    settings: WatchSettings, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def broken(stand: Stand, settings: WatchSettings, stop: asyncio.Event) -> int:
        raise OSError("no room")

    monkeypatch.setattr(attended, "watch", broken)

    with pytest.raises(OSError, match="no room"):
        await watched(settings, View.NONE)
