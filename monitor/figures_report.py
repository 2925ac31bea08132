"""The alarm figures of runs, as lines for a person or as one document for a program."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from monitor.display.state.text import clock_text, date_text, duration_text
from monitor.figures import Report, Row, assess
from monitor.figures.assess import ENOUGH_NS
from monitor.figures.figures import AlarmCount, Figures, StandingAlarm
from monitor.figures.rates import Flood

#: Lines of one list; the document has all.
_MOST_LINES = 10
_SHORT = "LESS THAN 30 DAYS OF DATA: every figure is an indication only."
_BASIS = (
    "Targets: ANSI/ISA-18.2-2016 and EEMUA 191, as secondary texts give them, for one person",
    "over 30 days or more. A target that is not met speaks of the alarms, not of the rig.",
)
_WORDS = (
    "counted     each time that an alarm is shown to people: raised and not inhibited, or",
    "            inhibited no more; what is only noted in the journal is not counted",
    "10 min      one after another from the start of the run; 'any 10 min' begin anywhere",
    "            (the last may be shorter); averages over less than 10 min are scaled up",
    "peak        most in any 10 min",
    "flood       from 10 min with more than 10 alarms to the next 10 min with fewer than 5",
    "chattering  shown three times or more in a minute",
    "fleeting    gone within 10 s with nobody having answered; 10 s is our choice, no source",
    "stale       annunciated for more than 24 h without a break",
)


def figures_lines(report: Report, notes: Sequence[str] = ()) -> list[str]:
    """Lay the figures out; whether a target is met is said in words.

    Args:
        report: The figures.
        notes: What must be known beside them.
    """
    total = report.total
    heading = f"alarm figures of {_what(report)}: {duration_text(total.lasted_ns)} of data"
    lines = [heading, *notes]
    if total.lasted_ns < ENOUGH_NS:
        lines.append(_SHORT)
    lines += [*_BASIS, "", *_columns([_ROWS_HEADING, *map(_row_cells, assess(total))])]
    for title, part in _parts(report):
        lines += ["", title, *(f"  {line}" for line in part)]
    return [*lines, "", "words", *(f"  {line}" for line in _WORDS)]


def figures_document(report: Report, notes: Sequence[str] = ()) -> str:
    """Write the same numbers as JSON; names end in the unit, shares are from 0 to 1."""
    document = {
        "is_indication_only": report.total.lasted_ns < ENOUGH_NS,
        "notes": list(notes),
        "assessment": assess(report.total),
        "total": report.total,
        "runs": report.runs,
        "phases": report.phases,
    }
    return msgspec.json.format(msgspec.json.encode(document)).decode()


def _what(report: Report) -> str:
    """Name the runs."""
    return report.runs[0].name if len(report.runs) == 1 else f"{len(report.runs)} runs"


_ROWS_HEADING = ("figure", "value".rjust(8), "verdict", "target", "")


def _row_cells(row: Row) -> tuple[str, ...]:
    """Write one figure."""
    return (row.figure, row.text.rjust(8), row.verdict.value, row.target, row.note)


def _parts(report: Report) -> list[tuple[str, list[str]]]:
    """Give the lists behind the figures, each with its title; empty ones are left out."""
    total = report.total
    nuisance, standing = total.nuisance, total.standing
    end = "the end" if len(report.runs) == 1 else "the end of its run"
    parts = [
        ("most frequent: times shown", _counts(total.frequent.ten)),
        ("chattering: times shown in doing so", _counts(nuisance.chattering)),
        ("fleeting: times", _counts(nuisance.fleeting)),
        ("stale, the longest first", _held(nuisance.stale)),
        ("floods, the worst first", _floods(total.floods.periods)),
        (f"standing at {end}, the longest first", _held(standing.at_end)),
        ("people and alarms", _people(total)),
        ("by phase", _table(report.phases)),
        ("by run", _table(report.runs) if len(report.runs) > 1 else []),
    ]
    return [(title, part) for title, part in parts if part]


def _counts(rows: Sequence[AlarmCount]) -> list[str]:
    """Write how often something was so of which alarms."""
    return _shortened(_columns([(f"{row.count:5}", row.subject) for row in rows]))


def _held(rows: Sequence[StandingAlarm]) -> list[str]:
    """Write which alarms were shown for how long."""
    cells = [
        (row.subject, row.priority, duration_text(row.lasted_ns), _since(row.since_ns))
        for row in rows
    ]
    return _shortened(_columns(cells))


def _floods(floods: Sequence[Flood]) -> list[str]:
    """Write when there were floods; those of one size by their begin."""
    worst = sorted(floods, key=lambda flood: (-flood.activations, flood.since_ns))
    return _shortened(_columns([_flood_cells(flood) for flood in worst]))


def _flood_cells(flood: Flood) -> tuple[str, ...]:
    """Write one flood."""
    end = "" if flood.is_over else "goes on at the end"
    lasted = duration_text(flood.until_ns - flood.since_ns)
    return (_since(flood.since_ns), lasted, f"{flood.activations} alarms", end)


def _people(total: Figures) -> list[str]:
    """Write how people answered, and what kept alarms from being shown."""
    answers, inhibited, longest = total.answers, total.inhibited, total.standing.longest
    lines = [f"not acknowledged at the end: {answers.waiting_at_end}"]
    if answers.median_ns is not None and answers.longest_ns is not None:
        lines.append(
            f"acknowledged {_times(answers.acknowledged)}: median after "
            f"{duration_text(answers.median_ns)}, at the latest after "
            f"{duration_text(answers.longest_ns)}"
        )
    if longest is not None:
        lines.append(f"stood longest: {longest.subject}, {duration_text(longest.lasted_ns)}")
        lines.append(f"stood in all: {duration_text(total.standing.lasted_ns)} of alarm time")
    return [
        *lines,
        f"shown anew because they went on standing: {_times(total.load.realarms)}",
        f"shelved {_times(inhibited.shelved)}, "
        f"taken out of service {_times(inhibited.out_of_service)}, "
        f"hidden by design {_times(inhibited.suppressed)}",
        f"came while inhibited, so not shown then: {_times(inhibited.hidden)}",
    ]


_TABLE_HEADING = (
    "",
    "lasted",
    "alarms",
    "per 10 min",
    "peak",
    "top/high/medium/low",
    "most frequent",
)


def _table(parts: Sequence[Figures]) -> list[str]:
    """Write the main figures of phases or runs."""
    return _columns([_TABLE_HEADING, *map(_table_cells, parts)])


def _table_cells(part: Figures) -> tuple[str, ...]:
    """Write the main figures of one."""
    average = part.load.per_10_min
    return (
        part.name or "(no phase)",
        duration_text(part.lasted_ns),
        str(part.load.activations),
        "---" if average is None else f"{average:.2f}",
        str(part.load.most_in_window),
        "/".join(str(row.activations) for row in part.priorities),
        "".join(f"{row.subject} {_times(row.count)}" for row in part.frequent.ten[:1]),
    )


def _times(count: int) -> str:
    """Write how often."""
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")


def _since(t_ns: int) -> str:
    """Write since when."""
    return f"since {date_text(t_ns)} {clock_text(t_ns)} UTC"


def _shortened(lines: list[str]) -> list[str]:
    """Leave out what makes a list too long, and say so."""
    more = len(lines) - _MOST_LINES
    return [*lines[:_MOST_LINES], f"and {more} more; --json has all"] if more > 0 else lines


def _columns(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Lay rows out in columns."""
    if not rows:
        return []
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
