"""Tests for monitor.stand.schema_limits.

Source: none; these are properties of the tables.
"""

from __future__ import annotations

import inspect

import msgspec
import pytest

from monitor.limits.plan import COLUMNLESS_KINDS, QUALITY_KINDS, Kind
from monitor.stand import schema_limits
from monitor.stand.schema import AlarmBase
from monitor.stand.schema_limits import TABLES, LimitTable, WatchTable

STRUCTS = [
    table
    for _, table in inspect.getmembers(schema_limits, inspect.isclass)
    if issubclass(table, msgspec.Struct) and table.__module__ == schema_limits.__name__
]


@pytest.mark.parametrize("table", STRUCTS)
def test_every_table_is_fixed_and_allows_no_other_keys(table: type[msgspec.Struct]) -> None:
    assert table.__struct_config__.frozen
    assert table.__struct_config__.forbid_unknown_fields


def test_every_kind_that_a_channel_can_have_has_a_table() -> None:
    assert set(TABLES) == set(Kind) - COLUMNLESS_KINDS


def test_what_looks_at_values_needs_a_priority_and_has_all_that_an_alarm_has() -> None:
    for kind, table in TABLES.items():
        required = {field.name for field in msgspec.structs.fields(table) if field.required}

        assert set(AlarmBase.__struct_fields__) < set(table.__struct_fields__)
        assert issubclass(table, WatchTable) is (kind not in QUALITY_KINDS)
        assert ("priority" in required) is (kind not in QUALITY_KINDS)


def test_a_limit_on_the_value_needs_no_more_than_priority_and_setpoint() -> None:
    required = {field.name for field in msgspec.structs.fields(LimitTable) if field.required}

    assert required == {"priority", "setpoint"}


def test_whole_numbers_of_a_deadband_become_numbers_and_texts_stay() -> None:
    tables = [
        msgspec.convert({"priority": "low", "setpoint": 3, "deadband": written}, LimitTable)
        for written in (2, "2 %")
    ]

    assert [(type(one.deadband), one.deadband) for one in tables] == [
        (float, 2.0),
        (str, "2 %"),
    ]
