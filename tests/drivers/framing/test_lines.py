r"""Tests for drivers.framing.lines.

Source: hand-worked here; the rule that every byte is accounted for is the framer's own promise.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.framing.lines import DELIMITERS, LineFramer

# Two letters and both line-end characters: short streams hit every edge of the framer, which
# random bytes hardly ever do.
STREAMS = st.lists(st.sampled_from([b"a", b"b", b"\r", b"\n", b"\r\n", b"abc"]), max_size=40)
PIECES = st.lists(st.integers(0, 5), max_size=30)


def cut(data: bytes, sizes: list[int]) -> list[bytes]:
    """Cut data into pieces of these sizes, the rest last."""
    pieces = []
    for size in sizes:
        pieces.append(data[:size])
        data = data[size:]
    return [*pieces, data]


def counters(framer: LineFramer) -> tuple[int, int, int, int]:
    """Give all that a framer counts."""
    return (framer.dropped_bytes, framer.long_lines, framer.cut_lines, framer.pending_bytes)


@pytest.mark.parametrize("delimiter", DELIMITERS)
def test_gives_whole_lines_and_keeps_the_rest(delimiter: str) -> None:
    end = delimiter.encode()
    framer = LineFramer(end, 10)

    lines = framer.feed(b"1,2" + end + b"" + end + b"3")

    assert lines == [b"1,2", b""]
    assert framer.pending_bytes == 1


def test_a_line_end_may_come_in_two_pieces() -> None:
    framer = LineFramer(b"\r\n", 10)

    assert framer.feed(b"12\r") == []
    assert framer.feed(b"\n34\r\n") == [b"12", b"34"]


def test_with_newline_a_carriage_return_stays_in_the_line() -> None:
    assert LineFramer(b"\n", 10).feed(b"12\r\n") == [b"12\r"]


def test_a_line_of_the_longest_length_is_kept_and_a_longer_one_not() -> None:
    framer = LineFramer(b"\r\n", 4)

    lines = framer.feed(b"1234\r\n12345\r\n12\r\n")

    assert lines == [b"1234", b"12"]
    assert (framer.long_lines, framer.dropped_bytes) == (1, 7)


@pytest.mark.parametrize("length", range(1, 12))
@pytest.mark.parametrize("delimiter", DELIMITERS)
def test_byte_by_byte_the_bound_is_the_same(delimiter: str, length: int) -> None:
    end = delimiter.encode()
    whole, single = LineFramer(end, 5), LineFramer(end, 5)
    data = b"x" * length + end + b"ok" + end

    lines = [line for byte in data for line in single.feed(bytes([byte]))]

    assert lines == whole.feed(data)
    assert (b"x" * length in lines) == (length <= 5)
    assert counters(single) == counters(whole)


def test_ten_megabytes_without_a_line_end_take_no_memory_and_are_counted_once() -> None:
    framer = LineFramer(b"\n", 1000)
    most = 0

    for _ in range(160):
        assert framer.feed(b"\x55" * 65536) == []
        most = max(most, framer.pending_bytes)

    assert most <= 1000
    assert framer.long_lines == 1
    assert framer.dropped_bytes + framer.pending_bytes == 160 * 65536
    assert framer.feed(b"tail\nnext\n") == [b"next"]


def test_the_tail_at_the_start_of_a_stream_is_no_line() -> None:
    framer = LineFramer(b"\n", 10, is_synced=False)

    lines = framer.feed(b"3.4\n123.4\n")

    assert lines == [b"123.4"]
    assert (framer.cut_lines, framer.dropped_bytes) == (1, 4)


def test_a_stream_that_starts_with_a_line_end_cut_nothing() -> None:
    framer = LineFramer(b"\n", 10, is_synced=False)

    lines = framer.feed(b"\n123.4\n")

    assert lines == [b"123.4"]
    assert framer.cut_lines == 0


def test_after_a_gap_two_halves_are_not_glued_together() -> None:
    framer = LineFramer(b"\n", 10)
    framer.feed(b"12")

    framer.resync(is_synced=False)
    lines = framer.feed(b"34\n56\n")

    assert lines == [b"56"]
    assert (framer.cut_lines, framer.dropped_bytes) == (2, 5)


def test_a_new_reply_begins_at_once_after_half_a_line_was_forgotten() -> None:
    framer = LineFramer(b"\n", 10)
    framer.feed(b"12")

    framer.resync(is_synced=True)

    assert framer.feed(b"34\n") == [b"34"]
    assert framer.cut_lines == 1


def test_a_gap_while_a_long_line_is_skipped_counts_no_second_line() -> None:
    framer = LineFramer(b"\n", 3)
    framer.feed(b"12345")

    framer.resync(is_synced=True)

    assert (framer.long_lines, framer.cut_lines) == (1, 0)
    assert framer.feed(b"67\n") == [b"67"]


@given(
    stream=STREAMS,
    sizes=PIECES,
    max_len=st.integers(1, 6),
    end=st.sampled_from([delimiter.encode() for delimiter in DELIMITERS]),
    is_synced=st.booleans(),
)
def test_how_the_stream_is_cut_makes_no_difference(
    stream: list[bytes], sizes: list[int], max_len: int, end: bytes, is_synced: bool
) -> None:
    data = b"".join(stream) + end
    whole = LineFramer(end, max_len, is_synced=is_synced)
    pieces = LineFramer(end, max_len, is_synced=is_synced)

    lines = [line for piece in cut(data, sizes) for line in pieces.feed(piece)]

    assert lines == whole.feed(data)
    assert counters(pieces) == counters(whole)


@given(
    stream=STREAMS,
    sizes=PIECES,
    gaps=st.sets(st.integers(0, 30), max_size=4),
    max_len=st.integers(1, 6),
    end=st.sampled_from([delimiter.encode() for delimiter in DELIMITERS]),
)
def test_every_byte_is_accounted_for(
    stream: list[bytes], sizes: list[int], gaps: set[int], max_len: int, end: bytes
) -> None:
    data = b"".join(stream)
    framer = LineFramer(end, max_len, is_synced=False)
    returned = 0

    for place, piece in enumerate(cut(data, sizes)):
        if place in gaps:
            framer.resync(is_synced=False)
        lines = framer.feed(piece)
        returned += sum(len(line) + len(end) for line in lines)
        assert framer.pending_bytes <= max_len + 1

    assert returned + framer.dropped_bytes + framer.pending_bytes == len(data)
