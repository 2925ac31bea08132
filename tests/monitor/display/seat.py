"""A person before a screen with a run, for tests of keys."""

from __future__ import annotations

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.display.operator import Operator
from monitor.display.screen import Screen
from monitor.display.state.alarm_rows import alarm_rows
from monitor.display.state.connection import Connection, Stage
from monitor.display.state.desk import Desk, Mail
from monitor.link.messages import Act, AlarmState
from tests.monitor.display.made import NOON, NS
from tests.monitor.display.rich import rich

UP = Connection(Stage.CONNECTED, 0, 1)
CONTROL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


class Seat:
    """A person before a screen with the rich run; alarms not given are at rest."""

    def __init__(self, qtbot: QtBot, *alarms: AlarmState, person: str = "K. Vale") -> None:
        self.qtbot = qtbot
        self.screen, self.desk = Screen(), Desk("d")
        qtbot.addWidget(self.screen)
        self.desk.take([Mail(rich(*alarms), 1)], UP, 1)
        self.operator = Operator(self.screen, self.desk)
        self.operator.acting.person = person
        self.screen.show_run(True)
        self.screen.resize(1280, 800)
        self.screen.show()
        self.screen.activateWindow()
        qtbot.waitUntil(self.screen.isActiveWindow)
        self.refresh()

    def refresh(self) -> None:
        """Show the alarm list as it is now."""
        assert self.desk.model is not None
        rows = alarm_rows(self.desk.model, NOON + 60 * NS, self.operator.opened)
        self.screen.alarms.show_alarms(rows)

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier | None = None) -> None:
        """Press a key."""
        self.qtbot.keyClick(self.screen, key, modifier or Qt.KeyboardModifier.NoModifier)

    def acts(self) -> list[Act]:
        """Give what went out since the last time."""
        return [one for one in self.desk.take([], UP, 2) if isinstance(one, Act)]
