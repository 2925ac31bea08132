"""Tests for monitor.stand.schema_phases.

Source: the keys and defaults of the stand file, stated here by hand.
"""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from monitor.alarms.plan import Priority
from monitor.stand.schema import LONGEST_S
from monitor.stand.schema_phases import (
    AbortTable,
    CombinationTable,
    EnterTable,
    ModeTable,
    PhaseTable,
    WhenTable,
)

WHEN = {"when": "a", "inputs": {"a": "PT-101.low"}}


def test_a_phase_needs_no_more_than_its_name() -> None:
    phase = msgspec.convert({"name": "hold"}, PhaseTable)

    assert (phase.sort, phase.planned_s, phase.longest_s, phase.quiet, phase.enter) == (
        "test",
        None,
        None,
        False,
        None,
    )


def test_an_entry_is_read_with_its_conditions() -> None:
    table = {"after": ["climb"], "when": [{"tag": "PT-101", "below": 5, "for_s": 10}]}

    assert msgspec.convert(table, EnterTable) == EnterTable(
        ["climb"], [WhenTable("PT-101", below=5.0, for_s=10.0)]
    )


def test_a_condition_has_no_delay_and_no_deadband_by_itself() -> None:
    when = msgspec.convert({"tag": "PT-101"}, WhenTable)

    assert (when.above, when.below, when.for_s, when.deadband) == (None, None, 0, 0)


def test_a_criterion_is_of_top_priority_and_latches_by_itself() -> None:
    abort = msgspec.convert(WHEN | {"safe_state": "shut"}, AbortTable)

    assert (abort.priority, abort.latch) == (Priority.TOP, True)


def test_a_combination_does_not_latch_by_itself() -> None:
    assert not msgspec.convert(WHEN | {"priority": "low"}, CombinationTable).latch


@pytest.mark.parametrize(
    ("kind", "table"),
    [
        (PhaseTable, {"name": ""}),
        (PhaseTable, {"name": "hold", "planned_s": 0}),
        (PhaseTable, {"name": "hold", "longest_s": LONGEST_S + 1}),
        (PhaseTable, {"name": "hold", "sort": "pause"}),
        (PhaseTable, {"name": "hold", "alarm": {"on_delay_s": 5}}),
        (PhaseTable, {"name": "hold", "enter": {"when": []}}),
        (PhaseTable, {"name": "hold", "enter": {"after": []}}),
        (ModeTable, {"name": "loop", "quiet": True}),
        (WhenTable, {"above": 5}),
        (WhenTable, {"tag": "PT-101", "deadband": -1}),
        (CombinationTable, WHEN),
        (CombinationTable, {"priority": "low", "when": "a"}),
        (CombinationTable, {"priority": "low", "inputs": {}}),
        (CombinationTable, WHEN | {"priority": "low", "safe_state": "shut"}),
        (AbortTable, WHEN),
        (AbortTable, WHEN | {"safe_state": ""}),
    ],
)
def test_what_is_missing_or_out_of_place_is_refused(
    kind: type[msgspec.Struct], table: dict[str, Any]
) -> None:
    with pytest.raises(msgspec.ValidationError):
        msgspec.convert(table, kind)
