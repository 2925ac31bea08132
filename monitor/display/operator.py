"""What the person at the screen can do: keys to questions, answers to acts."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from monitor.display.screen import Screen
from monitor.display.state.alarm_rows import AlarmRow
from monitor.display.state.desk import Desk
from monitor.display.state.looking import Looking
from monitor.display.widgets.dialogs import AskPhase, AskShelf, AskText, KeyList
from monitor.events import Verb
from monitor.link.messages import Act


class Operator(QObject):
    """Turns keys into acts, and asks who is acting before the first one.

    Attributes:
        person: Who is acting; empty until asked.
        looking: What the charts look at.
    """

    def __init__(self, screen: Screen, desk: Desk) -> None:
        """Connect every key."""
        super().__init__(screen)
        self._screen = screen
        self._desk = desk
        self.person = ""
        self.looking = Looking()
        for name, does in self._handlers().items():
            screen.actions_by_key[name].triggered.connect(does)
        screen.chart_bar.span_chosen.connect(self._choose_span)

    def _handlers(self) -> dict[str, Callable[[], object]]:
        """Give what each key does."""
        screen = self._screen
        return {
            "help": lambda: KeyList.ask(screen),
            "channels": lambda: self._focus(screen.channels),
            "alarms": lambda: self._focus(screen.alarms.table),
            "charts": lambda: screen.show_page("charts"),
            "events": lambda: screen.show_page("events"),
            "health": lambda: screen.show_page("health"),
            "full_screen": self._full_screen,
            "acknowledge": self._acknowledge,
            "acknowledge_all": self._acknowledge_visible,
            "silence": lambda: self._act("silence", "*"),
            "reset": self._reset,
            "shelve": self._shelve,
            "out_of_service": self._out_of_service,
            "phase": self._phase,
            "note": self._note,
            "person": self._ask_person,
            "quit": screen.close,
            "shorter": lambda: self._choose_span(self.looking.span - 1),
            "longer": lambda: self._choose_span(self.looking.span + 1),
            "back": lambda: self._move(-1),
            "forward": lambda: self._move(1),
            "pause": self._pause,
            "close_up": self._close_up,
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

    # Acting

    def _act(self, verb: Verb, subject: str, reason: str = "", seconds: float = 0.0) -> None:
        """Do one thing in the person's name; silence asks nobody first."""
        if not self.person and verb != "silence" and not self._ask_person():
            return
        act = Act("", verb, subject, self.person, reason, seconds)
        self._desk.act(act, time.monotonic_ns())

    def _ask_person(self) -> bool:
        """Ask who is acting; tell whether a name was given."""
        sentence = "Every action goes into the journal with a name. Who is acting?"
        name = AskText.ask(self._screen, "Name", sentence, self.person)
        if name:
            self.person = name
            self._screen.alarms.show_person(name)
        return bool(name)

    def _acknowledge(self) -> None:
        """Acknowledge the selected alarms; with nothing to do there, go to the next one."""
        selected = self._screen.alarms.selected_alarms()
        if any(alarm.is_unacknowledged for alarm in selected):
            self._acknowledge_these(selected)
        else:
            self._screen.alarms.select_first_waiting()

    def _acknowledge_visible(self) -> None:
        """Acknowledge what can be seen: nobody acknowledges what they have not seen."""
        self._acknowledge_these(self._screen.alarms.visible_alarms())

    def _acknowledge_these(self, alarms: Sequence[AlarmRow]) -> None:
        """Acknowledge those of *alarms* that want it."""
        for alarm in alarms:
            if alarm.is_unacknowledged:
                self._act("acknowledge", alarm.id)

    def _reset(self) -> None:
        """Reset the selected alarms that await it; the engine says why if it refuses."""
        for alarm in self._screen.alarms.selected_alarms():
            self._act("reset", alarm.id)

    def _one_alarm(self) -> AlarmRow | None:
        """Give the selected alarm, the first if there are several."""
        selected = self._screen.alarms.selected_alarms()
        return selected[0] if selected else None

    def _shelve(self) -> None:
        """Shelve the selected alarm, or take it back."""
        alarm = self._one_alarm()
        if alarm is None:
            return
        if alarm.is_shelved:
            self._act("unshelve", alarm.id)
            return
        shelf = AskShelf.ask(self._screen, f"{alarm.tag}: {alarm.message}")
        if shelf is not None:
            self._act("shelve", alarm.id, shelf.reason, shelf.minutes * 60.0)

    def _out_of_service(self) -> None:
        """Take the selected alarm out of service, or return it."""
        alarm = self._one_alarm()
        if alarm is None:
            return
        if alarm.is_out_of_service:
            self._act("return_to_service", alarm.id)
            return
        sentence = f"Take {alarm.tag}: {alarm.message} out of service until it is returned?"
        reason = AskText.ask(self._screen, "Reason", sentence, yes="Take out of service")
        if reason:
            self._act("out_of_service", alarm.id, reason)

    def _phase(self) -> None:
        """Enter a phase."""
        model = self._desk.model
        if model is None or not model.index.stand.phases:
            return
        phases = [(p.name, p.title or p.name, p.note) for p in model.index.stand.phases]
        name = AskPhase.ask(self._screen, phases, model.phase.name)
        if name is not None:
            self._act("enter_phase", name)

    def _note(self) -> None:
        """Write a note into the journal."""
        sentence = "What should stand in the journal, with this moment's time?"
        text = AskText.ask(self._screen, "Note", sentence, yes="Write")
        if text:
            self._act("note", "", text)

    # Looking

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
