"""Tests for monitor.stand.schema.

Source: none; these are properties of the tables.
"""

from __future__ import annotations

import inspect

import msgspec
import pytest

from monitor.stand import schema
from monitor.stand.schema import (
    COMPUTED_KEYS,
    MEASURED_KEYS,
    AlarmTable,
    ChannelTable,
    LimitTable,
)

TABLES = [
    table
    for _, table in inspect.getmembers(schema, inspect.isclass)
    if issubclass(table, msgspec.Struct) and table.__module__ == schema.__name__
]


@pytest.mark.parametrize("table", TABLES)
def test_every_table_is_fixed_and_allows_no_other_keys(table: type[msgspec.Struct]) -> None:
    assert table.__struct_config__.frozen
    assert table.__struct_config__.forbid_unknown_fields


def test_keys_of_one_sort_of_channel_are_keys_of_a_channel() -> None:
    keys = set(ChannelTable.__struct_fields__)

    assert set(MEASURED_KEYS) < keys
    assert set(COMPUTED_KEYS) < keys
    assert not set(MEASURED_KEYS) & set(COMPUTED_KEYS)


def test_a_limit_has_all_that_an_alarm_has_and_needs_a_priority() -> None:
    required = {field.name for field in msgspec.structs.fields(LimitTable) if field.required}

    assert set(AlarmTable.__struct_fields__) < set(LimitTable.__struct_fields__)
    assert required == {"priority", "setpoint"}
