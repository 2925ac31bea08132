"""Tests for monitor.display.state.counters.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.connection import Connection, Freshness
from monitor.display.state.counters import CounterRow, counter_rows, link_rows
from monitor.display.state.severity import Severity
from tests.monitor.display.made import NOON, NS, link_state, model, recording

NOW = NOON + 75 * NS


def found(rows: tuple[CounterRow, ...], what: str) -> CounterRow:
    """Give the row with these words."""
    return next(row for row in rows if row.what == what)


def test_a_link_says_how_it_stands_since_when_and_what_to_do() -> None:
    (row,) = link_rows(model(links=[link_state(is_up=False)]), NOW, Freshness())

    assert (row.instrument, row.state, row.lasting) == ("panel", "DOWN", "1 min 15 s")
    assert (row.why, row.cure, row.readings) == ("unplugged", "Plug it in", "9")
    assert row.newest == "1 min 06 s ago"
    assert row.severity is Severity.BAD


def test_a_link_without_readings_yet_says_so() -> None:
    (row,) = link_rows(
        model(links=[link_state(last_reading_ns=0, since_ns=0)]), NOW, Freshness()
    )

    assert (row.newest, row.lasting, row.state) == ("none yet", "", "up")


def test_without_the_engine_links_are_of_the_past() -> None:
    (row,) = link_rows(model(), NOW, Freshness(True))

    assert row.severity is Severity.FROZEN


def test_links_stand_in_the_order_of_the_stand() -> None:
    links = [link_state(instrument="zzz"), link_state()]

    rows = link_rows(model(links=links), NOW, Freshness())

    assert [row.instrument for row in rows] == ["panel", "zzz"]


def test_each_thing_an_instrument_dropped_has_a_row_with_an_example() -> None:
    counts = {"line without number": 3, "half a line": 0}
    link = link_state(counts=counts, examples={"line without number": "P2=--"})

    rows = counter_rows(model(links=[link]), Connection(), ())

    dropped = found(rows, "line without number")
    assert (dropped.where, dropped.number, dropped.example) == ("panel", "3", "P2=--")
    assert dropped.severity is Severity.DOUBT
    assert found(rows, "half a line").severity is Severity.CALM


def test_the_engines_figures_and_the_record_are_listed() -> None:
    rows = counter_rows(model(recording=recording("stopped")), Connection(), ())

    assert found(rows, "steps").number == "20"
    assert found(rows, "state") == CounterRow(
        "record", "state", "stopped", "disk full", Severity.BAD
    )
    assert found(rows, "safe on disk up to").number == "12:00:08"


def test_what_the_display_lost_is_listed_and_stands_out() -> None:
    run = model()
    run.strange = 2
    counts = (("messages dropped, mailbox full", 7), ("messages taken", 9))

    rows = counter_rows(run, Connection(counts=counts), (("faults", 0),))

    unknown = found(rows, "parts of messages about unknown channels or alarms")
    assert (unknown.number, unknown.severity) == ("2", Severity.DOUBT)
    assert found(rows, "messages dropped, mailbox full").severity is Severity.DOUBT
    assert found(rows, "messages taken").severity is Severity.CALM
    assert found(rows, "faults").where == "this display"


def test_what_the_engine_lost_stands_out_once_it_counts() -> None:
    rows = counter_rows(
        model(health={"rows too late": 2.0, "rows dropped": 0.0}), Connection(), ()
    )

    assert found(rows, "rows too late").severity is Severity.DOUBT
    assert found(rows, "rows dropped").severity is Severity.CALM


def test_without_a_run_the_displays_own_counters_are_listed() -> None:
    rows = counter_rows(None, Connection(counts=(("connections lost", 1),)), ())

    assert [row.what for row in rows] == ["connections lost"]
