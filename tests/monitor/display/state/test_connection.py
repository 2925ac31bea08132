"""Tests for monitor.display.state.connection.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.display.state.connection import (
    SILENT_AFTER_NS,
    Connection,
    Freshness,
    Stage,
    freshness,
    is_recent,
    retry_s,
)

S = 1_000_000_000


def test_while_the_engine_is_heard_there_is_nothing_to_say() -> None:
    connection = Connection(Stage.CONNECTED, 0, 100 * S)

    assert freshness(connection, 100 * S + SILENT_AFTER_NS) == Freshness()


def test_an_open_connection_that_says_nothing_is_frozen() -> None:
    fresh = freshness(Connection(Stage.CONNECTED, 0, 100 * S), 104 * S)

    assert fresh.is_frozen
    assert fresh.headline == "WATCH SILENT for 4 s"
    assert fresh.age_ns == 4 * S


def test_a_lost_link_says_for_how_long_why_and_what_is_done_about_it() -> None:
    lost = Connection(Stage.LOST, 0, 100 * S, "host:1", "nothing listens there", 3)

    fresh = freshness(lost, 172 * S)

    assert fresh.is_frozen
    assert fresh.headline == "LINK TO THE WATCH LOST 1 min 12 s ago"
    assert fresh.detail == "Nothing listens there. Trying again, attempt 3."


def test_a_refusal_gives_the_engines_reason() -> None:
    fresh = freshness(Connection(Stage.REFUSED, 0, 0, "", "wrong token"), 5 * S)

    assert fresh == Freshness(True, 0, "WATCH REFUSES THIS DISPLAY", "Wrong token.")


def test_tries_come_quickly_at_first_and_never_stop() -> None:
    waits = [retry_s(attempts) for attempts in (0, 1, 2, 5, 10**6)]

    assert waits == [0.25, 0.5, 1.0, 5.0, 5.0]


@pytest.mark.parametrize(("now_s", "expected"), [(10, True), (11, False)])
def test_recent_includes_its_bound(now_s: int, expected: bool) -> None:
    assert is_recent(5 * S, (5 + now_s) * S, 10.0) is expected
