"""Tests for monitor.display.widgets.alarm_panel.

Source: Qt's own checker of models; the rest hand-worked here.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSplitter, QWidget
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from monitor.display.state.alarm_rows import AlarmRow, alarm_rows
from monitor.display.state.fact import Fact
from monitor.display.state.severity import Severity
from monitor.display.widgets.alarm_panel import AlarmPanel, alarm_table_rows
from monitor.display.widgets.keys import make_actions
from monitor.link.messages import AlarmState
from tests.monitor.display.made import NOON, NS, alarm, model


def rows(*alarms: AlarmState) -> tuple[AlarmRow, ...]:
    """List alarms of the small run."""
    return alarm_rows(model(alarms=list(alarms)), NOON + 65 * NS)


def panel(window: QWidget, *alarms: AlarmState) -> AlarmPanel:
    """Show a panel with these alarms."""
    made = AlarmPanel(make_actions(window), window)
    made.resize(700, 300)
    made.show_alarms(rows(*alarms))
    made.show()
    return made


def test_qts_checker_has_nothing_to_say(window: QWidget, qtmodeltester: ModelTester) -> None:
    qtmodeltester.check(panel(window, alarm("PT-1.high")).table.rows)


def test_a_row_reads_from_left_to_right() -> None:
    (row,) = alarm_table_rows(rows(alarm("PT-1.high")))

    assert row.cells[:3] == ("high priority, not acknowledged", "12:00:05", "PT-1")
    assert row.cells[3:] == ("PT-1 high", "8.5 bar", "unacknowledged")
    assert row.severity is Severity.HIGH
    assert "high priority" in row.tip


def test_an_acknowledged_alarm_is_calm() -> None:
    (row,) = alarm_table_rows(rows(alarm("PT-1.high", is_acknowledged=True)))

    assert row.severity is Severity.CALM


def test_the_first_alarm_is_selected_and_told(window: QWidget) -> None:
    made = panel(window)
    told: list[str] = []
    made.chosen.connect(told.append)

    made.show_alarms(rows(alarm("PT-1.high")))

    assert told == ["PT-1.high"]
    assert [one.id for one in made.selected_alarms()] == ["PT-1.high"]


def test_the_selection_stays_with_its_alarm_when_a_worse_one_comes(window: QWidget) -> None:
    made = panel(window, alarm("PT-1.high"))

    made.show_alarms(rows(alarm("PT-1.high"), alarm("PT-1.high_high")))

    assert [one.id for one in made.selected_alarms()] == ["PT-1.high"]
    assert next(one.id for one in made.visible_alarms()) == "PT-1.high_high"


def test_space_and_enter_in_the_list_acknowledge(qtbot: QtBot, window: QWidget) -> None:
    actions = make_actions(window)
    made = AlarmPanel(actions, window)
    made.show()
    done: list[str] = []
    actions["acknowledge"].triggered.connect(lambda: done.append("acknowledge"))
    made.table.setFocus()

    for key in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
        qtbot.keyClick(made.table, key)

    assert done == ["acknowledge"] * 3


def test_the_first_alarm_that_waits_is_found(window: QWidget) -> None:
    made = panel(window, alarm("PT-1.high", is_acknowledged=True), alarm("PT-1.low"))
    made.table.select_key("PT-1.high")

    made.select_first_waiting()

    assert [one.id for one in made.selected_alarms()] == ["PT-1.low"]


def test_with_nothing_waiting_the_selection_stays(window: QWidget) -> None:
    made = panel(window, alarm("PT-1.high", is_acknowledged=True))

    made.select_first_waiting()

    assert [one.id for one in made.selected_alarms()] == ["PT-1.high"]


def test_every_alarm_that_waits_is_found_though_it_cannot_be_seen(window: QWidget) -> None:
    made = panel(window, alarm("PT-1.high"), alarm("PT-1.low"), alarm("PT-2.stale"))
    made.resize(700, 190)

    waiting = [one.id for one in made.waiting_alarms()]

    assert waiting == ["PT-1.high", "PT-1.low", "PT-2.stale"]
    assert len(made.visible_alarms()) < 3


def test_right_and_left_ask_to_unfold_and_fold(qtbot: QtBot, window: QWidget) -> None:
    made = panel(window, alarm("PT-1.high"))
    asked: list[str] = []
    made.unfolded.connect(lambda: asked.append("unfold"))
    made.folded.connect(lambda: asked.append("fold"))
    made.table.setFocus()

    for key in (Qt.Key.Key_Right, Qt.Key.Key_Left):
        qtbot.keyClick(made.table, key)

    assert asked == ["unfold", "fold"]


def test_the_response_stands_beside_the_list_where_there_is_room(window: QWidget) -> None:
    made = panel(window)
    split = made.findChild(QSplitter)
    assert split is not None
    assert split.orientation() is Qt.Orientation.Vertical

    made.resize(1200, 300)

    assert split.orientation() is Qt.Orientation.Horizontal


def test_tone_and_person_are_told(window: QWidget) -> None:
    made = panel(window)

    made.show_tone(Fact("tone silenced", Severity.DOUBT, "why"))
    made.show_person("K. Vale")

    tone = made.findChild(QLabel, "tone")
    assert tone is not None
    assert (tone.text(), tone.property("severity")) == ("tone silenced", "doubt")
    assert made.person.text() == "Acting: K. Vale  Ctrl+N"
    made.show_person("")
    assert "nobody yet" in made.person.text()
