"""What the check command tells about a stand in which there is nothing wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from monitor.alarms.plan import Priority
from monitor.channels.plan import Voted
from monitor.stand.model import LimitTime, Stand
from monitor.stand.summary_places import describe_aborts, describe_places

_TITLES = (
    "limit",
    "setpoint",
    "priority",
    "sensor",
    "filter",
    "window",
    "delay",
    "total",
    "to respond",
)
_WINDOW = _TITLES.index("window")


def describe_check(stand: Stand) -> list[str]:
    """Give the lines that the check command prints: what there is, and how late limits are.

    Times are in seconds. A total is marked ``>`` where a part of it is not known.
    """
    plan = stand.plan
    priorities = Counter(alarm.priority for alarm in plan.alarms.alarms)
    listed = ", ".join(f"{priorities[one]} {one}" for one in Priority if priorities[one])
    made = [entry for entry in stand.channels if entry.formula]
    voted = sum(isinstance(row, Voted) for row in plan.channels.computed if "~" not in row.tag)
    lines = [
        f"{stand.title} ({stand.name})",
        f"instruments: {len(stand.instruments)}"
        f" ({', '.join(f'{one.name}: {one.kind}' for one in stand.instruments)})",
        f"channels: {len(stand.channels)}"
        f" ({len(stand.channels) - len(made)} measured, {len(made) - voted} computed"
        f"{f', {voted} voted' if voted else ''})",
        f"phases: {', '.join(phase.name for phase in stand.phases)}",
        *describe_places(stand),
        f"alarms: {len(plan.limits)} ({listed})",
        f"alarms come {stand.lag_ns * 1e-9:g} s after the readings, beside the times below",
    ]
    if stand.limit_times:
        lines += ["", *_table(_without_empty_window([_TITLES, *_rows(stand)]))]
    if stand.aborts:
        lines += ["", *describe_aborts(stand)]
    return lines


def _rows(stand: Stand) -> list[tuple[str, ...]]:
    """Give the lines of the table of limits."""
    priorities = {alarm.id: alarm.priority.value for alarm in stand.plan.alarms.alarms}
    return [_row(time, priorities[time.id]) for time in stand.limit_times]


def _row(time: LimitTime, priority: str) -> tuple[str, ...]:
    """Give one line of the table of limits."""
    parts = (time.sensor_s, time.filter_s, time.window_s, time.delay_s)
    total = sum(part for part in parts if part is not None)
    return (
        time.id,
        time.figure,
        priority,
        *("?" if part is None else f"{part:g}" for part in parts),
        f"{'> ' if None in parts else ''}{total:g}",
        "" if time.respond_s is None else f"{time.respond_s:g}",
    )


def _without_empty_window(rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Leave the windows out where no limit has one."""
    if any(row[_WINDOW] != "0" for row in rows[1:]):
        return rows
    return [(*row[:_WINDOW], *row[_WINDOW + 1 :]) for row in rows]


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Lay rows out in columns: words to the left, times to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  ".join(
            cell.ljust(width) if column < 3 else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
