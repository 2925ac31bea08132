"""The commands on recorded runs. Each imports what it needs when it runs."""

from __future__ import annotations

from pathlib import Path

import click

from monitor.options import BAD_INPUT, EXIT_CODES, FAILED, OK, fail, run_dir_option


def folder_of(run: str, run_dir: Path) -> Path:
    """Give the folder of a run that was named by its path or as it is listed.

    Raises:
        BadParameter: There is no such run.
    """
    named = Path(run)
    folder = named if named.is_dir() else run_dir / run
    if not folder.is_dir():
        raise click.BadParameter(
            f"there is neither a folder {named} nor {folder}", param_hint="RUN"
        )
    return folder


@click.command(epilog=EXIT_CODES, short_help="List the recorded runs.")
@run_dir_option
def runs(run_dir: Path) -> None:
    """List the recorded runs, the newest last."""
    from monitor.record.run_folder import list_runs
    from monitor.run_list import run_lines

    found = list_runs(run_dir)
    if not found:
        click.echo(f"no runs in {run_dir}")
        return
    for line in run_lines(found):
        click.echo(line)


@click.command(
    epilog=EXIT_CODES, short_help="Run a recorded run again and compare the journal."
)
@click.argument("run")
@run_dir_option
def replay(run: str, run_dir: Path) -> None:
    """Run a recorded run through the same code again, and compare its journal.

    RUN is the folder of a run, or its name as 'standwatch runs' lists it. The journal that
    comes out must equal the one on disk, line for line; after a crash one of the two may go a
    little further than the other, and this is said.
    """
    from monitor.errors import RecordError, StandError
    from monitor.replay import replay_run
    from monitor.replay_report import replay_lines

    try:
        result = replay_run(folder_of(run, run_dir))
    except StandError as error:
        fail(BAD_INPUT, str(error))
    except (RecordError, OSError) as error:
        fail(FAILED, str(error))
    for line in replay_lines(result):
        click.echo(line)
    raise SystemExit(OK if result.is_good else FAILED)
