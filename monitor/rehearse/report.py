"""What a rehearsal found, as lines for a technician."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from monitor.rehearse.compare import Change, Difference, LimitOutcome, Only
from monitor.rehearse.run import RunOutcome
from monitor.rehearse.words import columns_text, moment_text, span_text

#: Alarms of one run that are listed; the table counts them all.
MOST_LISTED = 20
_HEADING = ("limit", "was", "is", "gained", "lost", "earlier", "later", "what is changed")


@dataclass(slots=True)
class _Row:
    """One limit over all runs."""

    only: Only
    changes: tuple[str, ...] = ()
    found: list[Difference] = field(default_factory=list)

    def cells(self, limit: str) -> tuple[str, ...]:
        """Write the row of the table."""
        was = sum(one.old is not None for one in self.found)
        now = sum(one.new is not None for one in self.found)
        return (
            limit,
            "-" if self.only is Only.NEW else str(was),
            "-" if self.only is Only.OLD else str(now),
            str(self._count(Change.GAINED)),
            str(self._count(Change.LOST)),
            self._moved(Change.EARLIER),
            self._moved(Change.LATER),
            "; ".join((*self._beside(), *self.changes)),
        )

    def _count(self, change: Change) -> int:
        """Count what this became of."""
        return sum(one.change is change for one in self.found)

    def _moved(self, change: Change) -> str:
        """Say how many moved, and by how much."""
        spans = sorted(abs(one.shift_ns) for one in self.found if one.change is change)
        if not spans:
            return "0"
        least, most = span_text(spans[0]), span_text(spans[-1])
        return f"{len(spans)} by {least}" + (f" to {most}" if most != least else "")

    def _beside(self) -> Iterator[str]:
        """Say what differs beside the time at which an alarm comes."""
        if self.only is not Only.BOTH:
            yield "new limit" if self.only is Only.NEW else "limit taken out"
        counts = {
            "end at another time": sum(one.end_shift_ns != 0 for one in self.found),
            "shown now": sum(one.is_shown_now for one in self.found),
            "not shown now": sum(one.is_hidden_now for one in self.found),
        }
        yield from (f"{count} {words}" for words, count in counts.items() if count)


def report_lines(outcomes: Sequence[RunOutcome]) -> list[str]:
    """Say what would have differed: a line in short, a table by limit, then run by run."""
    rows = _rows(outcomes)
    loud = {limit: row for limit, row in rows.items() if any(x.differs for x in row.found)}
    lines = [_in_short(outcomes, rows, len(loud))]
    if loud:
        cells = [row.cells(limit) for limit, row in loud.items()]
        lines += ["", *columns_text([_HEADING, *cells])]
    lines += _changed_and_silent(rows, loud)
    for outcome in outcomes:
        lines += _of_run(outcome)
    return lines


def _rows(outcomes: Sequence[RunOutcome]) -> dict[str, _Row]:
    """Put the runs together, limit by limit."""
    rows: dict[str, _Row] = {}
    for outcome in outcomes:
        for limit in outcome.limits:
            row = rows.setdefault(limit.limit, _Row(limit.only))
            row.changes = outcome.changes.get(limit.limit, ())
            row.found += limit.differences
    return rows


def _in_short(outcomes: Sequence[RunOutcome], rows: dict[str, _Row], loud: int) -> str:
    """Say how much was looked at, and whether anything differs."""
    lasted_ns = sum(outcome.ended_ns - outcome.started_ns for outcome in outcomes)
    count = len(outcomes)
    looked_at = f"{count} run{'s' if count != 1 else ''}, {span_text(lasted_ns)}"
    alarms = sum(len(row.found) for row in rows.values())
    if not loud:
        same = "1 alarm is" if alarms == 1 else f"{alarms} alarms are"
        return f"{looked_at}: nothing differs; {same} the same under both stands"
    return f"{looked_at}: {loud} of {len(rows)} limits differ in their alarms"


def _changed_and_silent(rows: dict[str, _Row], loud: dict[str, _Row]) -> list[str]:
    """Name what was changed without any difference in alarms: the runs do not show it."""
    silent = [
        f"  {limit}: {'; '.join(row.changes)}"
        for limit, row in rows.items()
        if limit not in loud and row.changes
    ]
    return ["", "changed, and these runs show no difference:", *silent] if silent else []


def _of_run(outcome: RunOutcome) -> list[str]:
    """List what differs in one run, by time, and what a person must know of it."""
    listed = [
        (_told_ns(one), _sentence(row, one))
        for row in outcome.limits
        for one in row.differences
        if one.differs
    ]
    if not listed and not outcome.notes:
        return []
    lines = [f"  {moment_text(t_ns)}  {text}" for t_ns, text in sorted(listed)]
    if len(lines) > MOST_LISTED:
        rest = len(lines) - MOST_LISTED
        lines = [*lines[:MOST_LISTED], f"  and {rest} more; --json lists them all"]
    notes = [f"  note: {note}" for note in outcome.notes]
    return ["", f"{outcome.run} (times in UTC)", *lines, *notes]


def _told_ns(one: Difference) -> int:
    """Give the time of a line: when it is raised now; of one that is lost, when it was."""
    told = one.new or one.old
    return one.t_ns if told is None else told.raised_ns


def _sentence(row: LimitOutcome, one: Difference) -> str:
    """Say what became of one alarm."""
    parts = [one.change.value if one.change is not Change.SAME else ""]
    if one.old is None or one.new is None:
        only = one.new or one.old
        assert only is not None
        parts.append(f"stood {span_text(only.end_ns - only.raised_ns)}")
        parts.append("" if only.shown_ns is not None else "not shown")
    elif one.shift_ns:
        was = moment_text(one.old.raised_ns)
        parts[0] = f"{one.change} by {span_text(abs(one.shift_ns))} (was {was})"
    parts += [_end_text(one), *_shown_texts(one)]
    return f"{row.limit}  {', '.join(part for part in parts if part) or 'ends otherwise'}"


def _end_text(one: Difference) -> str:
    """Say how the end moved; empty when it did not."""
    if not one.end_shift_ns:
        return ""
    way = "later" if one.end_shift_ns > 0 else "earlier"
    return f"ends {span_text(abs(one.end_shift_ns))} {way}"


def _shown_texts(one: Difference) -> Iterator[str]:
    """Say what people are shown otherwise."""
    if one.is_shown_now:
        yield "shown now"
    if one.is_hidden_now:
        yield "not shown now"
    if one.shown_shift_ns != one.shift_ns and one.shown_shift_ns:
        way = "later" if one.shown_shift_ns > 0 else "earlier"
        yield f"shown {span_text(abs(one.shown_shift_ns))} {way}"
