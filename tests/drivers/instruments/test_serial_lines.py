"""Tests for drivers.instruments.serial_lines.

Source: hand-worked here. Real ports are in test_serial_lines_on_ports.py.
"""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.errors import SettingsError
from drivers.instruments.serial_lines import (
    SerialLines,
    SerialLinesCore,
    SerialLinesSettings,
    check,
    signals,
)
from tests.peers import MemorySink

SECOND = 1_000_000_000
MS = 1_000_000


def settings(**given_settings: object) -> SerialLinesSettings:
    """Make settings for two signals, but for what is given."""
    entry = {"port": "/dev/none", "fields": ["a", "b"], **given_settings}
    return msgspec.convert(entry, SerialLinesSettings)


def core(**given_settings: object) -> SerialLinesCore:
    """Make a core that has seen its first line end."""
    made = SerialLinesCore("panel", settings(**given_settings))
    made.feed(b"\n", 0, MemorySink())
    return made


def test_a_line_becomes_a_block_with_the_time_of_its_arrival(sink: MemorySink) -> None:
    (block,) = core().feed(b"1.5,2\n", 7 * SECOND, sink)

    assert (block.instrument, block.signals) == ("panel", ("a", "b"))
    assert block.t_ns.tolist() == [7 * SECOND]
    assert block.t_ns.dtype == np.int64
    assert block.values.tolist() == [[1.5, 2.0]]
    assert (block.device_ns, block.is_old) == (None, False)
    assert sink.counts == {}


def test_half_a_line_gives_no_block_until_its_end_comes(sink: MemorySink) -> None:
    made = core()

    assert made.feed(b"1.5,", SECOND, sink) == []
    (block,) = made.feed(b"2\n", SECOND + 100 * MS, sink)

    assert block.values.tolist() == [[1.5, 2.0]]
    assert block.t_ns.tolist() == [SECOND + 100 * MS]


def test_the_tail_of_a_line_at_the_start_is_not_taken_for_a_number(sink: MemorySink) -> None:
    made = SerialLinesCore("panel", settings(fields=["a"]))

    blocks = made.feed(b"3.4\n123.4\n", SECOND, sink)

    assert [block.values.tolist() for block in blocks] == [[[123.4]]]
    assert sink.counts == {"half a line": 1, "bytes dropped, no whole line": 4}


def test_a_prefix_tells_the_first_line_from_a_tail(sink: MemorySink) -> None:
    made = SerialLinesCore("panel", settings(fields=["a"], prefix="P="))

    (block,) = made.feed(b"3.4\nP=5.5\n", SECOND, sink)

    assert block.values.tolist() == [[5.5]]
    assert sink.counts == {"line with another beginning": 1}


def test_a_prefix_that_could_be_part_of_a_number_tells_nothing(sink: MemorySink) -> None:
    made = SerialLinesCore("panel", settings(fields=["a"], prefix="1"))

    assert made.feed(b"123\n", SECOND, sink) == []


def test_half_a_line_that_was_left_lying_is_not_glued_to_the_next(sink: MemorySink) -> None:
    made = core(fields=["a"], half_line_s=1.0)
    made.feed(b"12", SECOND, sink)

    blocks = made.feed(b"34\n56\n", 3 * SECOND, sink)

    assert [block.values.tolist() for block in blocks] == [[[56.0]]]
    assert sink.counts["half a line"] == 2


def test_with_time_running_faster_a_line_may_take_longer_in_data_time(sink: MemorySink) -> None:
    made = SerialLinesCore("panel", settings(fields=["a"]), speed=20.0)
    made.feed(b"\n12", SECOND, sink)

    (block,) = made.feed(b"34\n", 3 * SECOND, sink)

    assert block.values.tolist() == [[1234.0]]


def test_a_gap_is_not_bridged(sink: MemorySink) -> None:
    made = core(fields=["a"])
    made.feed(b"12", SECOND, sink)

    made.restart(sink)

    assert sink.counts == {"half a line": 1, "bytes dropped, no whole line": 2}
    assert made.feed(b"34\n", SECOND, sink) == []
    assert sink.counts["half a line"] == 2


def test_lines_of_one_read_are_a_period_apart(sink: MemorySink) -> None:
    (block,) = core(period_s=0.1).feed(b"1,2\n3,4\n5,6\n", 10 * SECOND, sink)

    assert block.t_ns.tolist() == [9_800 * MS, 9_900 * MS, 10_000 * MS]


def test_without_a_period_lines_are_apart_by_their_bytes(sink: MemorySink) -> None:
    # 10000 bit/s and 10 bits a byte: 1 ms a byte. After the lines two bytes follow.
    (block,) = core(baud=10_000).feed(b"1,2\n3,40\n5,", 10 * SECOND, sink)

    assert block.t_ns.tolist() == [10 * SECOND - 7 * MS, 10 * SECOND - 2 * MS]


def test_at_twenty_times_the_speed_bytes_take_twenty_times_as_long(sink: MemorySink) -> None:
    made = SerialLinesCore("panel", settings(baud=10_000), speed=2.0)

    (block,) = made.feed(b"\n1,2\n3,4\n", 10 * SECOND, sink)

    assert block.t_ns.tolist() == [10 * SECOND - 8 * MS, 10 * SECOND]


def test_a_line_that_is_not_good_leaves_its_place_empty(sink: MemorySink) -> None:
    (block,) = core(baud=10_000).feed(b"1,2\nxxx\n3,4\n", 10 * SECOND, sink)

    assert block.t_ns.tolist() == [10 * SECOND - 8 * MS, 10 * SECOND]


