"""Tests for drivers.instruments.tallies.

Source: hand-worked here.
"""

from __future__ import annotations

from drivers.framing.lines import LineFramer
from drivers.instruments.tallies import Tally
from tests.peers import MemorySink


def test_what_the_framer_threw_away_is_counted_once(sink: MemorySink) -> None:
    framer = LineFramer(b"\n", 3, is_synced=False)
    tally = Tally(framer)

    framer.feed(b"half\n12345\n1\n")
    tally.report(sink)
    tally.report(sink)

    assert sink.counts == {
        "bytes dropped, no whole line": 11,
        "line too long": 1,
        "half a line": 1,
    }


def test_later_losses_are_added(sink: MemorySink) -> None:
    framer = LineFramer(b"\n", 3)
    tally = Tally(framer)
    framer.feed(b"12345\n")
    tally.report(sink)

    framer.feed(b"12345\n12345\n")
    tally.report(sink)

    assert sink.counts == {"bytes dropped, no whole line": 18, "line too long": 3}


def test_nothing_lost_is_nothing_counted(sink: MemorySink) -> None:
    framer = LineFramer(b"\n", 3)
    framer.feed(b"1\n")

    Tally(framer).report(sink)

    assert sink.counts == {}
