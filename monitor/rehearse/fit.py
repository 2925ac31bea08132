"""The new stand for a recorded run: as of its day, and whether the run has its readings."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from drivers.registry import InstrumentKind
from monitor.errors import StandError, did_you_mean
from monitor.stand.load import load_stand
from monitor.stand.model import Stand
from monitor.stand.read import read_source
from monitor.stand.report import Report

_NS_PER_S = 1_000_000_000


def load_new(
    path: Path, kinds: Mapping[str, InstrumentKind], run: str, old: Stand, started_ns: int
) -> Stand:
    """Load a stand file for the readings of a run.

    Args:
        path: The file.
        kinds: Instrument kinds by name.
        run: The run's name, for a person.
        old: The stand of the run.
        started_ns: When the run began: calibrations are judged as of that day.

    Raises:
        StandError: It cannot be used; or a channel needs a signal that the run did not record.
    """
    day = datetime.fromtimestamp(started_ns // _NS_PER_S, UTC).date()
    new = load_stand(path, kinds, today=day)
    report = Report(str(path), read_source(path).places)
    recorded = {
        f"{entry.name}.{signal}": None
        for entry in old.instruments
        for signal in kinds[entry.kind].signals(entry.settings)
    }
    for channel in new.channels:
        source = f"{channel.instrument}.{channel.signal}"
        if channel.instrument and source not in recorded:
            text = f"{source!r} was not recorded in {run}{did_you_mean(source, list(recorded))}"
            report.error(("channels", channel.tag, "source"), text)
    if report.errors:
        raise StandError(report.problems)
    return new


def notes_on(old: Stand, new: Stand) -> list[str]:
    """Say what of the new stand a run cannot show, or shows otherwise."""
    notes = []
    before = {entry.name: entry for entry in old.instruments}
    for entry in new.instruments:
        if entry.name not in before:
            notes.append(f"{entry.name} was not there: its link counts as up all the time")
        elif entry != before[entry.name]:
            notes.append(f"{entry.name} is set up otherwise: what it sent then is used")
    first = (old.plan.alarms.phases[0], new.plan.alarms.phases[0])
    if first[0] != first[1]:
        notes.append(f"begins in phase {first[1]!r}, and began in {first[0]!r}")
    has = {*new.plan.alarms.phases, *new.plan.alarms.modes}
    for what, names in (("phase", old.plan.alarms.phases), ("mode", old.plan.alarms.modes)):
        lacking = [repr(name) for name in names if name not in has]
        if lacking:
            notes.append(f"has no {what} {', '.join(lacking)}")
    return notes
