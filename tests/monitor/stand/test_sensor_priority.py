"""Tests for monitor.stand.sensor_priority.

Source: hand-worked here; the good file is that of conftest. A sensor's alarm takes the highest
priority among the alarms that fall blind with it; chains of computed channels are tested beside
the alarms.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.alarms.plan import Priority
from monitor.stand.model import Stand
from monitor.stand.sensor_priority import between
from tests.monitor.stand.kinds_stand import limit, with_more

LOW, MEDIUM, HIGH = Priority.LOW, Priority.MEDIUM, Priority.HIGH


def stale(tag: str, text: str, load: Callable[..., Stand]) -> Priority:
    """Load a text; give the priority of a sensor's alarm."""
    alarms = load(text).plan.alarms.alarms
    return next(one.priority for one in alarms if one.id == f"{tag}.stale")


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [(Priority.JOURNAL, LOW), (LOW, LOW), (MEDIUM, MEDIUM), (HIGH, HIGH), (Priority.TOP, HIGH)],
)
def test_a_priority_is_kept_within_bounds(wanted: Priority, expected: Priority) -> None:
    assert between(LOW, wanted, HIGH) is expected


def test_what_a_channel_is_compared_with_blinds_that_limit(
    good: str, load: Callable[..., Stand]
) -> None:
    keys = 'from = "PT-103"; setpoint = 1'
    text = with_more(good)

    assert stale("PT-103", text, load) is LOW
    assert stale("PT-103", text + limit("PT-102", "deviation", keys, "medium"), load) is MEDIUM


def test_a_number_to_compare_with_blinds_nothing(good: str, load: Callable[..., Stand]) -> None:
    added = limit("TT-101", "deviation", "from = 30; setpoint = 1", "medium")

    assert stale("TT-101", good + added, load) is MEDIUM


def test_what_votes_blinds_the_limits_of_the_vote(
    good: str, load: Callable[..., Stand]
) -> None:
    text = with_more(good).replace('"PT-101", "PT-102"]\n\n[ch', '"PT-101", "PT-109"]\n\n[ch')
    text = text.replace("[channels.PT-102]", "[channels.PT-109]").replace(
        'reference = "PT-102"', 'reference = "PT-101"'
    )
    text = text.replace('tags = ["PT-101", "PT-102"]', 'tags = ["PT-101"]')

    assert stale("PT-109", text, load) is LOW
    added = limit("PT-100", "disagreement", "setpoint = 3", "medium")
    assert stale("PT-109", text + added, load) is MEDIUM
