"""The list of recorded runs, as lines for a terminal or a pipe."""

from __future__ import annotations

from collections.abc import Sequence

from monitor.display.state.text import bytes_text, clock_text, date_text, duration_text
from monitor.record.run_folder import RunRow

_HEADING = ("run", "started (UTC)", "lasted", "state", "size")

_STATE_TEXT = {
    "recording": "being recorded",
    "open": "not closed",
    "closed": "closed",
}


def run_lines(rows: Sequence[RunRow]) -> list[str]:
    """Lay the runs out in columns, with a heading; a run that cannot be read says why."""
    cells = [_HEADING, *(_cells(row) for row in rows)]
    widths = [max(len(line[column]) for line in cells) for column in range(len(_HEADING))]
    lines = [
        "  ".join(text.ljust(width) for text, width in zip(line, widths, strict=True)).rstrip()
        for line in cells
    ]
    problems = ["", *(row.problem for row in rows)]
    return [
        f"{line}  {problem}".rstrip() for line, problem in zip(lines, problems, strict=True)
    ]


def _cells(row: RunRow) -> tuple[str, str, str, str, str]:
    """Write one run."""
    return (
        row.folder.name,
        f"{date_text(row.started_ns)} {clock_text(row.started_ns)}",
        duration_text(row.duration_ns),
        "cannot be read" if row.problem else _STATE_TEXT[row.state],
        bytes_text(row.size_bytes),
    )
