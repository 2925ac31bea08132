r"""Tests for drivers.instruments.polling.

Source: hand-worked here. Times are in ms of data time from the start.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.errors import PortLostError
from drivers.instruments.polled_settings import SerialPolledSettings
from drivers.instruments.polling import PolledCore
from drivers.reading import Block
from tests.peers import MemorySink

MS = 1_000_000
T_ASK = {"send": "T?\n", "fields": ["t"]}
P_ASK = {"send": "P?\n", "fields": ["p", "q"]}


def core(speed: float = 1.0, **given_settings: object) -> PolledCore:
    """Make a core with a period of 1000 ms and 100 ms for a reply, started at 0."""
    entry = {
        "port": "/dev/none",
        "requests": [T_ASK],
        "period_s": 1.0,
        "reply_timeout_s": 0.1,
        **given_settings,
    }
    made = PolledCore("panel", msgspec.convert(entry, SerialPolledSettings), speed)
    made.restart(0, MemorySink())
    return made


@dataclass
class Wire:
    """Drives a core with a virtual clock and an instrument that answers when it likes.

    Attributes:
        delays: By number of the request from 0: how late its reply is in ms, None for never.
        sent: Time in ms and text of each request.
    """

    core: PolledCore
    sink: MemorySink
    delays: dict[int, int | None] = field(default_factory=dict)
    delay_ms: int = 10
    sent: list[tuple[int, bytes]] = field(default_factory=list)
    under_way: list[tuple[int, bytes]] = field(default_factory=list)

    def run(self, until_ms: int) -> None:
        """Go on to a time, in steps of 1 ms. The reply to request n is n."""
        now = self.sent[-1][0] if self.sent else 0
        for now_ms in range(now, until_ms):
            for reply in [row for row in self.under_way if row[0] == now_ms]:
                self.under_way.remove(reply)
                for block in self.core.feed(reply[1], now_ms * MS, self.sink):
                    self.sink.take(block)
            while self.core.due_ns <= now_ms * MS:
                request = self.core.next_request(now_ms * MS, self.sink)
                if request is not None:
                    self._answer(request, now_ms)

    def _answer(self, request: bytes, now_ms: int) -> None:
        number = len(self.sent)
        delay = self.delays.get(number, self.delay_ms)
        text = f"{number}\n" if request == b"T?\n" else f"{number},{number + 0.5}\n"
        self.sent.append((now_ms, request))
        if delay is not None:
            self.under_way.append((now_ms + delay, text.encode()))

    def got(self) -> list[tuple[int, float]]:
        """Give time in ms and first number of each row."""
        return [
            (int(block.t_ns[0]) // MS, float(block.values[0, 0])) for block in self.sink.blocks
        ]


def ask(made: PolledCore, at_ms: int, sink: MemorySink) -> bytes | None:
    """Ask for the next request at a time."""
    return made.next_request(at_ms * MS, sink)


def reply(made: PolledCore, data: bytes, at_ms: int, sink: MemorySink) -> list[Block]:
    """Let bytes arrive at a time."""
    return made.feed(data, at_ms * MS, sink)


def test_the_first_request_is_due_at_once_and_the_next_a_period_later(sink: MemorySink) -> None:
    made = core()

    assert ask(made, 0, sink) == b"T?\n"
    (block,) = reply(made, b"21.5\r\n", 7, sink)

    assert (block.instrument, block.signals) == ("panel", ("t",))
    assert (block.t_ns.tolist(), block.values.tolist()) == ([7 * MS], [[21.5]])
    assert block.t_ns.dtype == np.int64
    assert made.due_ns == 1000 * MS
    assert sink.counts == {}


def test_before_it_is_due_there_is_no_request(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)
    reply(made, b"1\n", 5, sink)

    assert ask(made, 999, sink) is None
    assert ask(made, 1000, sink) == b"T?\n"


def test_requests_of_one_poll_follow_each_other_at_once(sink: MemorySink) -> None:
    made = core(requests=[T_ASK, P_ASK])
    ask(made, 0, sink)
    reply(made, b"1\n", 5, sink)

    assert made.due_ns == 5 * MS
    assert ask(made, 5, sink) == b"P?\n"
    (block,) = reply(made, b"2,3\n", 9, sink)

    assert (block.signals, block.values.tolist()) == (("p", "q"), [[2.0, 3.0]])
    assert made.due_ns == 1000 * MS


def test_polls_keep_to_their_times_however_long_replies_take(sink: MemorySink) -> None:
    wire = Wire(core(), sink, delay_ms=37)

    wire.run(4000)

    assert [row[0] for row in wire.sent] == [0, 1000, 2000, 3000]


def test_polls_that_take_longer_than_a_period_are_skipped_and_counted(sink: MemorySink) -> None:
    wire = Wire(core(period_s=0.05), sink, delay_ms=80)

    wire.run(299)

    assert [row[0] for row in wire.sent] == [0, 100, 200]
    assert sink.counts == {"polls skipped, the one before took too long": 3}


def test_a_reply_in_pieces_is_put_together(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)

    assert reply(made, b"21", 5, sink) == []
    (block,) = reply(made, b".5\n", 9, sink)

    assert (block.t_ns.tolist(), block.values.tolist()) == ([9 * MS], [[21.5]])


def test_a_reply_that_does_not_come_is_asked_for_again_and_counted(sink: MemorySink) -> None:
    wire = Wire(core(), sink, delays={0: None})

    wire.run(1000)

    # Sent at 0, given up at 100, silence until 200. The reply to the second one at 210 only
    # shows that all is in step, silence until 310. The third one counts.
    assert [row[0] for row in wire.sent] == [0, 200, 310]
    assert wire.got() == [(320, 2.0)]
    assert sink.counts == {
        "no reply in time": 1,
        "request repeated": 1,
        "reply not believed, replies were out of step": 1,
    }


def test_after_all_retries_the_next_poll_comes_at_its_time(sink: MemorySink) -> None:
    wire = Wire(core(retries=0), sink, delays={0: None})

    wire.run(2000)

    assert [row[0] for row in wire.sent] == [0, 1000, 1110]
    assert wire.got() == [(1120, 2.0)]
    assert sink.counts["request without good reply"] == 1


@pytest.mark.parametrize("late_ms", [101, 130, 199])
def test_a_late_reply_is_dropped_while_the_line_is_left_alone(
    sink: MemorySink, late_ms: int
) -> None:
    wire = Wire(core(), sink, delays={0: late_ms})

    wire.run(1000)

    assert sink.counts["late reply"] == 1
    assert 0.0 not in [row[1] for row in wire.got()]


@pytest.mark.parametrize("late_ms", [201, 205, 209, 250, 290])
def test_a_reply_so_late_that_the_next_request_was_sent_is_not_its_reply(
    sink: MemorySink, late_ms: int
) -> None:
    wire = Wire(core(requests=[T_ASK, {**T_ASK, "fields": ["u"]}], retries=0), sink)
    wire.delays = {0: late_ms}

    wire.run(3000)

    assert 0.0 not in [row[1] for row in wire.got()]
    # Every reply that was believed answers the request it was taken for: first and second
    # alternate, and each row holds the number of a request with its own signal.
    for block in sink.blocks:
        number = int(block.values[0, 0])
        at_ms = wire.sent[number][0]
        assert 0 < int(block.t_ns[0]) // MS - at_ms <= 100


@given(delays=st.lists(st.none() | st.integers(1, 199), min_size=1, max_size=12))
def test_no_reply_is_ever_taken_for_that_to_another_request(delays: list[int | None]) -> None:
    # Late by less than a reply time: what the class promises to stand.
    sink = MemorySink()
    made = core(requests=[T_ASK, P_ASK], lost_after=1000)
    wire = Wire(made, sink, delays=dict(enumerate(delays)))

    wire.run(6000)

    for block in sink.blocks:
        number = int(block.values[0, 0])
        at_ms, request = wire.sent[number]
        arrived_ms = int(block.t_ns[0]) // MS
        assert block.signals == (("t",) if request == b"T?\n" else ("p", "q"))
        later = [row[0] for row in wire.sent if at_ms < row[0] < arrived_ms]
        assert later == []
    assert wire.got(), "after the disturbance values come again"


def test_two_lines_for_one_request_are_both_dropped(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)

    assert reply(made, b"1\n2\n", 5, sink) == []
    assert sink.counts["more lines than one reply"] == 2
    assert made.due_ns == 105 * MS


def test_a_line_nobody_asked_for_makes_the_next_reply_doubtful(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)
    reply(made, b"1\n", 5, sink)

    assert reply(made, b"99\n", 500, sink) == []
    ask(made, 1000, sink)
    assert reply(made, b"2\n", 1005, sink) == []
    assert ask(made, 1105, sink) == b"T?\n"
    (block,) = reply(made, b"3\n", 1110, sink)

    assert block.values.tolist() == [[3.0]]
    assert sink.counts["reply nobody asked for"] == 1


def test_a_second_line_while_in_doubt_prolongs_the_silence(sink: MemorySink) -> None:
    made = core(retries=5)
    ask(made, 0, sink)
    ask(made, 100, sink)
    assert ask(made, 200, sink) == b"T?\n"
    reply(made, b"1\n", 210, sink)

    assert reply(made, b"2\n", 220, sink) == []
    assert made.due_ns == 320 * MS
    assert sink.counts["late reply"] == 1


def test_an_instrument_that_keeps_talking_is_asked_again_all_the_same(sink: MemorySink) -> None:
    made = core(retries=5)
    ask(made, 0, sink)
    ask(made, 100, sink)
    for at_ms in range(110, 700, 50):
        reply(made, b"1\n", at_ms, sink)

    # Silence would begin anew each time; five reply times after the failure it is enough.
    assert made.due_ns == 600 * MS


def test_a_bad_reply_is_counted_by_reason_and_asked_for_again(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)

    assert reply(made, b"\xff\xfe\n", 5, sink) == []
    assert sink.counts == {"garbled line": 1, "request repeated": 1}
    assert ask(made, 105, sink) == b"T?\n"


def test_the_echo_of_a_half_duplex_line_is_no_reply(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)

    (block,) = reply(made, b"T?\r\n21.5\r\n", 5, sink)

    assert block.values.tolist() == [[21.5]]
    assert sink.counts == {"echo of the request": 1}


def test_blank_lines_around_a_reply_do_no_harm(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)

    (block,) = reply(made, b"\r\n21.5\r\n\r\n", 5, sink)

    assert block.values.tolist() == [[21.5]]


def test_a_line_with_another_beginning_is_not_the_reply(sink: MemorySink) -> None:
    made = core(requests=[{**T_ASK, "prefix": "T="}, {**P_ASK, "prefix": "P="}])
    ask(made, 0, sink)

    assert reply(made, b"P=1,2\n", 5, sink) == []
    (block,) = reply(made, b"T=3\n", 9, sink)

    assert block.values.tolist() == [[3.0]]
    assert sink.counts == {"line with another beginning": 1}


def test_the_prefix_is_found_behind_the_mark_of_a_checksum(sink: MemorySink) -> None:
    # T=5: 0x54 ^ 0x3d ^ 0x35 = 0x5c.
    made = core(checksum="xor", prefix="T=")
    ask(made, 0, sink)

    (block,) = reply(made, b"$T=5*5C\r\n", 5, sink)

    assert block.values.tolist() == [[5.0]]


def test_a_reply_that_is_too_long_is_counted(sink: MemorySink) -> None:
    made = core(max_len=5)
    ask(made, 0, sink)

    assert reply(made, b"1.23456\n", 5, sink) == []
    assert sink.counts == {"line too long": 1, "bytes dropped, no whole line": 8}


def test_half_a_reply_is_forgotten_before_the_next_request(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)
    reply(made, b"12", 5, sink)
    ask(made, 100, sink)
    ask(made, 200, sink)

    reply(made, b"34\n", 205, sink)
    ask(made, 305, sink)
    (block,) = reply(made, b"56\n", 310, sink)

    assert block.values.tolist() == [[56.0]]
    assert sink.counts["half a line"] == 1


def test_an_instrument_that_never_answers_is_a_lost_link(sink: MemorySink) -> None:
    wire = Wire(core(lost_after=2), sink, delay_ms=5000)

    with pytest.raises(PortLostError, match=r"no good reply on /dev/none to 2") as lost:
        wire.run(10_000)

    assert [row[0] for row in wire.sent] == [0, 200, 1000, 1200]
    assert "reply_timeout_s" in lost.value.cure


def test_good_replies_in_between_keep_the_link(sink: MemorySink) -> None:
    # Alternately no reply with both tries, then all that it takes to be in step again.
    wire = Wire(core(lost_after=2), sink, delays={0: None, 1: None, 4: None, 5: None})

    wire.run(4000)

    assert len(wire.got()) == 2
    assert sink.counts["request without good reply"] == 2


def test_after_a_restart_nothing_is_awaited(sink: MemorySink) -> None:
    made = core()
    ask(made, 0, sink)
    made.restart(50 * MS, sink)

    assert made.due_ns == 50 * MS
    assert ask(made, 50, sink) == b"T?\n"
    (block,) = reply(made, b"1\n", 60, sink)

    assert block.values.tolist() == [[1.0]]


def test_stamps_rise_even_when_the_clock_stands_still(sink: MemorySink) -> None:
    made = core(requests=[T_ASK, P_ASK])
    ask(made, 0, sink)
    (first,) = reply(made, b"1\n", 0, sink)
    ask(made, 0, sink)
    (second,) = reply(made, b"1,2\n", 0, sink)

    assert (first.t_ns.tolist(), second.t_ns.tolist()) == ([0], [1])


def test_with_time_running_faster_a_reply_may_take_longer_in_data_time(
    sink: MemorySink,
) -> None:
    made = core(speed=20.0)
    ask(made, 0, sink)

    assert made.due_ns == 2000 * MS
