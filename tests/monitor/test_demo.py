"""Tests for monitor.demo.

Source: hand-worked here. The rig is played by a short script, the engine by a bare websocket
server; the real ones are in tests/end_to_end.
"""

from __future__ import annotations

import asyncio
import os
import sys
from pathlib import Path

import pytest
from websockets.asyncio.server import ServerConnection, serve

from monitor import attended, companions
from monitor.alarms.plan import AlarmsPlan
from monitor.channels.plan import ChannelsPlan
from monitor.companions import View
from monitor.demo import SCRIPT, act_of, run_demo
from monitor.engine.run import WatchSettings
from monitor.link.codec import decode_from_display, encode
from monitor.link.endpoint import ENDPOINT_FILE, Endpoint, encode_endpoint
from monitor.link.messages import (
    LINK_VERSION,
    Act,
    Acted,
    PhaseState,
    RecordingState,
    Snapshot,
    StandInfo,
    Welcome,
)
from monitor.pipeline import Plan
from monitor.rig import Overrides, RigError, Scene
from monitor.stand.model import Stand

STAND = Stand(
    "bench", "", 0, (), (), (), (), Plan(ChannelsPlan(()), (), AlarmsPlan((), ())), "", ()
)
SNAPSHOT = Snapshot(
    1, 0, "run-1", 0, 1.0, StandInfo("bench", "", [], [], [], [], [], 0.0),
    PhaseState("ground", 0), [], [], [], [], RecordingState("recording", "", "", 0, 0), {},
)  # fmt: skip

READY = 'print(\'{"ready": {"overrides": {"panel": {"port": "/dev/pts/9"}}}}\', flush=True)'
GO = "assert input() == 'go'"
CLIMB = 'print(\'{"scenario": {"at_s": 1, "enter_phase": "climb", "note": "up"}}\', flush=True)'
LOOK = 'print(\'{"scenario": {"at_s": 2, "note": "look"}}\', flush=True)'
END = "print('{\"end\": true}', flush=True)"
WAIT = "import sys; sys.stdin.read()"


class Engine:
    """An engine that takes actions and refuses to enter a phase when told to."""

    def __init__(self, refusal: str = "") -> None:
        self.acts: list[Act] = []
        self.is_closed = False
        self._refusal = refusal

    async def watch(self, stand: Stand, settings: WatchSettings, stop: asyncio.Event) -> int:
        """Serve until told to end."""
        async with serve(self._serve, "127.0.0.1", 0) as server:
            port = next(iter(server.sockets)).getsockname()[1]
            endpoint = Endpoint(f"ws://127.0.0.1:{port}", "s", os.getpid(), "", "bench", 0)
            (settings.state_dir / ENDPOINT_FILE).write_bytes(encode_endpoint(endpoint))
            await asyncio.wait_for(stop.wait(), 30)
            self.is_closed = True
        return 0

    async def _serve(self, socket: ServerConnection) -> None:
        await socket.recv()
        await socket.send(encode(Welcome(LINK_VERSION, "run-1")))
        await socket.send(encode(SNAPSHOT))
        async for data in socket:
            act = decode_from_display(bytes(data))
            assert isinstance(act, Act)
            self.acts.append(act)
            await socket.send(encode(Acted(act.id, 1, self._refusal)))


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> Engine:
    """Put the pretended engine in place."""
    made = Engine()
    monkeypatch.setattr(attended, "watch", made.watch)
    monkeypatch.setattr(companions, "PATIENCE_S", 0.5)
    monkeypatch.setattr(attended, "PEACE_S", 0.0)
    return made


async def demo(
    folder: Path, *lines: str, view: View = View.NONE, within_s: float = 8.0
) -> tuple[int, list[Overrides]]:
    """Run the demo on a rig that does *lines*."""
    found: list[Overrides] = []

    def stand_with(overrides: Overrides) -> Stand:
        found.append(overrides)
        return STAND

    settings = WatchSettings(run_dir=folder, state_dir=folder)
    rig = [sys.executable, "-c", "\n".join(lines)]
    code = await asyncio.wait_for(run_demo(stand_with, settings, view, rig), within_s)
    return code, found


