"""The commands. Each imports what it needs when it runs, so that help comes at once."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Coroutine
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from monitor.cli_runs import figures, rehearse, replay, runs
from monitor.loading import load
from monitor.options import (
    EXIT_CODES,
    FAILED,
    NO_WATCH,
    OK,
    Common,
    Overrides,
    common_options,
    fail,
    headless_option,
    merged,
    set_option,
    speed_option,
    stand_argument,
    state_dir_option,
)

if TYPE_CHECKING:
    from monitor.companions import View
    from monitor.engine.run import WatchSettings
    from monitor.link.endpoint import Endpoint
    from monitor.stand.model import Stand


@click.group(epilog=EXIT_CODES, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="standwatch")
def main() -> None:
    """Watch a test stand: read its sensors, raise alarms, record, show, replay.

    An aid, not a safety device: protection of people and plant stays with independent
    hard-wired trips, relief devices and licensed practice.
    """


def run_to_its_end(watching: Coroutine[None, None, int]) -> NoReturn:
    """Run a watch until it ends or Ctrl-C or SIGTERM ends it; end with its exit code."""
    from monitor.errors import LinkError, RecordError

    try:
        raise SystemExit(asyncio.run(watching))
    except KeyboardInterrupt:
        raise SystemExit(OK) from None
    except (RecordError, LinkError) as error:
        fail(FAILED, str(error))
    except OSError as error:
        fail(FAILED, told(error))


def told(error: OSError) -> str:
    """Say what the system refused, and what to do about it."""
    where = f"{error.filename}: " if error.filename else ""
    cure = "; use another folder with --run-dir or --state-dir" if where else ""
    return f"{where}{error.strerror or error}{cure}"


def prepare_view(common: Common) -> View:
    """Say how a watch is shown here, and keep its log out of the way.

    Tells when a window was wanted and cannot be.
    """
    from monitor.companions import View, has_screen
    from monitor.logs import keep_log

    view = View.TERMINAL if common.is_headless else View.WINDOW
    if view is View.WINDOW and not has_screen(os.environ, sys.platform):
        click.echo("no screen found: running headless", err=True)
        view = View.TERMINAL
    is_told = view is View.WINDOW or not sys.stdout.isatty()
    try:
        keep_log(common.state_dir, is_told=is_told)
    except OSError as error:
        fail(FAILED, told(error))
    return view


def settings_of(common: Common, *, speed: float, may_resume: bool) -> WatchSettings:
    """Put the engine's settings together."""
    from monitor.engine.run import WatchSettings

    return WatchSettings(
        run_dir=common.run_dir,
        speed=speed,
        for_s=common.for_s,
        resume=may_resume,
        state_dir=common.state_dir,
    )


@main.command(epilog=EXIT_CODES, short_help="Watch a virtual rig.")
@common_options
@speed_option("Run rig and watch N times as fast as real time; the demo is meant for up to 20.")
@click.option("--seed", type=int, default=1, show_default=True, help="Seed of the rig's noise.")
def demo(common: Common, speed: float, seed: int) -> None:
    """Watch a virtual rig: the environmental-control rig of a balloon's gondola.

    The rig's physics run in a process of their own, and its instruments send over real wires:
    two pseudo-terminals and an MQTT broker. A script takes the rig through its test; you may
    acknowledge, silence and enter phases as you like. Closing the window ends the demo.
    Headless, it ends when the script is over.
    """
    from monitor.demo import STAND_FILE, run_demo
    from monitor.rig import RigError, rig_command

    if not STAND_FILE.is_file():
        fail(FAILED, f"{STAND_FILE} is missing: run the demo from a copy of the whole project")
    view = prepare_view(common)

    def stand_with(found: Overrides) -> Stand:
        """Load the demo's stand on the wires that were found."""
        return load(STAND_FILE, merged(found, common.overrides))

    settings = settings_of(common, speed=speed, may_resume=False)
    try:
        run_to_its_end(run_demo(stand_with, settings, view, rig_command(speed, seed)))
    except RigError as error:
        fail(FAILED, str(error))


