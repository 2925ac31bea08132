"""What each key does: acting on the run, and looking at it."""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from monitor.display.acting import Acting
from monitor.display.screen import Screen
from monitor.display.state.desk import Desk
from monitor.display.state.looking import Looking
from monitor.display.widgets.dialogs import KeyList


class Operator(QObject):
    """Connects the keys, and remembers what the person looks at.

    Attributes:
        acting: What is done in the person's name.
        looking: What the charts look at.
        opened: Alarms whose consequences are listed.
    """

    def __init__(self, screen: Screen, desk: Desk) -> None:
        """Connect every key."""
        super().__init__(screen)
        self._screen = screen
        self._desk = desk
        self.acting = Acting(screen, desk)
        self.looking = Looking()
        self.opened: frozenset[str] = frozenset()
        for name, does in (self._looks() | self._acts()).items():
            screen.actions_by_key[name].triggered.connect(does)
        screen.chart_bar.span_chosen.connect(self._choose_span)
        screen.alarms.unfolded.connect(lambda: self._fold(is_open=True))
        screen.alarms.folded.connect(lambda: self._fold(is_open=False))

    @property
    def person(self) -> str:
        """Who is acting; empty until asked."""
        return self.acting.person

    def _looks(self) -> dict[str, Callable[[], object]]:
        """Give what the keys do that only look."""
        screen = self._screen
        return {
            "help": lambda: KeyList.ask(screen),
            "channels": lambda: self._focus(screen.channels),
            "alarms": lambda: self._focus(screen.alarms.table),
            "charts": lambda: screen.show_page("charts"),
            "events": lambda: screen.show_page("events"),
            "register": lambda: screen.show_page("register"),
            "aborts": lambda: screen.show_page("aborts"),
            "health": lambda: screen.show_page("health"),
            "full_screen": self._full_screen,
            "unfold": lambda: self._fold(is_open=None),
            "quit": screen.close,
            "shorter": lambda: self._choose_span(self.looking.span - 1),
            "longer": lambda: self._choose_span(self.looking.span + 1),
            "back": lambda: self._move(-1),
            "forward": lambda: self._move(1),
            "pause": self._pause,
            "close_up": self._close_up,
        }

    def _acts(self) -> dict[str, Callable[[], object]]:
        """Give what the keys do in the person's name."""
        acting = self.acting
        return {
            "acknowledge": acting.acknowledge,
            "acknowledge_page": acting.acknowledge_page,
            "acknowledge_all": acting.acknowledge_all,
            "silence": acting.silence,
            "reset": acting.reset,
            "shelve": acting.shelve,
            "out_of_service": acting.out_of_service,
            "edit": acting.edit,
            "force": acting.force,
            "copy_register": acting.copy_register,
            "lamp_test": acting.lamp_test,
            "phase": acting.phase,
            "mode": acting.mode,
            "note": acting.note,
            "person": acting.ask_person,
        }

    @staticmethod
    def _focus(widget: QWidget) -> None:
        """Give a part the keyboard."""
        widget.setFocus()

    def _full_screen(self) -> None:
        """Fill the screen, or return."""
        if self._screen.isFullScreen():
            self._screen.showNormal()
        else:
            self._screen.showFullScreen()

    def _fold(self, *, is_open: bool | None) -> None:
        """Show or fold what is behind the selected alarm; None: the other way round."""
        ids = frozenset(alarm.id for alarm in self._screen.alarms.selected_alarms())
        if is_open is None:
            self.opened = self.opened ^ ids
        else:
            self.opened = self.opened | ids if is_open else self.opened - ids

    def _choose_span(self, span: int) -> None:
        """Choose a time span."""
        self.looking = self.looking.with_span(span)

    def _close_up(self) -> None:
        """Change between close-up and a picture with the limits."""
        self.looking = self.looking.toggled_close()

    def _pause(self) -> None:
        """Hold the charts or go on."""
        self.looking = self.looking.toggled_pause(self._desk.edge_ns(time.monotonic_ns()))

    def _move(self, halves: int) -> None:
        """Look back or forward."""
        if self._desk.model is not None:
            edge_ns = self._desk.edge_ns(time.monotonic_ns())
            self.looking = self.looking.moved(halves, edge_ns, self._desk.model.started_ns)
