"""Numbers, durations and times as people read them."""

from __future__ import annotations

import math
from datetime import UTC, datetime

NS = 1_000_000_000
_MINUTE = 60
_HOUR = 3600
_DAY = 86400
_MIB = 1024 * 1024

MINUS = "\N{MINUS SIGN}"
#: Stands where a number would be if it were valid.
NO_NUMBER = "---"


def number_text(value: float | None, decimals: int) -> str:
    """Write *value* with *decimals* places and a true minus sign; ``---`` for none."""
    if value is None or not math.isfinite(value):
        return NO_NUMBER
    text = f"{value:.{decimals}f}"
    if text.startswith("-"):
        text = text[1:] if float(text) == 0 else MINUS + text[1:]
    return text


def duration_text(duration_ns: int) -> str:
    """Write a duration in ns with the two units that matter; a negative one counts as 0."""
    seconds = max(0, duration_ns) // NS
    if seconds < _MINUTE:
        return f"{seconds} s"
    if seconds < _HOUR:
        return f"{seconds // _MINUTE} min {seconds % _MINUTE:02d} s"
    if seconds < _DAY:
        return f"{seconds // _HOUR} h {seconds % _HOUR // _MINUTE:02d} min"
    return f"{seconds // _DAY} d {seconds % _DAY // _HOUR:02d} h"


def age_text(age_ns: int) -> str:
    """Write an age in ns with the one unit that matters."""
    seconds = max(0, age_ns) // NS
    for size, unit in ((_DAY, "d"), (_HOUR, "h"), (_MINUTE, "min")):
        if seconds >= size:
            return f"{seconds // size} {unit}"
    return f"{seconds} s"


def span_text(seconds: int) -> str:
    """Write a round length of time as short as it goes, for example ``20 min`` or ``4 h``."""
    if seconds % _HOUR == 0:
        return f"{seconds // _HOUR} h"
    if seconds % _MINUTE == 0:
        return f"{seconds // _MINUTE} min"
    return f"{seconds} s"


def clock_text(t_ns: int) -> str:
    """Write the time of day of *t_ns* (ns since the Unix epoch) in UTC, to the second."""
    return datetime.fromtimestamp(t_ns // NS, UTC).strftime("%H:%M:%S")


def date_text(t_ns: int) -> str:
    """Write the date of *t_ns* (ns since the Unix epoch) in UTC."""
    return datetime.fromtimestamp(t_ns // NS, UTC).strftime("%Y-%m-%d")


def bytes_text(count: int) -> str:
    """Write a number of bytes in MiB with one place, or plainly below one."""
    return f"{count / _MIB:.1f} MiB" if count >= _MIB else f"{count} bytes"


def sentence(text: str) -> str:
    """Make a sentence of what a program said: a capital first, a full stop last."""
    text = text.strip().removesuffix(".")
    return f"{text[0].upper()}{text[1:]}." if text else ""


def exact_number(value: float) -> str:
    """Write a figure that people set, with all its digits and a true minus sign."""
    return f"{value:.10g}".replace("-", MINUS, 1)


def plain_number(value: float) -> str:
    """Write a figure of unknown kind: whole numbers whole, others to four digits."""
    if math.isfinite(value) and value == int(value):
        return f"{int(value)}"
    return f"{value:.4g}"
