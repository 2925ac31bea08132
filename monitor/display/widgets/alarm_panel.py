"""The alarm list with what to do about the selected alarm, and the buttons to do it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from monitor.display.state.alarm_rows import AlarmRow
from monitor.display.state.fact import Fact
from monitor.display.state.severity import Severity
from monitor.display.theme.sheet import restyle
from monitor.display.widgets.cells import paint_alarm_mark
from monitor.display.widgets.keys import Actions, key_button
from monitor.display.widgets.labels import ElidedLabel, label
from monitor.display.widgets.message_cell import paint_message
from monitor.display.widgets.response_view import ResponseView
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import RowsTable

_COLUMNS = (
    Column("", 28),
    Column("Since", 74),
    Column("Tag", 74),
    Column("What is wrong", 150, is_stretched=True),
    Column("Raised at", 118, is_right=True),
    Column("State", 172, is_coloured=True),
)
_MARK, _MESSAGE = 0, 3
#: Narrower than this, the response stands below the list instead of beside it.
_NARROW_PX = 1000
_BUTTONS = ("acknowledge", "acknowledge_page", "acknowledge_all", "reset", "shelve")


def alarm_table_rows(rows: Sequence[AlarmRow]) -> list[TableRow]:
    """Lay the alarms out as rows of a table."""
    return [_table_row(row) for row in rows]


def _table_row(row: AlarmRow) -> TableRow:
    """Lay out one alarm; colour its state while somebody must acknowledge it."""
    waits = ", not acknowledged" if row.is_unacknowledged else ""
    quiet = ", inhibited" if row.is_inhibited else ""
    mark = f"{row.priority} priority{waits}{quiet}"
    cells = (mark, row.time, row.tag, row.words, row.value, row.state)
    severity = Severity(row.priority) if row.is_unacknowledged else Severity.CALM
    tip = f"{row.priority} priority: {row.tag} {row.words}\n{row.state}, for {row.age}"
    return TableRow(row.id, cells, severity, tip, row)


class AlarmPanel(QFrame):
    """Shows alarms; the buttons are those of the window's keys."""

    #: Id of the alarm whose response is wanted, empty for none.
    chosen = Signal(str)
    #: What is behind the selected alarm is to be shown, or no longer.
    unfolded = Signal()
    folded = Signal()

    def __init__(self, actions: Actions, parent: QWidget | None = None) -> None:
        """Lay out heading, list, response and buttons."""
        super().__init__(parent)
        self.setObjectName("alarm_panel")
        self.table = RowsTable(
            "alarm_table",
            _COLUMNS,
            {_MARK: paint_alarm_mark, _MESSAGE: paint_message},
            many=True,
            placeholder="No alarms",
        )
        self.table.selectionModel().selectionChanged.connect(self._tell)
        self.response = ResponseView()
        self._tone = ElidedLabel("quiet", "tone")
        self.person = QPushButton()
        self.person.setObjectName("person")
        self.person.clicked.connect(actions["person"].trigger)
        self.person.setToolTip(actions["person"].toolTip())
        self._split = QSplitter(Qt.Orientation.Vertical)
        self._split.setChildrenCollapsible(False)
        self._split.addWidget(self.table)
        self._split.addWidget(self.response)
        self._split.setStretchFactor(0, 3)
        self._split.setStretchFactor(1, 2)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(self._heading(actions))
        column.addWidget(self._split, 1)
        column.addLayout(self._buttons(actions))
        for keys in (Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            shortcut = QShortcut(QKeySequence(keys), self.table)
            shortcut.setContext(Qt.ShortcutContext.WidgetShortcut)
            shortcut.activated.connect(actions["acknowledge"].trigger)
        for keys, signal in ((Qt.Key.Key_Right, self.unfolded), (Qt.Key.Key_Left, self.folded)):
            shortcut = QShortcut(QKeySequence(keys), self.table)
            shortcut.setContext(Qt.ShortcutContext.WidgetShortcut)
            shortcut.activated.connect(signal.emit)

    def _heading(self, actions: Actions) -> QHBoxLayout:
        """Lay out the heading: title, tone, who is acting."""
        row = QHBoxLayout()
        row.addWidget(label("Alarms  F4", "heading", "alarm_heading"))
        row.addSpacing(14)
        row.addWidget(key_button(actions, "silence"))
        row.addWidget(self._tone, 1)
        row.addWidget(self.person)
        return row

    @staticmethod
    def _buttons(actions: Actions) -> QHBoxLayout:
        """Lay out the buttons."""
        row = QHBoxLayout()
        row.setSpacing(6)
        for name in _BUTTONS:
            row.addWidget(key_button(actions, name))
        row.addStretch(1)
        return row

    def show_alarms(self, rows: Sequence[AlarmRow]) -> None:
        """Show *rows*; the selection stays with its alarms, wherever they move."""
        self.table.show_rows(alarm_table_rows(rows))
        self.table.select_first()

    def show_tone(self, tone: Fact) -> None:
        """Say what the tone does."""
        self._tone.say(tone.text)
        self._tone.setToolTip(tone.more)
        restyle(self._tone, tone.severity)

    def show_person(self, name: str) -> None:
        """Say who is acting."""
        text = f"Acting: {name or 'nobody yet'}  Ctrl+N"
        if text != self.person.text():
            self.person.setText(text)

    def select_first_waiting(self) -> None:
        """Select the first alarm that wants to be acknowledged."""
        for row in self.table.rows.rows:
            if isinstance(row.payload, AlarmRow) and row.payload.is_unacknowledged:
                self.table.select_key(row.key)
                return

    def selected_alarms(self) -> list[AlarmRow]:
        """Give the selected alarms from top to bottom."""
        return [
            row.payload
            for row in self.table.selected_rows()
            if isinstance(row.payload, AlarmRow)
        ]

    def waiting_alarms(self) -> list[AlarmRow]:
        """Give every alarm that wants to be acknowledged, wherever in the list it stands."""
        payloads = [row.payload for row in self.table.rows.rows]
        return [one for one in payloads if isinstance(one, AlarmRow) and one.is_unacknowledged]

    def visible_alarms(self) -> list[AlarmRow]:
        """Give the alarms that can be seen without scrolling."""
        return [
            row.payload
            for row in self.table.visible_rows()
            if isinstance(row.payload, AlarmRow)
        ]

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Put the response beside the list where there is room, else below it."""
        is_narrow = event.size().width() < _NARROW_PX
        wanted = Qt.Orientation.Vertical if is_narrow else Qt.Orientation.Horizontal
        if wanted is not self._split.orientation():
            self._split.setOrientation(wanted)
            self._split.setSizes([160, 100] if is_narrow else [650, 350])
        super().resizeEvent(event)

    def _tell(self) -> None:
        """Say whose response is wanted."""
        selected = self.table.selected_rows()
        self.chosen.emit(selected[0].key if selected else "")
