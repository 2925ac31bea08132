"""What a replay found, as lines for a person."""

from __future__ import annotations

from monitor.replay import ReplayResult

_VERDICT_TEXT = {
    "equal": "equal: every line of the journal came out again, byte for byte",
    "ahead": "equal as far as the log goes; the journal on disk goes {lines_ahead} lines "
    "further, as a power cut can leave it",
    "behind": "equal as far as the journal goes; the log gives {lines_behind} lines more, "
    "as a kill can leave it",
    "gaps": "equal where it can be checked; {lines_unsure} lines lack their readings",
    "differs": "DIFFERS at line {line}",
}


def replay_lines(result: ReplayResult) -> list[str]:
    """Say how a replay went: the verdict first, then what speaks against the record."""
    numbers = {
        "lines_ahead": result.lines_ahead,
        "lines_behind": result.lines_behind,
        "lines_unsure": result.lines_unsure,
        "line": result.line,
    }
    lines = [_VERDICT_TEXT[result.verdict].format_map(numbers)]
    if result.verdict == "differs":
        lines += [
            f"  on disk:  {result.recorded or '(no such line)'}",
            f"  replayed: {result.made or '(no such line)'}",
        ]
    counts = f"{result.steps} steps gave {result.lines_made} lines"
    lines.append(f"{counts}; the journal on disk has {result.lines_recorded}")
    lines += [f"in the log: {problem}" for problem in result.problems]
    if result.journal.broken_line:
        line = result.journal.broken_line
        lines.append(f"THE JOURNAL WAS CHANGED: line {line}: {result.journal.why}")
    if result.journal.torn_bytes:
        lines.append(f"the journal ends with {result.journal.torn_bytes} bytes of a torn line")
    return lines
