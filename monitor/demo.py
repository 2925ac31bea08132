"""The demo: the virtual rig in a process of its own, a watch on it, and a script that acts."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from pathlib import Path

import click

from monitor.attended import watch_attended
from monitor.client import Client, new_act_id, opened
from monitor.companions import View, engine_listens
from monitor.engine.run import WatchSettings
from monitor.errors import LinkError
from monitor.link.endpoint import ENDPOINT_FILE
from monitor.link.messages import Act
from monitor.rig import Overrides, Rig, Scene, running_rig
from monitor.stand.model import Stand

STAND_FILE = Path(__file__).parents[1] / "configs" / "gondola.toml"

#: Who the script's actions are by, in the journal.
SCRIPT = "demo script"


async def run_demo(
    stand_with: Callable[[Overrides], Stand],
    settings: WatchSettings,
    view: View,
    rig_command: Sequence[str],
) -> int:
    """Run the rig and a watch on it.

    It ends when the engine ends, when the window is closed or, without a window, when the
    script is over.

    Args:
        stand_with: Loads the stand with the wires where the rig has them.
        settings: How to watch.
        view: The screen.
        rig_command: How to start the rig, from :func:`monitor.rig.rig_command`.

    Returns:
        The engine's exit code.

    Raises:
        RigError: The rig did not start, or died; the run is closed all the same.
    """
    async with running_rig(rig_command) as rig:
        stand = stand_with(await rig.ready())
        conducting = _conduct(rig, settings.state_dir, ends=view is not View.WINDOW)
        return await watch_attended(
            stand, settings, view, does_window_end_it=True, beside=[conducting]
        )


async def _conduct(rig: Rig, state_dir: Path, *, ends: bool) -> None:
    """Do what the script asks of a person; return when it is over if *ends*."""
    endpoint = await engine_listens(state_dir)
    try:
        async with opened(endpoint, SCRIPT) as client:
            await _act_out(rig, client)
    except LinkError as error:
        # That the script has lost the engine ends no watch; when it is the engine that ends,
        # it has taken its address away, and nothing is amiss.
        if (state_dir / ENDPOINT_FILE).exists():
            click.echo(f"{SCRIPT}: {error}", err=True)
        ends = False
    else:
        click.echo("The script is over.", err=True)
    if not ends:
        await asyncio.Event().wait()


async def _act_out(rig: Rig, client: Client) -> None:
    """Let the script begin, and forward every action until its end."""
    listening = asyncio.create_task(client.listen(), name="listen for answers")
    rig.go()
    number = 0
    try:
        while not (line := await rig.line()).end:
            if line.behind is not None:
                lost = f"the rig has lost {line.behind.lost_s:g} s; use a smaller --speed"
                click.echo(f"This machine is too slow: {lost}.", err=True)
            if line.scenario is not None:
                number += 1
                await _do(client, act_of(line.scenario, new_act_id(SCRIPT, number)))
    finally:
        listening.cancel()
        await asyncio.gather(listening, return_exceptions=True)


async def _do(client: Client, act: Act) -> None:
    """Act; tell when it is refused."""
    acted = await client.act(act)
    if acted.refusal:
        click.echo(f"{SCRIPT}: {acted.refusal}", err=True)


def act_of(scene: Scene, act_id: str) -> Act:
    """Make the action that the script wants: a phase, else a note."""
    if scene.enter_phase:
        return Act(act_id, "enter_phase", scene.enter_phase, SCRIPT, reason=scene.note)
    return Act(act_id, "note", "", SCRIPT, reason=scene.note)
