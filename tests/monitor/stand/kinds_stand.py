"""A stand file with redundant sensors, and a writer of limits of any kind, for some tests."""

from __future__ import annotations

#: Added to the good file: a third sensor, the vote of all three, and a valve's contact.
MORE = """\
[channels.PT-103]
unit = "bar"
source = "panel.p3"
span = [0, 2]

[channels.PT-100]
title = "Voted"
unit = "kPa"
span = [0, 200]
vote = ["PT-101", "PT-102"]

[channels.ZS-101]
title = "Valve"
unit = "1"
source = "panel.z1"
span = [0, 1]
"""


def with_more(good: str) -> str:
    """Add what is above to the good file."""
    return good.replace('"p2", "t1"]', '"p2", "t1", "p3", "z1"]') + MORE


def limit(tag: str, kind: str, keys: str, priority: str = "low") -> str:
    """Write a limit; *keys* are separated by semicolons."""
    written = "\n".join(key.strip() for key in keys.split(";"))
    return (
        f'[channels.{tag}.limits.{kind}]\npriority = "{priority}"\n'
        f'response = "Look."\n{written}\n'
    )
