"""The commands on recorded runs. Each imports what it needs when it runs."""

from __future__ import annotations

from pathlib import Path

import click

from monitor.options import BAD_INPUT, EXIT_CODES, FAILED, FILE, OK, fail, run_dir_option


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


@click.command(epilog=EXIT_CODES, short_help="Alarm figures of recorded runs.")
@click.argument("names", metavar="RUN [RUN...]", nargs=-1, required=True)
@run_dir_option
@click.option("--json", "as_json", is_flag=True, help="The same numbers as one JSON document.")
def figures(names: tuple[str, ...], run_dir: Path, as_json: bool) -> None:
    """How many alarms came, in floods, of which sort: by ISA-18.2 and EEMUA 191.

    RUN is the folder of a run, or its name as 'standwatch runs' lists it; several are taken
    together. Each figure stands beside its target. A target that is not met is no failure of
    this command; a journal that was changed is, and its figures are shown with that said.
    """
    from monitor.errors import RecordError
    from monitor.figures import alarm_figures
    from monitor.figures_report import figures_document, figures_lines
    from monitor.run_figures import notes_of, read_run

    folders = {
        folder.resolve(): None for folder in (folder_of(name, run_dir) for name in names)
    }
    try:
        read = [read_run(folder) for folder in folders]
    except (RecordError, OSError) as error:
        fail(FAILED, str(error))
    report = alarm_figures([run.journal for run in read])
    notes = notes_of(read)
    if as_json:
        click.echo(figures_document(report, notes))
    else:
        for line in figures_lines(report, notes):
            click.echo(line)
    raise SystemExit(OK if all(run.is_sound for run in read) else FAILED)


@click.command(epilog=EXIT_CODES, short_help="Run recorded runs through another stand file.")
@click.argument("names", metavar="RUN [RUN...]", nargs=-1, required=True)
@click.option(
    "--stand",
    "standfile",
    type=FILE,
    required=True,
    metavar="NEW.toml",
    help="The stand file to come, with its changed limits.",
)
@click.option(
    "--suggest",
    "limit_id",
    default="",
    metavar="LIMIT_ID",
    help="Propose deadband, filter and delay for this limit of NEW.toml, for example "
    "PT-301.high, from what was recorded.",
)
@click.option("--json", "as_json", is_flag=True, help="All of it as one JSON document.")
@run_dir_option
def rehearse(
    names: tuple[str, ...], standfile: Path, limit_id: str, as_json: bool, run_dir: Path
) -> None:
    """Say what would have differed with the limits of another stand file.

    RUN is the folder of a run, or its name as 'standwatch runs' lists it. Its readings and
    what people did go through the same code twice, with the run's own stand file and with
    NEW.toml: which alarms are gained, lost, earlier or later, limit by limit. Nothing is
    written. A difference is no failure of this command.
    """
    from monitor.errors import RecordError, StandError
    from monitor.rehearse.bar import progress_bar
    from monitor.rehearse.subject import SuggestError
    from monitor.rehearse.together import rehearse_all
    from monitor.rehearse.view import shown

    folders = [folder_of(name, run_dir) for name in names]
    try:
        with progress_bar() as progress:
            found = rehearse_all(folders, standfile, limit_id, progress)
    except (StandError, SuggestError, RecordError) as error:
        fail(BAD_INPUT, str(error))
    except OSError as error:
        fail(FAILED, str(error))
    click.echo(shown(found, as_json=as_json))