async def test_the_script_acts_in_its_own_name_and_its_end_closes_the_run(
    tmp_path: Path, engine: Engine
) -> None:
    code, _ = await demo(tmp_path, READY, GO, CLIMB, LOOK, END, WAIT)

    assert [(act.verb, act.subject, act.by, act.reason) for act in engine.acts] == [
        ("enter_phase", "climb", SCRIPT, "up"),
        ("note", "", SCRIPT, "look"),
    ]
    assert len({act.id for act in engine.acts}) == 2
    assert (code, engine.is_closed) == (0, True)


async def test_the_stand_is_loaded_with_the_wires_where_the_rig_has_them(
    tmp_path: Path, engine: Engine
) -> None:
    _, found = await demo(tmp_path, READY, GO, END, WAIT)

    assert found == [{"panel": {"port": "/dev/pts/9"}}]


async def test_a_refused_action_is_told_and_the_script_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    refusing = Engine("no such phase")
    monkeypatch.setattr(attended, "watch", refusing.watch)
    await demo(tmp_path, READY, GO, CLIMB, LOOK, END, WAIT)

    assert "demo script: no such phase" in capsys.readouterr().err
    assert len(refusing.acts) == 2


async def test_a_machine_that_is_too_slow_is_told_with_the_cure(
    tmp_path: Path, engine: Engine, capsys: pytest.CaptureFixture[str]
) -> None:
    behind = 'print(\'{"behind": {"lost_s": 2.5, "speed": 20}}\', flush=True)'
    await demo(tmp_path, READY, GO, behind, END, WAIT)

    assert "the rig has lost 2.5 s; use a smaller --speed" in capsys.readouterr().err


async def test_a_rig_that_dies_closes_the_run_and_is_told(
    tmp_path: Path, engine: Engine
) -> None:
    with pytest.raises(RigError, match=r"(?s)exit code 1.*pump seized"):
        await demo(tmp_path, READY, GO, "raise SystemExit('pump seized')")

    assert engine.is_closed


async def test_nothing_is_watched_when_the_rig_does_not_start(
    tmp_path: Path, engine: Engine
) -> None:
    with pytest.raises(RigError):
        await demo(tmp_path, "raise SystemExit(1)")

    assert not (tmp_path / ENDPOINT_FILE).exists()


async def test_with_a_window_the_demo_goes_on_after_the_script(
    tmp_path: Path,
    engine: Engine,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    closed = tmp_path / "closed by a person"
    script = f"import time; time.sleep(1); open({str(closed)!r}, 'w').close()"
    window = [sys.executable, "-c", script]
    monkeypatch.setattr(companions, "view_command", lambda _view, _folder: window)
    code, _ = await demo(tmp_path, READY, GO, END, WAIT, view=View.WINDOW)

    assert "The script is over" in capsys.readouterr().err
    assert closed.exists()
    assert (code, engine.is_closed) == (0, True)


@pytest.mark.parametrize("is_ending", [False, True])
async def test_a_script_that_lost_the_engine_ends_no_watch_and_says_so_unless_it_is_ending(
    is_ending: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    class Deaf(Engine):
        async def _serve(self, socket: ServerConnection) -> None:
            await socket.recv()
            if is_ending:
                (tmp_path / ENDPOINT_FILE).unlink()

    monkeypatch.setattr(attended, "watch", Deaf().watch)
    with pytest.raises(TimeoutError):
        await demo(tmp_path, READY, GO, CLIMB, END, WAIT, within_s=1.0)

    said = capsys.readouterr().err
    assert ("demo script: the watch closed the link" in said) is not is_ending


def test_a_scene_without_a_phase_is_a_note() -> None:
    assert act_of(Scene(1.0, "", "look"), "a") == Act("a", "note", "", SCRIPT, "look")