@main.command(epilog=EXIT_CODES, short_help="Watch a stand.")
@stand_argument
@common_options
@click.option("--new-run", is_flag=True, help="Begin a new run even if the last one is open.")
def watch(common: Common, standfile: Path, new_run: bool) -> None:
    """Watch the stand that STANDFILE describes: read, raise alarms, record, show.

    Ctrl-C closes the run and ends. A run that was not closed, because the machine or this
    program died, is gone on with, and the gap is stated in its journal: if it is the stand's
    newest run in the folder, and the stand file is still the same. Else a new run begins.
    Closing the window does not end the watch; 'standwatch display' opens another.
    """
    from monitor.attended import watch_attended

    stand = load(standfile, common.overrides)
    settings = settings_of(common, speed=1.0, may_resume=not new_run)
    view = prepare_view(common)
    run_to_its_end(watch_attended(stand, settings, view))


@main.command(epilog=EXIT_CODES, short_help="Open a display on the running watch.")
@headless_option
@state_dir_option
@click.option("--with-parent", is_flag=True, hidden=True)
def display(headless: bool, state_dir: Path, with_parent: bool) -> None:
    """Open a display on the watch that runs on this machine.

    It shows the whole run from its start, however late it was opened. Close it whenever you
    like: the watch goes on. With --headless it is a table in this terminal.
    """
    from monitor.client import find_watch
    from monitor.errors import LinkError

    try:
        if headless:
            show_in_terminal(state_dir, with_parent=with_parent)
            raise SystemExit(OK)
        first = address_of(find_watch(state_dir))
    except LinkError as error:
        fail(NO_WATCH, str(error))
    from monitor.display.feed import Address
    from monitor.display.run import run_display

    # A watch that was started again has another port and token: look each time.
    code = run_display(*first, find=lambda: Address(*address_of(find_watch(state_dir))))
    raise SystemExit(code)


def address_of(endpoint: Endpoint) -> tuple[str, int, str]:
    """Give host, port and token of a watch."""
    host, _, port = endpoint.url.rpartition("//")[2].partition(":")
    return host, int(port), endpoint.token


def show_in_terminal(state_dir: Path, *, with_parent: bool) -> None:
    """Follow the watch in this terminal until it ends or Ctrl-C."""
    import contextlib

    from rich.console import Console
    from rich.live import Live

    from monitor.terminal.follow import follow
    from monitor.terminal.lines import Lines
    from monitor.terminal.table import Table

    console = Console()
    with contextlib.suppress(KeyboardInterrupt):
        if not console.is_terminal:
            asyncio.run(follow(state_dir, Lines(click.echo), with_parent=with_parent))
            return
        with Live(console=console, screen=True, auto_refresh=False) as live:
            table = Table(console, lambda picture: live.update(picture, refresh=True))
            asyncio.run(follow(state_dir, table, with_parent=with_parent))


@main.command(epilog=EXIT_CODES, short_help="Look for mistakes in a stand file.")
@stand_argument
@set_option
def check(standfile: Path, overrides: Overrides) -> None:
    """Look for mistakes in STANDFILE; nothing is started.

    Mistakes are told together, each with file, line, key, what is wrong and what to do. What
    hangs on something mistaken (the signals of such an instrument) is looked at once that is
    mended, so check again.
    A file that is fit is summed up: each limit with the time that passes until it speaks.
    """
    from monitor.stand.summary import describe_check

    stand = load(standfile, overrides)
    for line in describe_check(stand):
        click.echo(line)
    counts = [
        f"{len(stand.instruments)} instruments",
        f"{len(stand.channels)} channels",
        f"{len(stand.plan.limits)} limits",
        f"{len(stand.phases)} phases",
        f"{len(stand.warnings)} warnings",
    ]
    click.echo(f"{standfile}: fit to watch ({', '.join(counts)})")


for command in (runs, replay, figures, rehearse):
    main.add_command(command)


if __name__ == "__main__":
    main(prog_name="standwatch")
