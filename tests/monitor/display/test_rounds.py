"""Tests for monitor.display.rounds.

Source: hand-worked here, on the small engine of this folder over a real socket.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from monitor.display.feed import Address, Feed
from monitor.display.rounds import Rounds
from monitor.display.screen import Screen
from monitor.display.state.desk import Desk
from monitor.display.tone import NoSoundError, Tone
from monitor.display.widgets.title_strip import AlarmSummary
from tests.monitor.display.fake_engine import TOKEN, FakeEngine

MS = 1_000_000


def no_device() -> None:
    """Find no sound device."""
    raise NoSoundError("no sound device: none here")


class Desktop:
    """Screen, desk and rounds, made round by round by the test."""

    def __init__(self, qtbot: QtBot, address: Callable[[], Address]) -> None:
        self.qtbot, self.screen, self.desk = qtbot, Screen(), Desk("d")
        qtbot.addWidget(self.screen)
        self.tone = Tone(no_device)  # type: ignore[arg-type]
        self.feeds: list[Feed] = []

        def make() -> Feed:
            self.feeds.append(Feed(address, "test"))
            return self.feeds[-1]

        self.rounds = Rounds(self.screen, self.desk, make, self.tone)
        self.screen.resize(1280, 800)
        self.screen.show()

    def round(self) -> None:
        """Make one round."""
        self.rounds.make(time.monotonic_ns(), time.monotonic_ns)

    def until(self, is_so: Callable[[], bool], seconds: float = 10.0) -> None:
        """Make rounds until something is so."""
        end = time.monotonic() + seconds
        while not is_so():
            assert time.monotonic() < end, "it never became so"
            self.round()
            QApplication.processEvents()
            time.sleep(0.005)

    def text(self, name: str) -> str:
        """Read a label."""
        found = self.screen.findChild(QLabel, name)
        assert found is not None
        return found.text()

    def has_run(self) -> bool:
        """Tell whether the table of channels is filled."""
        return bool(self.screen.channels.rows.rows)


@contextmanager
def desktop(qtbot: QtBot, engine: FakeEngine) -> Iterator[Desktop]:
    """Show an engine."""
    made = Desktop(qtbot, lambda: Address("127.0.0.1", engine.port, TOKEN))
    try:
        yield made
    finally:
        made.rounds.stop()


def test_a_run_fills_every_part(qtbot: QtBot) -> None:
    with FakeEngine("alarm") as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)
        seat.until(lambda: len(seat.screen.charts.charts) == 6)

        assert seat.text("stand") == "Gondola environmental-control rig"
        assert len(seat.screen.alarms.table.rows.rows) == 6
        seat.until(lambda: seat.text("response_title") == "Oxygen lost in the loop")


def test_a_page_that_is_turned_to_is_filled_in_the_next_round(qtbot: QtBot) -> None:
    with FakeEngine("inhibited") as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)

        for name, table in (
            ("health", seat.screen.health.links),
            ("register", seat.screen.register.table),
            ("aborts", seat.screen.aborts.table),
        ):
            seat.screen.show_page(name)
            seat.round()

            assert table.rows.rows, name


def test_the_lamp_test_lights_every_mark_and_then_gives_the_strip_back(qtbot: QtBot) -> None:
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)
        summary = seat.screen.findChild(AlarmSummary)
        assert summary is not None
        seat.until(lambda: summary.accessibleName().startswith("top: 0 standing"))
        seat.rounds.operator.acting.person = "K. Vale"

        seat.screen.actions_by_key["lamp_test"].trigger()
        seat.round()

        assert summary.accessibleName().startswith("top: 8 standing, 8 not acknowledged")
        assert seat.screen.lamps.isVisible()
        assert seat.tone.player.frames(1_000).any()
        seat.until(lambda: summary.accessibleName().startswith("top: 0 standing"))
        assert not seat.screen.lamps.isVisible()
        assert [act.verb for act in engine.acts] == ["lamp_test"]


def test_the_past_is_asked_for_and_drawn(qtbot: QtBot) -> None:
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)
        model = seat.desk.model
        assert model is not None

        def first_ns() -> int:
            return int(model.series[0].window(0, 2**62, 10**6).t_ns[0])

        seat.until(lambda: model.series[0].appended > 0)
        seat.until(lambda: first_ns() - model.started_ns < 60_000 * MS)
        assert model.late_history == 0


def test_without_an_engine_the_empty_page_waits_and_the_run_comes_by_itself(
    qtbot: QtBot,
) -> None:
    with FakeEngine() as first:
        port = first.port
    made = Desktop(qtbot, lambda: Address("127.0.0.1", port, TOKEN))
    try:
        made.until(lambda: "attempt 1" in made.text("empty_status"))
        assert made.screen.is_empty()

        with FakeEngine(port=port):
            made.until(lambda: not made.screen.is_empty())
    finally:
        made.rounds.stop()


def test_a_lost_engine_freezes_the_screen_and_a_new_snapshot_thaws_it(qtbot: QtBot) -> None:
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)
        seat.until(lambda: not seat.screen.lost.isVisible())

        engine.is_silent = True
        seat.until(seat.screen.lost.isVisible)
        seat.until(lambda: seat.text("clock_caption") == "UTC, stopped")

        assert seat.text("lost_banner_headline").startswith(("WATCH SILENT", "LINK TO"))
        assert seat.screen.veil.isVisible()
        seat.until(lambda: all(not q or "old" in q for q in qualities(seat)))
        assert seat.text("link") == "no watch"

        engine.is_silent = False
        seat.until(lambda: not seat.screen.lost.isVisible(), 20)
        assert not seat.screen.veil.isVisible()


def qualities(seat: Desktop) -> list[str]:
    """Read the quality column; headings are empty."""
    return ["" if row.is_heading else row.cells[7] for row in seat.screen.channels.rows.rows]


def test_a_cut_connection_comes_back_by_itself(qtbot: QtBot) -> None:
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)

        engine.cut()

        seat.until(lambda: seat.desk.snapshots == 2)
        seat.until(lambda: not seat.screen.lost.isVisible())
        assert len(seat.feeds) == 1


def test_a_new_alarm_sounds_until_it_is_silenced(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    beeps: list[bool] = []
    monkeypatch.setattr(QApplication, "beep", lambda: beeps.append(True))
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)
        engine.raise_alarm("PT-301.low", 33.9)
        seat.until(lambda: bool(beeps))
        seat.until(lambda: "sounding: high priority" in seat.text("tone"))

        seat.screen.actions_by_key["silence"].trigger()

        seat.until(lambda: seat.text("tone").startswith("tone silenced"))
        seat.until(lambda: bool(engine.acts))
        assert [act.verb for act in engine.acts] == ["silence"]


def test_an_act_reaches_the_engine_and_its_effect_comes_back(qtbot: QtBot) -> None:
    with FakeEngine("alarm") as engine, desktop(qtbot, engine) as seat:
        seat.until(lambda: bool(seat.screen.alarms.table.rows.rows))
        seat.rounds.operator.acting.person = "K. Vale"

        seat.screen.actions_by_key["acknowledge"].trigger()

        seat.until(lambda: "done at" in seat.text("outcome"))
        model = seat.desk.model
        assert model is not None
        seat.until(lambda: model.alarms["UA-902.abort"].is_acknowledged)


def test_the_picked_channel_gets_a_chart_of_its_own(qtbot: QtBot) -> None:
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(lambda: len(seat.screen.charts.charts) == 6)

        seat.screen.channels.select_key("PT-203")

        seat.until(lambda: len(seat.screen.charts.charts) == 7)
        name = "chart_Picked: PT-203 Supply manifold pressure"
        assert seat.screen.charts.charts[0].objectName() == name
        seat.screen.channels.clearSelection()
        seat.until(lambda: len(seat.screen.charts.charts) == 6)


def test_events_and_counters_are_shown_when_they_are_turned_to(qtbot: QtBot) -> None:
    with FakeEngine("stale") as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)
        assert not seat.screen.events.table.rows.rows

        seat.screen.show_page("events")
        seat.until(lambda: bool(seat.screen.events.table.rows.rows))
        seat.screen.show_page("health")
        seat.until(lambda: bool(seat.screen.health.counters.rows.rows))

        told = {row.cells[1] for row in seat.screen.health.counters.rows.rows}
        assert {"rounds of the screen", "messages taken", "line without number"} <= told


@pytest.mark.expects_warnings
def test_a_fault_in_one_part_is_told_striped_and_does_not_stop_the_others(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)

        def broken(*_: object) -> None:
            raise ValueError("broken on purpose")

        show = seat.screen.channels.show_channels
        monkeypatch.setattr(seat.screen.channels, "show_channels", broken)
        seat.until(lambda: seat.rounds.faults > 0)
        clock = seat.text("clock")

        assert seat.screen.fault.isVisible()
        detail = seat.text("fault_banner_detail")
        assert "channel table: ValueError: broken on purpose" in detail
        veil = seat.screen.channels.findChild(QWidget, "veil")
        assert veil is not None
        assert veil.isVisible()
        seat.until(lambda: seat.text("clock") != clock)

        monkeypatch.setattr(seat.screen.channels, "show_channels", show)
        seat.until(lambda: not veil.isVisible())


def test_a_feed_that_broke_is_made_anew(qtbot: QtBot) -> None:
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(seat.has_run)

        seat.feeds[0].stop()

        seat.until(lambda: seat.desk.snapshots == 2)
        assert len(seat.feeds) == 2


def test_charts_stand_still_while_they_are_held(qtbot: QtBot) -> None:
    with FakeEngine() as engine, desktop(qtbot, engine) as seat:
        seat.until(lambda: len(seat.screen.charts.charts) == 6)
        seat.screen.actions_by_key["pause"].trigger()
        seat.until(lambda: "HELD" in seat.text("chart_text"))
        chart = seat.screen.charts.charts[0]
        before = chart.shown_frame()
        assert before is not None

        end = time.monotonic() + 0.5
        seat.until(lambda: time.monotonic() > end)

        after = chart.shown_frame()
        assert after is not None
        assert after.time_ticks == before.time_ticks
