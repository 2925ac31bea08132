"""Tests for monitor.limits.edits.

Source: Hand-worked here: the first value that an edit may have, and the last that it may not.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from monitor.limits.edits import contradiction
from monitor.limits.plan import Kind, Limit, Place

LIMIT = Limit("PT-1", 0, Kind.HIGH, 150.0, deadband=4.0)


def refusal_of(kind: Kind, **changes: float) -> str:
    """Say why an edit of a limit of *kind* is refused; empty when it is not."""
    return contradiction(replace(LIMIT, kind=kind), changes, (), [Place("ground")])


@pytest.mark.parametrize(
    ("kind", "refused", "allowed"),
    [
        (Kind.RATE_OF_FALL, {"setpoint": 0.0}, {"setpoint": -0.001}),
        (Kind.RATE_OF_RISE, {"setpoint": 0.0}, {"setpoint": 0.001}),
        (Kind.BUDGET, {"setpoint": -0.001}, {"setpoint": 0.0}),
        (Kind.DEVIATION, {"deadband": 150.0}, {"deadband": 149.999}),
    ],
)
def test_an_edit_is_refused_up_to_its_bound(
    kind: Kind, refused: dict[str, float], allowed: dict[str, float]
) -> None:
    assert refusal_of(kind, **refused) != ""
    assert refusal_of(kind, **allowed) == ""
