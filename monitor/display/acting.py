"""What a person does to alarms, limits and the run: keys to questions, answers to acts."""

from __future__ import annotations

import time
from collections.abc import Sequence

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication

from monitor.display.screen import Screen
from monitor.display.state.acts import Outcome, subjects
from monitor.display.state.alarm_rows import AlarmRow
from monitor.display.state.desk import Desk
from monitor.display.state.edit import (
    edit_form,
    force_form,
    limit_choices,
    limit_title,
    needs_second,
)
from monitor.display.state.phases import mode_rows, phase_rows
from monitor.display.widgets.dialogs import AskSure, AskText
from monitor.display.widgets.force_dialog import AskForce
from monitor.display.widgets.limit_dialogs import About, AskEdit, AskLimit, AskService, AskShelf
from monitor.display.widgets.phase_dialogs import AskPlace
from monitor.events import Verb
from monitor.link.messages import Act, AlarmState

#: Stands in the journal where a tone was silenced before anybody gave a name.
UNNAMED = "someone unnamed"
_NO_LIMIT = "select an alarm, a channel that has limits, or a line of the register first"


class Acting(QObject):
    """Turns keys into acts, and asks who is acting before the first one.

    Attributes:
        person: Who is acting; empty until asked.
    """

    def __init__(self, screen: Screen, desk: Desk) -> None:
        """Do nothing yet."""
        super().__init__(screen)
        self._screen = screen
        self._desk = desk
        self.person = ""

    def _send(self, act: Act) -> None:
        """Do something in the person's name."""
        self._desk.act(act, time.monotonic_ns())

    def _tell(self, text: str) -> None:
        """Say at the foot why a key did nothing: a key that is silent looks broken."""
        self._desk.acts.outcome = Outcome(f"{text}.", is_trouble=True)

    def _is_named(self) -> bool:
        """Tell whether somebody is acting; asks who, where nobody said."""
        return bool(self.person) or self.ask_person()

    def ask_person(self) -> bool:
        """Ask who is acting; tell whether a name was given."""
        sentence = "Every action goes into the journal with a name. Who is acting?"
        name = AskText.ask(self._screen, "Name", sentence, self.person)
        if name:
            self.person = name
            self._screen.alarms.show_person(name)
        return bool(name)

    # Alarms

    def silence(self) -> None:
        """Stop the tone; asks nobody first."""
        self._send(Act("", "silence", "*", self.person or UNNAMED))

    def acknowledge(self) -> None:
        """Acknowledge the selected alarms; with nothing to do there, go to the next one."""
        selected = self._screen.alarms.selected_alarms()
        if any(alarm.is_unacknowledged for alarm in selected):
            self._acknowledge_these(selected)
        else:
            self._screen.alarms.select_first_waiting()

    def acknowledge_page(self) -> None:
        """Acknowledge what can be seen: nobody acknowledges what they have not seen."""
        self._acknowledge_these(self._screen.alarms.visible_alarms())

    def acknowledge_all(self) -> None:
        """Acknowledge everything, once the person is sure; only what was there when asked."""
        waiting = self._screen.alarms.waiting_alarms()
        hidden = len(waiting) - sum(
            alarm.is_unacknowledged for alarm in self._screen.alarms.visible_alarms()
        )
        sentence = f"Acknowledge all {len(waiting)} alarms? {hidden} of them are out of sight."
        yes = "Acknowledge all  Enter"
        if hidden > 0 and not AskSure.ask(self._screen, "Acknowledge all", sentence, yes):
            return
        self._acknowledge_these(waiting)

    def _acknowledge_these(self, alarms: Sequence[AlarmRow]) -> None:
        """Acknowledge those of *alarms* that want it; in one act, unless they are very many."""
        for ids in subjects(alarm.id for alarm in alarms if alarm.is_unacknowledged):
            if not self._is_named():
                return
            self._send(Act("", "acknowledge", ids, self.person))

    def reset(self) -> None:
        """Reset the selected alarms that await it; the engine says why if it refuses."""
        for alarm in self._screen.alarms.selected_alarms():
            if self._is_named():
                self._send(Act("", "reset", alarm.id, self.person))

    # Limits

    def _limit(self, verb: str) -> str:
        """Ask which limit of the selected channel is meant, or find it without a question."""
        screen, model = self._screen, self._desk.model
        if model is None:
            return ""
        tags = [row.key for row in screen.channels.selected_rows()]
        choices = limit_choices(model, tags[0]) if tags and screen.channels.hasFocus() else ()
        if choices:
            return AskLimit.ask(screen, verb, choices) or ""
        limit = "" if screen.channels.hasFocus() and tags else self._selected_limit()
        if not limit:
            self._tell(f"{verb}: {_NO_LIMIT}")
        return limit

    def _selected_limit(self) -> str:
        """Give the limit of the register's line where the keyboard is, else of the alarm."""
        if self._screen.register.table.hasFocus():
            row = self._screen.register.selected_row()
            return row.limit if row is not None else ""
        selected = self._screen.alarms.selected_alarms()
        return selected[0].id if selected else ""

    def _about(self, limit: str) -> About | None:
        """Say what is asked about; None where it is unknown, or nobody gives a name."""
        model = self._desk.model
        if model is None or limit not in model.index.limits or not self._is_named():
            return None
        return About(limit_title(model, limit), self.person, needs_second(model, limit))

    def _state(self, limit: str) -> AlarmState:
        """Give where an alarm stands."""
        model = self._desk.model
        known = model.alarms.get(limit) if model is not None else None
        return known or AlarmState(limit)

    def shelve(self) -> None:
        """Shelve a limit, or take it back."""
        limit = self._limit("Shelve")
        about = self._about(limit)
        if about is None:
            return
        if self._state(limit).is_shelved:
            self._send(Act("", "unshelve", limit, self.person))
            return
        shelf = AskShelf.ask(self._screen, about)
        if shelf is not None:
            seconds = shelf.minutes * 60.0
            act = Act("", "shelve", limit, self.person, shelf.reason, seconds, shelf.second)
            self._send(act)

    def out_of_service(self) -> None:
        """Take a limit out of service, or return it."""
        limit = self._limit("Take out of service")
        about = self._about(limit)
        if about is None:
            return
        if self._state(limit).is_out_of_service:
            self._send(Act("", "return_to_service", limit, self.person))
            return
        agreed = AskService.ask(self._screen, about)
        if agreed is not None:
            why, second = agreed.reason, agreed.second
            self._send(Act("", "out_of_service", limit, self.person, why, second=second))

    def edit(self) -> None:
        """Change a limit for the rest of the run."""
        limit, model = self._limit("Edit"), self._desk.model
        form = edit_form(model, limit) if model is not None else None
        if form is None or not self._is_named():
            return
        agreed = AskEdit.ask(self._screen, form, self.person)
        if agreed is not None and agreed.verdict is not None:
            why, second = agreed.reason, agreed.second
            changes = agreed.verdict.changes
            self._send(Act("", "edit_limit", limit, self.person, why, 0.0, second, changes))

    def force(self) -> None:
        """Set the selected channel's value by hand, or let it go."""
        model, tag = self._desk.model, self._channel()
        form = force_form(model, tag) if model is not None else None
        if model is not None and form is None:
            self._tell("Force a value: select a measured channel in the table (F2) first")
        if model is None or form is None or not self._is_named():
            return
        if tag in model.forced:
            self._send(Act("", "unforce", tag, self.person))
            return
        force = AskForce.ask(self._screen, form, self.person)
        if force is not None:
            changes = {"value": force.value}
            act = Act(
                "", "force", tag, self.person, force.reason, force.minutes * 60.0,
                force.second, changes,
            )  # fmt: skip
            self._send(act)

    def _channel(self) -> str:
        """Find the channel that is meant: the register's line, else the channel table's."""
        if self._screen.register.table.hasFocus():
            row = self._screen.register.selected_row()
            return row.tag if row is not None else ""
        tags = [row.key for row in self._screen.channels.selected_rows()]
        return tags[0] if tags else ""

    # The run

    def phase(self) -> None:
        """List the phases, and enter one."""
        model = self._desk.model
        if model is None or not model.index.stand.phases:
            return
        rows = phase_rows(model, self._desk.shown_ns(time.monotonic_ns()))
        name = AskPlace.ask_phase(self._screen, rows)
        if name is not None:
            title = model.index.phase_title(name)
            self._enter("enter_phase", name, f"Enter phase {title} now?")

    def mode(self) -> None:
        """List the modes, and enter one."""
        model = self._desk.model
        if model is None or not model.index.stand.modes:
            return
        rows = mode_rows(model, self._desk.shown_ns(time.monotonic_ns()))
        name = AskPlace.ask_mode(self._screen, rows)
        if name is not None:
            self._enter("enter_mode", name, f"Enter mode {model.index.mode_title(name)} now?")

    def _enter(self, verb: Verb, name: str, sentence: str) -> None:
        """Enter a phase or a mode, once the person is sure."""
        is_sure = AskSure.ask(self._screen, "Are you sure?", sentence, "Yes  Enter")
        if is_sure and self._is_named():
            self._send(Act("", verb, name, self.person))

    def note(self) -> None:
        """Write a note into the journal."""
        sentence = "What should stand in the journal, with this moment's time?"
        text = AskText.ask(self._screen, "Note", sentence, yes="Write")
        if text and self._is_named():
            self._send(Act("", "note", "", self.person, text))

    def lamp_test(self) -> None:
        """Show every mark, colour and tone for a moment; on record."""
        if self._is_named():
            mono_ns = time.monotonic_ns()
            self._desk.lamp.begin(mono_ns, self._desk.sounding(mono_ns))
            self._send(Act("", "lamp_test", "", self.person))

    def copy_register(self) -> None:
        """Copy the register as text."""
        text = self._desk.register_text(time.monotonic_ns())
        if text:
            QApplication.clipboard().setText(text)
