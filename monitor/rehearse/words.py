"""Numbers of a rehearsal as people read them: spans of time, moments, filters."""

from __future__ import annotations

from datetime import UTC, datetime

from monitor.channels.plan import Filtered
from monitor.display.state.text import duration_text

_NS_PER_S = 1_000_000_000
_S_PER_NS = 1e-9
_MINUTE_NS = 60 * _NS_PER_S


def span_text(span_ns: int) -> str:
    """Write how long something lasts: to three digits, from a minute on to the second."""
    # What would be written as 60 s is a minute.
    if span_ns < _MINUTE_NS - _NS_PER_S // 20:
        return f"{span_ns * _S_PER_NS:.3g} s"
    return duration_text(max(span_ns, _MINUTE_NS))


def moment_text(t_ns: int) -> str:
    """Write the time of day in UTC to a tenth of a second."""
    moment = datetime.fromtimestamp(t_ns // _NS_PER_S, UTC)
    return f"{moment:%H:%M:%S}.{t_ns % _NS_PER_S // 100_000_000}"


def filter_text(row: Filtered | None) -> str:
    """Name a filter."""
    if row is None:
        return "none"
    if row.median_of:
        return f"median of {row.median_of}"
    if row.lag_ns:
        return f"lag {row.lag_ns * _S_PER_NS:g} s"
    return f"mean {row.mean_ns * _S_PER_NS:g} s"


def columns_text(rows: list[tuple[str, ...]]) -> list[str]:
    """Lay rows out in columns; the first one is the heading."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
