"""Follows a watch over the link and keeps a screen up to date."""

from __future__ import annotations

import asyncio
import os
import time
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from monitor.client import Client, find_watch, opened
from monitor.display.state.connection import SILENT_AFTER_NS
from monitor.display.state.model import KEPT_EVENTS, Model
from monitor.display.state.text import duration_text
from monitor.errors import LinkError
from monitor.events import Event
from monitor.link.endpoint import ENDPOINT_FILE
from monitor.link.messages import Change, Snapshot
from monitor.terminal.screen import Screen

#: Real time between two drawings of the screen, in seconds.
TICK_S = 0.25
#: Real time between two tries to reach a watch that was lost, in seconds.
RETRY_S = 1.0


@dataclass(slots=True)
class Following:
    """What is known so far.

    Attributes:
        screen: Where it is shown.
        model: The run; None before the first word.
        trouble: Why nothing is heard; empty while the watch is.
        client: The open link, if there is one.
    """

    screen: Screen
    model: Model | None = None
    trouble: str = ""
    client: Client | None = None
    _given: deque[tuple[int, str, str]] = field(
        default_factory=lambda: deque(maxlen=KEPT_EVENTS)
    )

    @property
    def is_closed(self) -> bool:
        """Whether the run was closed as it should be."""
        return self.model is not None and self.model.recording.state == "closed"

    def take(self, message: Snapshot | Change) -> None:
        """Take what the watch said, and hand on the events not given before."""
        self.trouble = ""
        if isinstance(message, Snapshot):
            self.model = Model(message, time.monotonic_ns())
        elif self.model is not None:
            self.model.apply(message, time.monotonic_ns())
        if self.model is not None:
            self.screen.news(self.model, self._fresh(message.events))

    def tick(self, mono_ns: int) -> None:
        """Show the present; a watch that is silent for long is no present."""
        trouble = self.trouble
        if self.client is not None and mono_ns - self.client.heard_ns > SILENT_AFTER_NS:
            age = duration_text(mono_ns - self.client.heard_ns)
            trouble = f"the link is open, but nothing was said for {age}"
        self.screen.tick(self.model, mono_ns, trouble)

    def _fresh(self, events: Sequence[Event]) -> list[Event]:
        """Give the events that were not given before: a second snapshot repeats some."""
        known = set(self._given)
        fresh = [row for row in events if (row.t_ns, row.kind, row.subject) not in known]
        self._given.extend((row.t_ns, row.kind, row.subject) for row in fresh)
        return fresh


async def follow(state_dir: Path, screen: Screen, *, with_parent: bool = False) -> None:
    """Show the watch that runs on this machine until it has ended.

    A watch that died is waited for: when it is started again, the screen goes on with it.

    Args:
        state_dir: Where the watch says how to reach it.
        screen: Where it is shown.
        with_parent: End when the process that started this one has ended.

    Raises:
        LinkError: There was no watch to begin with, or it refuses.
    """
    following = Following(screen)
    tasks = [
        asyncio.create_task(_tick(following), name="draw the screen"),
        asyncio.create_task(_keep_listening(following, state_dir, with_parent), name="listen"),
    ]
    try:
        done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        for task in done:
            task.result()
    finally:
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
    following.tick(time.monotonic_ns())


async def _keep_listening(following: Following, state_dir: Path, with_parent: bool) -> None:
    """Listen, and again after the link was lost, until the watch has ended."""
    parent = os.getppid()
    await _listen(following, state_dir)
    while not _has_ended(following, state_dir):
        if with_parent and os.getppid() != parent:
            return
        await asyncio.sleep(RETRY_S)
        try:
            await _listen(following, state_dir)
        except LinkError as error:
            following.trouble = str(error)


def _has_ended(following: Following, state_dir: Path) -> bool:
    """Whether the watch ended as it should: it says so, and takes its address away."""
    return following.is_closed or not (state_dir / ENDPOINT_FILE).exists()


async def _listen(following: Following, state_dir: Path) -> None:
    """Take news for as long as the link lives."""
    async with opened(find_watch(state_dir), "terminal") as client:
        following.client = client
        following.take(client.first)
        try:
            async for message in client.news():
                following.take(message)
        except LinkError as error:
            following.trouble = "" if following.is_closed else str(error)
        finally:
            following.client = None


async def _tick(following: Following) -> None:
    """Draw at a steady pace, whatever comes or does not come."""
    while True:
        following.tick(time.monotonic_ns())
        await asyncio.sleep(TICK_S)
