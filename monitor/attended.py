"""A watch with its screen: the engine in this process, the screen in another."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine, Sequence
from itertools import repeat
from pathlib import Path

import click

from monitor.companions import View, end, engine_listens, listens_here, start_view
from monitor.engine.run import WatchSettings, watch
from monitor.stand.model import Stand

#: The engine opens its wires in peace: a screen that starts takes a core for a while, and at a
#: high speed a fraction of a second is enough to make values stale. In seconds.
PEACE_S = 0.7
#: Tables that take longer than this to make are worth a word, in seconds.
TABLES_S = 1.5


async def watch_attended(
    stand: Stand,
    settings: WatchSettings,
    view: View,
    *,
    does_window_end_it: bool = False,
    beside: Sequence[Coroutine[None, None, None]] = (),
) -> int:
    """Watch a stand and show it, until the engine ends or one of *beside* has returned.

    Args:
        stand: What to watch.
        settings: How.
        view: The screen to start.
        does_window_end_it: Closing the window closes the run. A window that crashed never does.
        beside: What else runs; its exceptions end the watch and are raised.

    Returns:
        The engine's exit code. The run is closed when this returns or raises.
    """
    stop = asyncio.Event()
    engine = asyncio.create_task(watch(stand, settings, stop), name="engine")
    showing = _show(view, settings.state_dir, does_window_end_it=does_window_end_it)
    telling = _tell_of_tables(settings.state_dir)
    jobs = (showing, telling, *beside)
    others = [asyncio.create_task(row, name="beside the engine") for row in jobs]
    try:
        await asyncio.wait([engine, *others], return_when=asyncio.FIRST_COMPLETED)
    finally:
        # Not cancelled: it may be closing the run already.
        stop.set()
        try:
            code = await engine
        finally:
            await _ended(others)
    return code


async def _ended(others: Sequence[asyncio.Task[None]]) -> None:
    """End what ran beside the engine; raise what went wrong in it."""
    for task in others:
        task.cancel()
    results = await asyncio.gather(*others, return_exceptions=True)
    for result in results:
        if isinstance(result, BaseException) and not isinstance(result, asyncio.CancelledError):
            raise result


async def _show(view: View, state_dir: Path, *, does_window_end_it: bool) -> None:
    """Keep the screen while the engine runs; return only when its end ends the watch."""
    endpoint = await engine_listens(state_dir)
    click.echo(f"Watching {endpoint.stand}. The run is in {endpoint.run}", err=True)
    if view is not View.NONE:
        await asyncio.sleep(PEACE_S)
        process = await start_view(view, state_dir)
        try:
            code = await process.wait()
        finally:
            await end(process)
        if code == 0 and view is View.WINDOW and does_window_end_it:
            return
        if code != 0 or view is View.WINDOW:
            click.echo(
                f"The display ended (exit code {code}); the watch goes on. "
                "'standwatch display' opens another; Ctrl-C here closes the run.",
                err=True,
            )
    await asyncio.Event().wait()


async def _tell_of_tables(state_dir: Path) -> None:
    """Say what takes so long, when it does, after the run was closed."""
    await engine_listens(state_dir)
    for pause_s in repeat(TABLES_S / 3):
        if listens_here(state_dir) is None:
            break
        await asyncio.sleep(pause_s)
    # A table in the terminal has gone by then, and short runs are done.
    await asyncio.sleep(TABLES_S)
    click.echo(
        "The run is closed; its tables and summary are being made. Ctrl-C does not wait.",
        err=True,
    )
    await asyncio.Event().wait()
