"""Loads a stand file: reads, checks and compiles it, or tells everything that is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from monitor.errors import StandError
from monitor.stand.check_alarms import check_alarms
from monitor.stand.check_channels import check_channels
from monitor.stand.check_combinations import check_combinations
from monitor.stand.check_contradictions import check_contradictions
from monitor.stand.check_formulas import check_formulas
from monitor.stand.check_instruments import check_instruments
from monitor.stand.check_kinds import check_kinds
from monitor.stand.check_layout import check_layout, check_phases
from monitor.stand.check_limits import check_limits
from monitor.stand.check_phases import check_modes, check_phase_rules
from monitor.stand.check_votes import check_votes
from monitor.stand.compile import compile_stand
from monitor.stand.draft import Draft, read_draft
from monitor.stand.model import Stand
from monitor.stand.read import read_source
from monitor.stand.report import Report

if TYPE_CHECKING:
    # Only for its name: importing the registry imports every driver.
    from drivers.registry import InstrumentKind

#: In this order: a later one uses what an earlier one found out (phases, signals, units).
_CHECKS = (
    check_phases,
    check_modes,
    check_instruments,
    check_channels,
    check_formulas,
    check_votes,
    check_limits,
    check_kinds,
    check_alarms,
    check_layout,
    check_phase_rules,
    check_combinations,
    check_contradictions,
)


def load_stand(
    path: Path,
    kinds: Mapping[str, InstrumentKind],
    overrides: Mapping[str, Mapping[str, str]] | None = None,
    today: date | None = None,
) -> Stand:
    """Load a stand file.

    Args:
        path: The file.
        kinds: Instrument kinds by name, from the registry.
        overrides: Settings by instrument and key that count instead of those in the file, as
            text; for example ``{"gas_panel": {"port": "/dev/pts/4"}}``.
        today: The day by which calibrations are judged, by default today in UTC. A replay must
            give the day on which the run began, or it may judge otherwise than the run did.

    Returns:
        The stand, with warnings.

    Raises:
        StandError: The file cannot be used; holds every mistake and every warning, in the order
            of the file.
    """
    source = read_source(path)
    report = Report(str(path), source.places)
    for problem in source.problems:
        report.add(problem)
    today = today or datetime.now(tz=UTC).date()
    draft = Draft(report, kinds, overrides or {}, today, source.tables)
    read_draft(draft)
    for check in _CHECKS:
        check(draft)
    if report.errors:
        raise StandError(report.problems)
    return compile_stand(draft, source.text)
