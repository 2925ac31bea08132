"""Tests for monitor.engine.run.

Source: hand-worked here. The whole engine runs in this process, with a real run folder, a real
link and an instrument that the test feeds.
"""

from __future__ import annotations

import asyncio
import gc
import os
import signal
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from monitor.client import Client, find_watch, new_act_id, opened
from monitor.engine import run as module
from monitor.engine.run import WatchSettings, watch
from monitor.errors import LinkError
from monitor.events import Event
from monitor.link.messages import Act, Acted, Snapshot
from monitor.record.journal import verify
from monitor.record.run_folder import list_runs
from tests.monitor.engine.bench_stand import Fed, kinds, stand


class Bench:
    """A running engine and what belongs to it."""

    def __init__(self, tmp_path: Path) -> None:
        self.settings = WatchSettings(tmp_path / "runs", tmp_path / "state")
        self.stand = stand()
        self.panel = Fed("panel")
        self.task: asyncio.Task[int] | None = None

    @asynccontextmanager
    async def running(self) -> AsyncIterator[Client]:
        self.task = asyncio.create_task(watch(self.stand, self.settings), name="engine")
        try:
            await self.listens()
            async with opened(find_watch(self.settings.state_dir), "test") as client:
                yield client
        finally:
            self.task.cancel()
            await asyncio.wait([self.task])

    async def listens(self) -> None:
        for _ in range(200):
            if (self.settings.state_dir / "engine.json").exists():
                return
            assert self.task is not None
            if self.task.done():
                self.task.result()
            await asyncio.sleep(0.01)
        raise AssertionError("the engine does not listen")

    def journal(self) -> list[str]:
        """Give the kinds and subjects of the newest run's journal."""
        lines = (self.folder() / "journal.jsonl").read_bytes().splitlines()
        rows = [msgspec.json.decode(line) for line in lines]
        return [f"{row['kind']} {row['subject']}".strip() for row in rows]

    def folder(self) -> Path:
        return list_runs(self.settings.run_dir)[-1].folder


async def event(client: Client, kind: str, subject: str = "") -> Event:
    """Take news until an event comes."""
    for seen in client.first.events:
        if (seen.kind, seen.subject) == (kind, subject):
            return seen
    async with asyncio.timeout(5):
        async for news in client.news():
            for seen in news.events:
                if seen.kind == kind and subject in ("", seen.subject):
                    return seen
    raise AssertionError("the link ended")


async def act(client: Client, verb: str, subject: str) -> Acted:
    listening = asyncio.create_task(client.listen())
    try:
        made = msgspec.convert(
            {"type": "act", "id": new_act_id("t", id(listening)), "verb": verb,
             "subject": subject, "by": "K. Vale"},
            Act,
        )  # fmt: skip
        return await client.act(made)
    finally:
        listening.cancel()
        await asyncio.wait([listening])


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    made = Bench(tmp_path)
    monkeypatch.setattr(module, "instrument_kinds", lambda: kinds({"panel": made.panel}))

    async def nothing(folder: Path, hurry: asyncio.Event) -> None:
        """Leave the tables out: another test makes them."""

    monkeypatch.setattr(module, "rebuild", nothing)
    return made


async def test_a_reading_above_a_limit_is_an_alarm_at_the_display_and_in_the_journal(
    bench: Bench,
) -> None:
    async with bench.running() as client:
        bench.panel.feed(60.0, 1.0)
        raised = await event(client, "alarm.raised", "PT-1.high")

    assert raised.subject == "PT-1.high"
    assert bench.journal()[:3] == ["run.started", "phase.entered ground", "link.up panel"]
    assert "alarm.raised PT-1.high" in bench.journal()
    assert bench.journal()[-1] == "run.closed"


async def test_a_closed_run_is_whole(bench: Bench) -> None:
    async with bench.running():
        bench.panel.feed(1.0, 2.0)
        await asyncio.sleep(0.1)
    check = verify(bench.folder() / "journal.jsonl")

    assert bench.task is not None
    assert bench.task.result() == 0
    assert check.broken_line == 0
    assert [row.state for row in list_runs(bench.settings.run_dir)] == ["closed"]
    assert not (bench.settings.state_dir / "engine.json").exists()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
async def test_a_signal_closes_the_run(bench: Bench, number: int) -> None:
    async with bench.running():
        os.kill(os.getpid(), number)
        assert bench.task is not None
        assert await asyncio.wait_for(asyncio.shield(bench.task), 5) == 0

    assert bench.journal()[-1] == "run.closed"


