"""Tests for drivers.transports.byte_queue.

Source: hand-worked here.
"""

from __future__ import annotations

from drivers.transports.byte_queue import ByteQueue, Chunk


def test_chunks_come_out_as_they_went_in() -> None:
    queue = ByteQueue()
    queue.put(b"a", 1)
    queue.put(b"bc", 2)

    assert queue.take_all() == [Chunk(b"a", 1), Chunk(b"bc", 2)]
    assert queue.take_all() == []


def test_only_the_first_chunk_wakes_the_reader() -> None:
    queue = ByteQueue()

    assert [queue.put(b"a", 1), queue.put(b"b", 2)] == [True, False]
    queue.take_all()
    assert queue.put(b"c", 3)


def test_the_oldest_bytes_go_when_there_are_too_many_and_the_gap_is_told() -> None:
    queue = ByteQueue(most_bytes=5)
    for place, data in enumerate([b"ab", b"cd", b"ef", b"g"]):
        queue.put(data, place)

    assert queue.take_all() == [Chunk(b"cd", 1, lost_before=2), Chunk(b"ef", 2), Chunk(b"g", 3)]


def test_the_gap_is_told_once() -> None:
    queue = ByteQueue(most_bytes=1)
    queue.put(b"a", 1)
    queue.put(b"b", 2)

    assert queue.take_all() == [Chunk(b"b", 2, lost_before=1)]
    queue.put(b"c", 3)
    assert queue.take_all() == [Chunk(b"c", 3)]


def test_the_oldest_chunks_go_when_there_are_too_many() -> None:
    queue = ByteQueue(most_chunks=2)
    for place in range(5):
        queue.put(b"ab", place)

    assert queue.take_all() == [Chunk(b"ab", 3, lost_before=6), Chunk(b"ab", 4)]


def test_a_single_chunk_of_any_size_is_kept() -> None:
    queue = ByteQueue(most_bytes=1)
    queue.put(b"abc", 1)

    assert queue.take_all() == [Chunk(b"abc", 1)]


def test_bytes_taken_make_room() -> None:
    queue = ByteQueue(most_bytes=3)
    queue.put(b"abc", 1)
    queue.take_all()
    queue.put(b"de", 2)
    queue.put(b"f", 3)

    assert queue.take_all() == [Chunk(b"de", 2), Chunk(b"f", 3)]
