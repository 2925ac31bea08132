"""A stand file for a command: loaded, or told what is wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from monitor.options import BAD_INPUT, fail

if TYPE_CHECKING:
    from monitor.stand.model import Stand


def load(path: Path, overrides: Mapping[str, Mapping[str, str]]) -> Stand:
    """Load a stand file; say what is wrong with it and end with exit code 2 if it is unfit."""
    from datetime import UTC, datetime

    from drivers.registry import instrument_kinds
    from monitor.errors import StandError
    from monitor.stand.load import load_stand

    try:
        stand = load_stand(path, instrument_kinds(), overrides, datetime.now(UTC).date())
    except StandError as error:
        count = sum(not problem.is_warning for problem in error.problems)
        fail(BAD_INPUT, f"{error}\n{count} to mend in {path}; nothing was started.")
    for warning in stand.warnings:
        click.echo(str(warning), err=True)
    return stand
