"""What the check command tells about a stand in which there is nothing wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from monitor.alarms.plan import Alarm, Priority
from monitor.limits.plan import Limit
from monitor.stand.model import LimitTime, Stand

_TITLES = ("limit", "setpoint", "priority", "sensor", "filter", "delay", "total", "to respond")


def describe_check(stand: Stand) -> list[str]:
    """Give the lines that the check command prints: what there is, and how late limits are.

    Times are in seconds. A total is marked ``>`` where a part of it is not known.
    """
    plan = stand.plan
    priorities = Counter(alarm.priority for alarm in plan.alarms.alarms)
    listed = ", ".join(f"{priorities[one]} {one}" for one in Priority if priorities[one])
    computed = len(plan.channels.computed)
    lines = [
        f"{stand.title} ({stand.name})",
        f"instruments: {len(stand.instruments)}"
        f" ({', '.join(f'{one.name}: {one.kind}' for one in stand.instruments)})",
        f"channels: {len(stand.channels)}"
        f" ({len(stand.channels) - computed} measured, {computed} computed)",
        f"phases: {', '.join(phase.name for phase in stand.phases)}",
        f"alarms: {len(plan.limits)} ({listed})",
        f"alarms come {stand.lag_ns * 1e-9:g} s after the readings, beside the times below",
    ]
    if stand.limit_times:
        lines += ["", *_table([_TITLES, *_rows(stand)])]
    return lines


def _rows(stand: Stand) -> list[tuple[str, ...]]:
    """Give the lines of the table of limits."""
    units = {entry.tag: entry.unit for entry in stand.channels}
    pairs = zip(stand.plan.limits, stand.plan.alarms.alarms, strict=True)
    found = {limit.id: (limit, alarm) for limit, alarm in pairs}
    return [_row(time, *found[time.id], units) for time in stand.limit_times]


def _row(
    time: LimitTime, limit: Limit, alarm: Alarm, units: Mapping[str, str]
) -> tuple[str, ...]:
    """Give one line of the table of limits."""
    total = time.sensor_s + (time.filter_s or 0.0) + time.window_s + (time.delay_s or 0.0)
    return (
        time.id,
        f"{limit.setpoint:g} {units[alarm.tag]}".strip() + _elsewhere(limit),
        alarm.priority.value,
        f"{time.sensor_s:g}",
        "?" if time.filter_s is None else f"{time.filter_s:g}",
        f"{time.delay_s:g}",
        f"{'> ' if time.filter_s is None else ''}{total:g}",
        "" if time.respond_s is None else f"{time.respond_s:g}",
    )


def _elsewhere(limit: Limit) -> str:
    """Give the setpoints of phases that have another one."""
    return "".join(f"; {phase} {value:g}" for phase, value in limit.setpoint_in.items())


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
