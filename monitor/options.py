"""Options that several commands share, and the exit codes of all."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import click

OK = 0
#: Something went wrong while it ran, or a replay differs.
FAILED = 1
#: The stand file or the command line must be changed. click uses it for the latter.
BAD_INPUT = 2
#: No watch to connect to, or it refuses.
NO_WATCH = 3

EXIT_CODES = """\b
Exit codes:
  0  it went well (also after Ctrl-C)
  1  something went wrong while it ran, or a replay gave another journal
  2  the stand file or the command line must be changed; nothing was started
  3  no watch to connect to, or it refuses
"""

Overrides = dict[str, dict[str, str]]
Command = Callable[..., None]
Decorator = Callable[[Command], Command]

FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(file_okay=False, path_type=Path)


def fail(code: int, text: str) -> NoReturn:
    """Say what is wrong, and end with *code*."""
    click.echo(text, err=True)
    raise SystemExit(code)


@dataclass(frozen=True, slots=True)
class Common:
    """What every command that runs a watch is told.

    Attributes:
        is_headless: Show a table in the terminal, no window.
        for_s: End after so many seconds of real time; None: when told to.
        run_dir: Folder in which run folders are made.
        state_dir: Folder in which the watch says how to reach it.
        overrides: Settings to use instead of the stand file's, by instrument and key.
    """

    is_headless: bool
    for_s: float | None
    run_dir: Path
    state_dir: Path
    overrides: Overrides


def parse_overrides(
    _context: click.Context, _parameter: click.Parameter, given: tuple[str, ...]
) -> Overrides:
    """Read ``instrument.key=value`` as often as it was given."""
    overrides: Overrides = {}
    for text in given:
        name, has_value, value = text.partition("=")
        instrument, has_key, key = name.partition(".")
        if not (has_value and has_key and instrument and key):
            raise click.BadParameter(
                f"{text!r} must look like INSTRUMENT.KEY=VALUE, "
                "for example gas_panel.port=/dev/ttyUSB1"
            )
        overrides.setdefault(instrument, {})[key] = value
    return overrides


def merged(first: Overrides, second: Overrides) -> Overrides:
    """Put two sets of overrides together; where both say something, *second* counts."""
    return {
        name: {**first.get(name, {}), **second.get(name, {})} for name in {**first, **second}
    }


def parse_state_dir(
    _context: click.Context, _parameter: click.Parameter, given: Path | None
) -> Path:
    """Give the folder that was named, else this user's own."""
    from monitor.client import default_state_dir

    return given or default_state_dir()


stand_argument: Decorator = click.argument("standfile", type=FILE)
headless_option: Decorator = click.option(
    "--headless", is_flag=True, help="No window: a live table in this terminal."
)
for_option: Decorator = click.option(
    "--for",
    "for_s",
    type=click.FloatRange(min=0, min_open=True),
    metavar="SECONDS",
    help="Close the run and end after so many seconds of real time.",
)
run_dir_option: Decorator = click.option(
    "--run-dir",
    type=FOLDER,
    default=Path("runs"),
    show_default=True,
    metavar="DIR",
    help="Folder in which run folders are made.",
)
state_dir_option: Decorator = click.option(
    "--state-dir",
    type=FOLDER,
    callback=parse_state_dir,
    metavar="DIR",
    help="Folder in which a watch says how a display reaches it; "
    "needed only when two watches run on one machine.",
)
set_option: Decorator = click.option(
    "--set",
    "overrides",
    multiple=True,
    callback=parse_overrides,
    metavar="INSTRUMENT.KEY=VALUE",
    help="Use another setting than the stand file's, for example for a port that moved: "
    "gas_panel.port=/dev/ttyUSB1. May be given several times.",
)


def speed_option(text: str) -> Decorator:
    """Make the option ``--speed`` with its help text."""
    return click.option(
        "--speed",
        type=click.FloatRange(min=0, min_open=True),
        default=1.0,
        show_default=True,
        metavar="N",
        help=text,
    )


def common_options(command: Command) -> Command:
    """Give *command* the options of :class:`Common`, packed into its first argument."""

    @functools.wraps(command)
    def packed(
        headless: bool,
        for_s: float | None,
        run_dir: Path,
        state_dir: Path,
        overrides: Overrides,
        **rest: object,
    ) -> None:
        """Pack the options into one argument."""
        command(Common(headless, for_s, run_dir, state_dir, overrides), **rest)

    given: Command = packed
    for option in (set_option, state_dir_option, run_dir_option, for_option, headless_option):
        given = option(given)
    return given
