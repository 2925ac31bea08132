"""Tests for monitor.rehearse.json_view.

Source: hand-worked here.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from monitor.rehearse.json_view import json_text
from monitor.rehearse.together import Rehearsal, rehearse_all

S = 1_000_000_000


@pytest.fixture
def found(bench: Any, new_stand: Any) -> Rehearsal:
    """Rehearse a run with a lower setpoint."""
    bench.ramp([1, 9.5, 9.5, 12, 12, 1])
    bench.close()
    path: Path = new_stand(("setpoint = 10", "setpoint = 9"))
    return rehearse_all([bench.folder], path, "PT-1.high")


def test_each_alarm_is_given_under_both_stands(found: Rehearsal) -> None:
    data = json.loads(json_text(found))
    (run,) = data["runs"]
    (limit,) = (row for row in run["limits"] if row["limit"] == "PT-1.high")

    assert run["differs"] is True
    assert (limit["in"], limit["earlier"], limit["gained"]) == ("both", 1, 0)
    assert limit["changes"] == ["setpoint 10 → 9"]
    (alarm,) = limit["alarms"]
    assert (alarm["change"], alarm["shift_ns"]) == ("earlier", -2 * S)
    assert alarm["new"]["raised_ns"] - run["started_ns"] == 2_200_000_000
    assert alarm["new"]["cleared_ns"] is not None
    assert alarm["new"]["shown_ns"] == alarm["new"]["raised_ns"]


def test_an_alarm_that_is_not_there_or_not_over_is_null(found: Rehearsal) -> None:
    (outcome,) = found.outcomes
    row = next(row for row in outcome.limits if row.differs)
    (one,) = row.differences
    assert one.new is not None
    standing = replace(one, old=None, new=replace(one.new, is_over=False))
    lost = replace(outcome, limits=(replace(row, differences=(standing,)),))

    data = json.loads(json_text(replace(found, outcomes=(lost,), suggestion=None)))

    (alarm,) = data["runs"][0]["limits"][0]["alarms"]
    assert alarm["old"] is None
    assert alarm["new"]["cleared_ns"] is None
    assert "suggestion" not in data


def test_the_suggestion_gives_every_choice(found: Rehearsal) -> None:
    suggestion = json.loads(json_text(found))["suggestion"]
    assert found.suggestion is not None

    assert suggestion["limit"] == "PT-1.high"
    assert len(suggestion["choices"]) == len(found.suggestion.verdicts)
    assert [one["is_present"] for one in suggestion["choices"]].count(True) == 1
    assert [one["is_proposed"] for one in suggestion["choices"]].count(True) == 1
    assert suggestion["choices"][0]["deadband"] == 1.0
    assert suggestion["period_ns"] == S // 5


def test_a_scatter_that_is_not_known_is_null(found: Rehearsal) -> None:
    assert found.suggestion is not None
    noise = {
        place: replace(one, sigma=float("nan")) for place, one in found.suggestion.noise.items()
    }
    unknown = replace(found, suggestion=replace(found.suggestion, noise=noise))

    (place,) = json.loads(json_text(unknown))["suggestion"]["noise"].values()

    assert place["sigma"] is None
