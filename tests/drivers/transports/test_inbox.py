"""Tests for drivers.transports.inbox.

Source: hand-worked here.
"""

from __future__ import annotations

from drivers.transports.inbox import Arrived, Batch, Inbox


def message(payload: bytes, t_ns: int = 0) -> Arrived:
    """Make a message."""
    return Arrived("a/b", payload, is_retained=False, t_ns=t_ns)


def test_messages_come_out_as_they_went_in() -> None:
    inbox = Inbox()
    inbox.put(message(b"1", 1))
    inbox.put(message(b"2", 2))

    assert inbox.take_all() == Batch([message(b"1", 1), message(b"2", 2)])
    assert inbox.take_all() == Batch([])


def test_the_oldest_messages_go_when_there_are_too_many_and_are_counted() -> None:
    inbox = Inbox(most_messages=2)
    for place in range(5):
        inbox.put(message(b"x", place))

    assert inbox.take_all() == Batch([message(b"x", 3), message(b"x", 4)], dropped=3)
    assert inbox.take_all().dropped == 0


def test_the_oldest_messages_go_when_they_are_too_large_together() -> None:
    inbox = Inbox(most_bytes=5)
    for payload in (b"aa", b"bb", b"cc"):
        inbox.put(message(payload))

    assert inbox.take_all() == Batch([message(b"bb"), message(b"cc")], dropped=1)


def test_a_single_message_of_any_size_is_kept() -> None:
    inbox = Inbox(most_bytes=1)
    inbox.put(message(b"ab"))
    inbox.put(message(b"abc"))

    assert inbox.take_all() == Batch([message(b"abc")], dropped=1)


def test_messages_taken_make_room() -> None:
    inbox = Inbox(most_bytes=3)
    inbox.put(message(b"abc"))
    inbox.take_all()
    inbox.put(message(b"de"))
    inbox.put(message(b"f"))

    assert inbox.take_all() == Batch([message(b"de"), message(b"f")])
