"""Checks what belongs to the stand as a whole: its name and lag, its phases, its charts."""

from __future__ import annotations

import re

from monitor.errors import did_you_mean
from monitor.stand.draft import Draft
from monitor.stand.schema import ChartTable
from monitor.units import is_same

#: The name of a stand becomes part of the name of each run's folder.
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*")
#: A phase is named in events, commands and tables.
_PHASE = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")
#: Alarms come later by the lag; a pack or a poll that takes longer than this is no watch.
_LONGEST_LAG_S = 10.0


def check_layout(draft: Draft) -> None:
    """Note what is wrong with the stand's own table and its charts."""
    _check_stand(draft)
    for number, chart in draft.charts.items():
        _check_chart(draft, number, chart)


def _check_stand(draft: Draft) -> None:
    """The name becomes a folder's; the lag is short, and shorter than any staleness."""
    stand = draft.stand
    if stand is None:
        return
    if not _NAME.fullmatch(stand.name):
        draft.report.error(
            ("stand", "name"),
            f"{stand.name!r} is to be letters, digits, _ and -: it names the folder of a run",
        )
    path = ("stand", "lag_s")
    if not 0 <= stand.lag_s <= _LONGEST_LAG_S:
        draft.report.error(
            path,
            f"{stand.lag_s:g} s is not between 0 and {_LONGEST_LAG_S:g}; write the longest "
            "time that one pack or poll takes, mostly 0.1",
        )
        return
    for channel in draft.channels.values():
        if not channel.is_computed and channel.stale_after_s <= stand.lag_s:
            draft.report.error(
                (*channel.path, "stale_after_s"),
                f"{channel.stale_after_s:g} s is not longer than the stand's lag_s, "
                f"{stand.lag_s:g} s",
            )


def check_phases(draft: Draft) -> None:
    """There is at least one phase, and no two have one name."""
    if not draft.phases:
        draft.report.missing(("phases",), 'write at least one [[phases]] with name = "..."')
    first: dict[str, int] = {}
    for number, phase in draft.phases.items():
        path = ("phases", number, "name")
        if not _PHASE.fullmatch(phase.name):
            draft.report.error(
                path, f"{phase.name!r} is to be a letter, then letters, digits, _ and -"
            )
        other = first.setdefault(phase.name, number)
        if other != number:
            draft.report.error(path, f"{phase.name!r} is the name of phase {other + 1} already")


def _check_chart(draft: Draft, number: int, chart: ChartTable) -> None:
    """A chart shows channels that exist, each once, all of one unit on its axis."""
    path = ("charts", number, "tags")
    if not chart.tags:
        draft.report.error(path, "is empty; name the channels to draw")
    seen: set[str] = set()
    for place, tag in enumerate(chart.tags):
        if tag not in draft.tags:
            near = did_you_mean(tag, draft.tags)
            draft.report.error((*path, place), f"unknown channel {tag!r}{near}")
        elif tag in seen:
            draft.report.error((*path, place), f"{tag} is in this chart already")
        seen.add(tag)
    _check_chart_units(draft, number, chart)


def _check_chart_units(draft: Draft, number: int, chart: ChartTable) -> None:
    """One axis has one unit."""
    units = [
        (place, tag, draft.channels[tag].unit)
        for place, tag in enumerate(chart.tags)
        if tag in draft.channels
    ]
    known = [(place, tag, unit) for place, tag, unit in units if unit is not None]
    for place, tag, unit in known[1:]:
        _, first_tag, first = known[0]
        if not is_same(unit, first):
            draft.report.error(
                ("charts", number, "tags", place),
                f"{tag} is in {unit.text or '1'!r} but {first_tag} in {first.text or '1'!r}; "
                "one chart has one unit: make another [[charts]]",
            )
