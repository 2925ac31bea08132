"""Tests for monitor.stand.schema.

Source: none; these are properties of the tables.
"""

from __future__ import annotations

import inspect

import msgspec
import pytest

from monitor.stand import schema
from monitor.stand.schema import SORT_KEYS, ChannelTable

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

    assert all(set(own) < keys for own in SORT_KEYS.values())
    assert all(sort in own for sort, own in SORT_KEYS.items())


def test_only_the_skew_belongs_to_two_sorts_of_channel() -> None:
    measured, computed, voted = (set(own) for own in SORT_KEYS.values())

    assert not measured & (computed | voted)
    assert computed & voted == {"largest_skew_s"}