def test_by_bytes_no_line_is_put_back_further_than_half_the_usual_lag(sink: MemorySink) -> None:
    (block,) = core(baud=100).feed(b"1,2\n3,4\n", 10 * SECOND, sink)

    assert block.t_ns.tolist() == [10 * SECOND - 50 * MS, 10 * SECOND]


def test_over_a_network_lines_of_one_read_are_nanoseconds_apart(sink: MemorySink) -> None:
    (block,) = core(port="socket://h:1").feed(b"1,2\n3,4\n", 10 * SECOND, sink)

    assert block.t_ns.tolist() == [10 * SECOND - 1, 10 * SECOND]


def test_stamps_rise_from_read_to_read(sink: MemorySink) -> None:
    made = core(period_s=1.0)
    made.feed(b"1,2\n", 10 * SECOND, sink)

    (block,) = made.feed(b"3,4\n5,6\n", 11 * SECOND, sink)

    # A second apart does not fit between 10 s, exclusive, and 11 s: half a second does.
    assert block.t_ns.tolist() == [10_500 * MS, 11_000 * MS]


@pytest.mark.parametrize(
    ("line", "what"),
    [
        (b"hello", "line without number"),
        (b"1,2,3", "wrong number of fields"),
        (b"nan,inf", "not a number"),
        (b"1e999,-1e999", "not a number"),
        (b"\xfa\x03\x91", "garbled line"),
        (b"\r", "blank line"),
        (b"x" * 2000, "line too long"),
    ],
)
def test_each_kind_of_bad_line_is_counted_and_gives_no_row(
    sink: MemorySink, line: bytes, what: str
) -> None:
    blocks = core().feed(line + b"\n1,2\n", SECOND, sink)

    assert [block.values.tolist() for block in blocks] == [[[1.0, 2.0]]]
    assert sink.counts[what] >= 1


def test_a_bad_line_is_kept_as_an_example(sink: MemorySink) -> None:
    core().feed(b"\xfa1\n", SECOND, sink)

    assert sink.examples["garbled line"] == "\\xfa1"


def test_a_wrong_checksum_is_counted(sink: MemorySink) -> None:
    # 0x31 ^ 0x2c ^ 0x32 = 0x2f.
    made = core(checksum="xor")

    (block,) = made.feed(b"$1,2*2F\r\n$1,3*2F\r\n", SECOND, sink)

    assert block.values.tolist() == [[1.0, 2.0]]
    assert sink.counts == {"checksum wrong": 1}
    assert sink.examples["checksum wrong"] == "$1,3*2F\\x0d"


def test_a_bunch_of_wrong_checksums_gives_no_block(sink: MemorySink) -> None:
    assert core(checksum="xor").feed(b"1,3*2F\n1,4*2F\n", SECOND, sink) == []
    assert sink.counts == {"checksum wrong": 2}


def test_a_flood_without_a_line_end_is_counted_and_forgotten(sink: MemorySink) -> None:
    made = core()

    for place in range(160):
        assert made.feed(b"\x55" * 65536, place * MS, sink) == []
    (block,) = made.feed(b"\n1,2\n", SECOND, sink)

    assert block.values.tolist() == [[1.0, 2.0]]
    assert sink.counts["bytes dropped, no whole line"] == 160 * 65536 + 1
    assert sink.counts["line too long"] == 1


@given(sizes=st.lists(st.integers(0, 9), max_size=30), baud=st.sampled_from([300, 9600, 10**6]))
def test_how_the_stream_is_cut_changes_no_value(sizes: list[int], baud: int) -> None:
    data = b"1,2\n-3.5,4e2\r\nnan,7\nhello\n1,2,3\n\xff,1\n" * 3
    whole, cut, rest = MemorySink(), MemorySink(), data
    made, t_ns = core(baud=baud), SECOND
    for size in sizes:
        for block in made.feed(rest[:size], t_ns, cut):
            cut.take(block)
        rest, t_ns = rest[size:], t_ns + MS
    for block in made.feed(rest, t_ns, cut):
        cut.take(block)
    for block in core(baud=baud).feed(data, SECOND, whole):
        whole.take(block)

    np.testing.assert_array_equal(cut.rows(), whole.rows())
    assert cut.counts == whole.counts
    stamps = np.concatenate([block.t_ns for block in cut.blocks])
    assert (np.diff(stamps) > 0).all()


def test_signals_are_the_fields_with_a_name() -> None:
    made = settings(fields=["", "a", "", "b"])

    assert signals(made) == SerialLines("panel", made).signals == ("a", "b")


@pytest.mark.parametrize(
    "given_settings",
    [{}, {"delimiter": "\r\n"}, {"separator": " "}, {"prefix": "$T", "checksum": "xor"}],
)
def test_good_settings_pass(given_settings: dict[str, object]) -> None:
    made = settings(**given_settings)

    check(made)

    assert made.max_len == 1024


@pytest.mark.parametrize(
    ("given_settings", "key", "problem"),
    [
        ({"port": ""}, "port", "is empty"),
        ({"fields": []}, "fields", "names no signal"),
        ({"fields": ["a", "a"]}, "fields", "stands twice"),
        ({"period_s": 3601}, "period_s", "is not from"),
        ({"period_s": -1}, "period_s", "is not from"),
        ({"half_line_s": 0}, "half_line_s", "is not from"),
    ],
)
def test_settings_that_make_no_sense_are_refused(
    given_settings: dict[str, object], key: str, problem: str
) -> None:
    with pytest.raises(SettingsError, match=problem) as refused:
        check(settings(**given_settings))

    assert refused.value.key == key


@pytest.mark.parametrize("wrong", [{"bauds": 9600}, {"baud": "fast"}, {"parity": "both"}])
def test_unknown_or_ill_typed_settings_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(msgspec.ValidationError):
        settings(**wrong)
