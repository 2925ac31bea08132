"""Tests for drivers.instruments.line_settings.

Source: hand-worked here.
"""

from __future__ import annotations

from typing import Any

import pytest

from drivers.errors import SettingsError
from drivers.instruments.line_settings import LineSettings, check_lines, line_reader
from tests.peers import MemorySink


@pytest.mark.parametrize(
    ("prefix", "tells"), [("", False), ("$T", True), ("T=", True), ("1", False), ("-", False)]
)
def test_only_a_prefix_that_is_no_number_tells_whole_lines(prefix: str, tells: bool) -> None:
    assert LineSettings(port="p", prefix=prefix).tells_whole_lines == tells


@pytest.mark.parametrize(
    "given",
    [{}, {"delimiter": "\r\n"}, {"delimiter": "\r"}, {"separator": " "}, {"max_len": 1}],
)
def test_good_settings_pass(given: dict[str, Any]) -> None:
    made = LineSettings(port="p", **given)

    check_lines(made, ["", "a"], "fields")

    assert made.delimiter in ("\n", "\r\n", "\r")


@pytest.mark.parametrize(
    ("given", "key", "problem"),
    [
        ({"port": ""}, "port", "is empty"),
        ({"delimiter": ";"}, "delimiter", r"';' is none of '\\n', '\\r\\n', '\\r'"),
        ({"separator": ""}, "separator", "is empty"),
        ({"separator": "."}, "separator", "part of a number"),
        ({"separator": "7"}, "separator", "part of a number"),
        ({"separator": "\n"}, "separator", "without line ends"),
        ({"prefix": "\xb0"}, "prefix", "must be ASCII"),
        ({"max_len": 0}, "max_len", "is not from 1 to"),
        ({"max_len": 1_000_001}, "max_len", "is not from 1 to"),
    ],
)
def test_settings_that_make_no_sense_are_refused(
    given: dict[str, Any], key: str, problem: str
) -> None:
    with pytest.raises(SettingsError, match=problem) as refused:
        check_lines(LineSettings(**{"port": "p", **given}), ["a"], "fields")

    assert refused.value.key == key


def test_fields_are_refused_under_the_key_where_they_stand() -> None:
    with pytest.raises(SettingsError, match="names no signal") as refused:
        check_lines(LineSettings(port="p"), [""], "requests[1].fields")

    assert refused.value.key == "requests[1].fields"


def test_what_is_not_good_is_counted_with_the_newest_example(sink: MemorySink) -> None:
    reader = line_reader(LineSettings(port="p", checksum="xor"), ("a",))

    # 5 is 0x35, x is 0x78.
    rows, sizes = reader.read([b"5*35", b"x*78", b"5*36", b"5*37"], sink)

    assert rows.values.tolist() == [[5]]
    assert len(sizes) == 2
    assert sink.counts == {"checksum wrong": 2, "line without number": 1}
    assert sink.examples == {"checksum wrong": "5*37", "line without number": "x"}


def test_when_no_checksum_is_right_there_is_nothing_to_read(sink: MemorySink) -> None:
    reader = line_reader(LineSettings(port="p", checksum="xor"), ("a",))

    rows, sizes = reader.read([b"5*36"], sink)

    assert (len(rows.values), len(sizes)) == (0, 0)


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
