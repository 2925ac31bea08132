"""Tests for drivers.instruments.line_settings.

Source: hand-worked here. What the checks refuse is tested with the instruments that have them.
"""

from __future__ import annotations

import pytest

from drivers.instruments.line_settings import LineSettings, line_reader
from tests.peers import MemorySink


@pytest.mark.parametrize(
    ("prefix", "tells"), [("", False), ("$T", True), ("T=", True), ("1", False), ("-", False)]
)
def test_only_a_prefix_that_is_no_number_tells_whole_lines(prefix: str, tells: bool) -> None:
    assert LineSettings(port="p", prefix=prefix).tells_whole_lines == tells


def test_an_exclusive_or_does_not_tell_whole_lines() -> None:
    assert not LineSettings(port="p", checksum="xor").tells_whole_lines


def test_a_reader_gives_the_length_of_each_line(sink: MemorySink) -> None:
    reader = line_reader(LineSettings(port="p"), ("a",))

    rows, sizes = reader.read([b"1", b"xx", b"333"], sink)

    assert rows.values.tolist() == [[1], [333]]
    assert rows.line_of is not None
    assert sizes[rows.line_of].tolist() == [1, 3]


def test_the_prefix_is_looked_for_after_the_mark_of_a_checksum(sink: MemorySink) -> None:
    # T=5: 0x54 ^ 0x3d ^ 0x35 = 0x5c.
    reader = line_reader(LineSettings(port="p", checksum="xor", prefix="T="), ("a",))

    rows, _ = reader.read([b"$T=5*5C\r"], sink)

    assert rows.values.tolist() == [[5]]
    assert sink.counts == {}


def test_a_prefix_of_its_own_goes_before_that_of_the_settings(sink: MemorySink) -> None:
    reader = line_reader(LineSettings(port="p", prefix="A"), ("a",), "B")

    assert reader.read([b"B5"], sink)[0].values.tolist() == [[5]]
