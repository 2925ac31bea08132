"""The register as plain text, to print, to send, to sign at a change of shift."""

from __future__ import annotations

from monitor.display.state.model import Model
from monitor.display.state.register import RegisterRow, Section
from monitor.display.state.text import clock_text, date_text

_COLUMNS = ("What", "Who and why", "Since", "Until", "What watches instead")


def register_text(model: Model, rows: tuple[RegisterRow, ...], now_ns: int) -> str:
    """Write the register at data time *now_ns*, in columns for a fixed pitch."""
    index, phase = model.index, model.phase
    mode = f", mode {index.mode_title(phase.mode)}" if phase.mode else ""
    count = sum(row.section is not Section.UNWATCHED for row in rows)
    lines = [
        f"Register of what is inhibited: {index.stand.title or index.stand.name}",
        f"Run {model.run_id}, {date_text(now_ns)} {clock_text(now_ns)} UTC",
        f"Phase {index.phase_title(phase.name)}{mode}",
        f"{count} inhibited" if count else "Nothing is inhibited",
    ]
    if phase.is_lapsed:
        lines.append("The phase lasts longer than it may: what it suppresses speaks again")
    for section in Section:
        members = [row for row in rows if row.section is section]
        if members:
            lines += ["", f"{section} ({len(members)})", *_table(members)]
    lines += ["", "Handed over by: ____________________   Taken over by: ____________________"]
    return "\n".join(lines) + "\n"


def _table(rows: list[RegisterRow]) -> list[str]:
    """Lay rows out in columns."""
    cells = [_COLUMNS]
    cells += [(row.what, row.why, row.since, row.until, row.instead) for row in rows]
    widths = [max(len(row[column]) for row in cells) for column in range(len(_COLUMNS))]
    return [
        "  "
        + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in cells
    ]
