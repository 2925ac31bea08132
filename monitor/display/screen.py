"""The window: which part stands where. Shows what it is handed; decides nothing."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from monitor.display.plots.chart_grid import ChartGrid
from monitor.display.state.acts import Outcome
from monitor.display.state.keys import KEY
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import restyle, style_sheet
from monitor.display.widgets.abort_page import AbortPage
from monitor.display.widgets.alarm_panel import AlarmPanel
from monitor.display.widgets.banner import Banner, Veil
from monitor.display.widgets.channel_table import ChannelTable
from monitor.display.widgets.chart_bar import ChartBar
from monitor.display.widgets.empty_view import EmptyView
from monitor.display.widgets.event_page import EventPage
from monitor.display.widgets.health_page import HealthPage
from monitor.display.widgets.keys import key_button, make_actions
from monitor.display.widgets.labels import ElidedLabel
from monitor.display.widgets.lamp_panel import LampPanel
from monitor.display.widgets.register_page import RegisterPage
from monitor.display.widgets.title_strip import TitleStrip

_PAGES = ("charts", "events", "register", "aborts", "health")
#: Keys with a button at the foot.
_FOOT = ("edit", "out_of_service", "lamp_test", "phase", "mode", "note", "help")
_GAP = 6
#: Least and greatest width of the channel table until somebody moves its edge.
_TABLE_PX = (640, 760)
_TABLE_SHARE = 0.36
_PAGES_PX = 395
_ALARMS_PX = 305


class Screen(QWidget):
    """Every part of the display in one window."""

    #: Name of the page that is seen from now on.
    page_turned = Signal(str)

    def __init__(self) -> None:
        """Make the parts and put them in their places."""
        super().__init__()
        self.setObjectName("screen")
        self.setWindowTitle("Standwatch")
        self.setStyleSheet(style_sheet(PALETTE))
        self.actions_by_key = make_actions(self)
        self.strip = TitleStrip()
        self.lost = Banner("lost_banner")
        self.fault = Banner("fault_banner", can_close=True)
        self.empty = EmptyView()
        self.channels = ChannelTable()
        self.chart_bar = ChartBar(self.actions_by_key)
        self.charts = ChartGrid()
        self.events = EventPage()
        self.register = RegisterPage(self.actions_by_key)
        self.aborts = AbortPage()
        self.health = HealthPage()
        self.lamps = LampPanel(self, self.strip)
        self.alarms = AlarmPanel(self.actions_by_key)
        self._outcome = ElidedLabel("fact", "outcome")
        self._pages = QStackedWidget()
        self._of_run: list[QWidget] = [self.strip]
        self._tabs: dict[str, QPushButton] = {}
        self._across = QSplitter(Qt.Orientation.Horizontal)
        self._is_moved = False
        self.main = QWidget()
        self._fill_main()
        self.veil = Veil(self.main)
        self._body = QStackedWidget()
        self._body.addWidget(self.empty)
        self._body.addWidget(self.main)
        self._put_together()

    def _put_together(self) -> None:
        """Stack strip, banners, body and the line at the foot."""
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.strip)
        column.addWidget(self.lost)
        column.addWidget(self.fault)
        column.addWidget(self._body, 1)
        column.addLayout(self._foot())
        for part in self._of_run:
            part.hide()

    def _fill_main(self) -> None:
        """Put the channel table to the left, pages and alarms to the right."""
        right = QSplitter(Qt.Orientation.Vertical)
        right.addWidget(self._paged())
        right.addWidget(self.alarms)
        right.setStretchFactor(0, 3)
        right.setStretchFactor(1, 2)
        right.setSizes([_PAGES_PX, _ALARMS_PX])
        right.setHandleWidth(_GAP)
        across = self._across
        across.setHandleWidth(_GAP)
        across.splitterMoved.connect(self._note_move)
        across.addWidget(self.channels)
        across.addWidget(right)
        for splitter in (right, across):
            splitter.setChildrenCollapsible(False)
        column = QVBoxLayout(self.main)
        column.setContentsMargins(_GAP, _GAP, _GAP, 0)
        column.addWidget(across)

    def _paged(self) -> QWidget:
        """Stack the pages below the buttons that choose between them."""
        charts = QWidget()
        column = QVBoxLayout(charts)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.chart_bar)
        column.addWidget(self.charts, 1)
        group = QButtonGroup(self)
        row = QHBoxLayout()
        row.setSpacing(4)
        pages = (charts, self.events, self.register, self.aborts, self.health)
        for name, page in zip(_PAGES, pages, strict=True):
            self._pages.addWidget(page)
            button = key_button(self.actions_by_key, name)
            button.setCheckable(True)
            group.addButton(button)
            self._tabs[name] = button
            row.addWidget(button)
        row.addSpacing(_GAP)
        row.addWidget(self.chart_bar.text, 1)
        policy = self.chart_bar.text.sizePolicy()
        policy.setRetainSizeWhenHidden(True)
        self.chart_bar.text.setSizePolicy(policy)
        self._tabs[_PAGES[0]].setChecked(True)
        paged = QWidget()
        column = QVBoxLayout(paged)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addLayout(row)
        column.addWidget(self._pages, 1)
        return paged

    def _foot(self) -> QHBoxLayout:
        """Lay out the line at the foot: what became of the newest act, and a few keys."""
        row = QHBoxLayout()
        row.setContentsMargins(_GAP, 4, _GAP, 4)
        row.setSpacing(_GAP)
        row.addWidget(self._outcome, 1)
        for name in _FOOT:
            button = key_button(self.actions_by_key, name)
            row.addWidget(button)
            if name != "help":
                self._of_run.append(button)
        return row

    def _note_move(self) -> None:
        """Leave the edge where somebody put it."""
        self._is_moved = True

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Give the channel table what it needs and everything else the rest."""
        super().resizeEvent(event)
        if not self._is_moved:
            least, greatest = _TABLE_PX
            table = min(greatest, max(least, int(_TABLE_SHARE * event.size().width())))
            self._across.setSizes([table, event.size().width() - table])

    def show_page(self, name: str) -> None:
        """Turn to a page and give it the keyboard."""
        self._tabs[name].setChecked(True)
        self.chart_bar.text.setVisible(name == "charts")
        self._pages.setCurrentIndex(_PAGES.index(name))
        self.page_turned.emit(name)
        {
            "charts": self.charts,
            "events": self.events.table,
            "register": self.register.table,
            "aborts": self.aborts.table,
            "health": self.health.counters,
        }[name].setFocus(Qt.FocusReason.ShortcutFocusReason)

    def is_page(self, name: str) -> bool:
        """Tell whether a page is the one that can be seen."""
        return self._pages.currentIndex() == _PAGES.index(name) and not self.is_empty()

    def is_empty(self) -> bool:
        """Tell whether the empty page stands where a run would be."""
        return self._body.currentWidget() is self.empty

    def show_run(self, is_there: bool) -> None:
        """Show the run's parts, or the empty page."""
        wanted = self.main if is_there else self.empty
        if self._body.currentWidget() is not wanted:
            self._body.setCurrentWidget(wanted)
            for part in self._of_run:
                part.setVisible(is_there)
            if is_there:
                self.channels.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_outcome(self, outcome: Outcome) -> None:
        """Tell what became of the newest act."""
        hint = f"{KEY['help'].keys} lists the keys." if not outcome.text else outcome.text
        self._outcome.say(hint)
        restyle(self._outcome, "doubt" if outcome.is_trouble else "calm")