async def test_it_ends_by_itself_when_its_time_is_over(bench: Bench) -> None:
    bench.settings = replace(bench.settings, for_s=0.3)
    began = asyncio.get_running_loop().time()

    assert await watch(bench.stand, bench.settings) == 0

    assert 0.3 <= asyncio.get_running_loop().time() - began < 2


async def test_an_unplugged_instrument_is_an_alarm_and_comes_back_by_itself(
    bench: Bench,
) -> None:
    async with bench.running() as client:
        bench.panel.unplug()
        down = await event(client, "link.down", "panel")
        await event(client, "alarm.raised", "link:panel.high")
        await event(client, "link.up", "panel")
        await event(client, "alarm.cleared", "link:panel.high")

    assert down.fields["why"] == "unplugged"


async def test_an_action_reaches_the_pipeline(bench: Bench) -> None:
    async with bench.running() as client:
        acted = await act(client, "enter_phase", "climb")
        entered = await event(client, "phase.entered", "climb")

    assert acted.refusal == ""
    assert entered.t_ns == acted.effective_ns


async def test_a_senseless_action_is_refused_at_once(bench: Bench) -> None:
    async with bench.running() as client:
        acted = await act(client, "enter_phase", "clim")

    assert "did you mean 'climb'" in acted.refusal


async def test_the_display_is_told_how_the_engine_does(bench: Bench) -> None:
    async with bench.running() as client:
        bench.panel.feed(1.0, 2.0)
        async with asyncio.timeout(5):
            async for news in client.news():
                if news.links and news.links[0].readings:
                    break
        links, health = news.links, news.health

    assert (links[0].is_up, links[0].readings) == (True, 2)
    assert health is not None
    assert health["displays"] == 1
    assert health["memory (MB)"] > 10


async def test_the_garbage_collector_is_spared_what_lives_long(bench: Bench) -> None:
    async with bench.running():
        frozen = gc.get_freeze_count()

    assert frozen > 10_000
    assert gc.get_freeze_count() == 0


async def test_a_second_engine_with_the_same_state_folder_is_refused(bench: Bench) -> None:
    async with bench.running():
        with pytest.raises(LinkError, match="being watched already"):
            await watch(bench.stand, bench.settings)


async def test_a_fault_of_the_pipeline_leaves_the_run_open_and_is_raised(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with bench.running() as client:
        bench.panel.feed(60.0, 1.0)
        await event(client, "alarm.raised", "PT-1.high")

        def fail(*_: object) -> None:
            raise ZeroDivisionError

        monkeypatch.setattr("monitor.pipeline.Pipeline.step", fail)
        bench.panel.feed(1.0, 1.0)
        assert bench.task is not None
        await asyncio.wait([bench.task])

    with pytest.raises(ZeroDivisionError):
        bench.task.result()
    assert [row.state for row in list_runs(bench.settings.run_dir)] == ["open"]


async def test_a_run_left_open_is_gone_on_with(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        async with bench.running() as client:
            bench.panel.feed(60.0, 1.0)
            await event(client, "alarm.raised", "PT-1.high")
            await act(client, "enter_phase", "climb")
            await event(client, "phase.entered", "climb")
            patch.setattr("monitor.pipeline.Pipeline.step", lambda *_: 1 / 0)
            assert bench.task is not None
            await asyncio.wait([bench.task])
            bench.task.exception()

    async with bench.running() as client:
        first = client.first
        resumed = await event(client, "run.resumed")

    assert isinstance(first, Snapshot)
    assert first.phase.name == "climb"
    assert first.values[1].value == 3.0
    assert [e.kind for e in first.events if e.kind == "run.started"] == ["run.started"]
    gap_ns = resumed.fields["gap_ns"]
    assert isinstance(gap_ns, int)
    assert 0 < gap_ns < 10**10
    assert len(list_runs(bench.settings.run_dir)) == 1
    assert verify(bench.folder() / "journal.jsonl").broken_line == 0
    assert bench.journal()[-1] == "run.closed"


async def test_a_new_run_is_begun_when_asked_for(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        async with bench.running():
            patch.setattr("monitor.pipeline.Pipeline.step", lambda *_: 1 / 0)
            assert bench.task is not None
            await asyncio.wait([bench.task])
            bench.task.exception()

    bench.settings = replace(bench.settings, resume=False)
    async with bench.running():
        pass

    states = [row.state for row in list_runs(bench.settings.run_dir)]
    assert sorted(states) == ["closed", "open"]
