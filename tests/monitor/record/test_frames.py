"""Tests for monitor.record.frames.

Source: CRC-32C check value of "123456789" from RFC 3720, B.4 and the common CRC catalogues
(0xE3069283); the rest is hand-worked here.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

import google_crc32c
import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.record.frames import (
    MAGIC,
    OVERHEAD_BYTES,
    Damage,
    FrameKind,
    RawFrame,
    frame_bytes,
    head_of,
    run_seed,
    scan,
)

SEED = run_seed("run-2026-11-24T210000Z-gondola")
#: Payloads of a small alphabet that holds the magic's bytes: cuts and false starts are likely.
PAYLOADS = st.lists(st.sampled_from([MAGIC, MAGIC[:2], b"\0", b"ab", b""]), max_size=6).map(
    b"".join
)


def made(*payloads: bytes) -> list[bytes]:
    """Frame the payloads as packs 0, 1, 2 ..."""
    return [frame_bytes(FrameKind.PACK, seq, each, SEED) for seq, each in enumerate(payloads)]


def frames_in(data: bytes) -> list[tuple[int, bytes]]:
    """Give sequence and payload of each intact frame."""
    return [(p.seq, p.payload) for p in scan(data, SEED) if isinstance(p, RawFrame)]


def damages_in(data: bytes) -> list[Damage]:
    """Give what is no frame."""
    return [piece for piece in scan(data, SEED) if isinstance(piece, Damage)]


def spans(data: bytes) -> Iterator[tuple[int, int]]:
    """Give begin and end of each piece."""
    for piece in scan(data, SEED):
        length = (
            piece.length if isinstance(piece, Damage) else OVERHEAD_BYTES + len(piece.payload)
        )
        yield piece.offset, piece.offset + length


def test_the_checksum_is_crc_32c() -> None:
    assert google_crc32c.value(b"123456789") == 0xE3069283


def test_a_frame_is_laid_out_as_documented() -> None:
    got = frame_bytes(FrameKind.PACK, 7, b"pay", SEED)

    fields = struct.pack("<BII", 3, 7, 3)
    checksum = google_crc32c.extend(google_crc32c.extend(SEED, fields), b"pay")
    assert got == MAGIC + fields + struct.pack("<I", checksum) + b"pay"


@given(st.lists(PAYLOADS, max_size=5))
def test_intact_frames_come_back_in_order(payloads: list[bytes]) -> None:
    got = frames_in(b"".join(made(*payloads)))

    assert got == list(enumerate(payloads))


@given(st.lists(PAYLOADS, min_size=2, max_size=4), st.data())
def test_cut_anywhere_the_frames_before_the_cut_stay_and_nothing_else_comes(
    payloads: list[bytes], data: st.DataObject
) -> None:
    frames = made(*payloads)
    whole = b"".join(frames)
    cut = data.draw(st.integers(0, len(whole)))

    kept = [n for n in range(len(frames)) if len(b"".join(frames[: n + 1])) <= cut]
    assert frames_in(whole[:cut]) == [(n, payloads[n]) for n in kept]


@given(st.lists(PAYLOADS, min_size=1, max_size=4), st.data())
def test_every_byte_is_in_exactly_one_piece_whatever_bit_was_flipped(
    payloads: list[bytes], data: st.DataObject
) -> None:
    rotten = bytearray(b"".join(made(*payloads)))
    bit = data.draw(st.integers(0, len(rotten) * 8 - 1))
    rotten[bit // 8] ^= 1 << bit % 8

    ends = [0]
    for begin, end in spans(bytes(rotten)):
        assert begin == ends[-1]
        ends.append(end)
    assert ends[-1] == len(rotten)


@pytest.mark.parametrize("bit", range(8 * len(made(b"b" * 9)[0])))
def test_a_flipped_bit_costs_the_frame_it_is_in_and_no_other(bit: int) -> None:
    first, middle, last = made(b"aaaa", b"b" * 9, MAGIC + b"cc")
    rotten = bytearray(middle)
    rotten[bit // 8] ^= 1 << bit % 8

    data = first + bytes(rotten) + last

    assert frames_in(data) == [(0, b"aaaa"), (2, MAGIC + b"cc")]
    assert [(d.offset, d.length) for d in damages_in(data)] == [(len(first), len(middle))]


@pytest.mark.parametrize("zeros", range(1, 60))
def test_a_zeroed_tail_of_any_length_is_never_a_frame(zeros: int) -> None:
    frames = made(b"aaaa", b"b" * 20, b"c" * 20)
    whole = b"".join(frames)

    got = frames_in(whole[:-zeros] + bytes(zeros))

    assert got == [(0, b"aaaa"), (1, b"b" * 20)][: 1 + (zeros <= len(frames[2]))]


def test_a_torn_a_zeroed_and_a_garbled_end_are_told_apart() -> None:
    (frame,) = made(b"payload")

    whys = [
        [damage.why for damage in damages_in(frame + tail)]
        for tail in (frame[:-1], frame[:6], frame[:2], bytes(9), b"garbage", frame[:-1] + frame)
    ]

    torn = "a frame that was never finished, as a kill or a power cut leaves it"
    zeroed = "zeros where a frame should be, as a power cut leaves them"
    rotten = "bytes that are no intact frame"
    assert whys == [[torn], [torn], [torn], [zeroed], [rotten], [rotten]]


def test_a_frame_of_another_run_left_on_the_disk_is_damage() -> None:
    stray = frame_bytes(FrameKind.PACK, 1, b"old", run_seed("run-of-last-week"))

    got = list(scan(made(b"new")[0] + stray, SEED))

    assert [type(piece) for piece in got] == [RawFrame, Damage]


def test_a_head_counts_at_the_start_of_a_file_only() -> None:
    head = frame_bytes(FrameKind.HEAD, 0, b"head", 0)

    pieces = list(scan(head + head, SEED))

    assert [type(piece) for piece in pieces] == [RawFrame, Damage]
    assert head_of(head) == pieces[0]


def test_a_file_that_begins_otherwise_has_no_head() -> None:
    assert head_of(made(b"pack")[0]) is None
    assert head_of(b"") is None


def test_an_unknown_kind_is_damage_even_with_a_right_checksum() -> None:
    fields = struct.pack("<BII", 9, 0, 0)
    checksum = struct.pack("<I", google_crc32c.extend(google_crc32c.extend(SEED, fields), b""))

    assert frames_in(MAGIC + fields + checksum) == []


def test_a_payload_that_no_reader_would_take_is_not_written(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("monitor.record.frames.MAX_PAYLOAD_BYTES", 3)

    with pytest.raises(ValueError, match="a frame of 4 bytes; at most 3"):
        frame_bytes(FrameKind.PACK, 0, b"four", SEED)
