"""Tests for monitor.display.widgets.limit_dialogs.

Source: hand-worked here: a shelf has a time and a reason, top priority takes a second name.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QListWidget, QSpinBox, QWidget
from pytestqt.qtbot import QtBot

from monitor.display.state.edit import Choice, EditForm, edit_form
from monitor.display.widgets.limit_dialogs import (
    About,
    Agreed,
    AskEdit,
    AskLimit,
    AskService,
    AskShelf,
)
from tests.monitor.display.rich import rich_model
from tests.monitor.display.widgets.answering import answer, line, text, typed, yes

HIGH = About("PT-1 high", "K. Vale", False)
TOP = About("PT-1 high-high", "K. Vale", True)
ESCAPE, RETURN = Qt.Key.Key_Escape, Qt.Key.Key_Return


def form(limit: str) -> EditForm:
    """Give the form of a limit."""
    made = edit_form(rich_model(), limit)
    assert made is not None
    return made


def test_a_shelf_needs_a_reason_and_has_a_time(qtbot: QtBot) -> None:
    def step(dialog: QDialog) -> None:
        minutes = dialog.findChild(QSpinBox, "question_minutes")
        assert minutes is not None
        assert (minutes.value(), minutes.minimum(), minutes.maximum()) == (30, 1, 720)
        minutes.setValue(45)
        typed(qtbot, "sensor in repair")(dialog)

    answer(step)

    assert AskShelf.ask(None, HIGH) == Agreed("sensor in repair", "", 45)


def test_the_time_of_a_shelf_can_be_read(qtbot: QtBot, window: QWidget) -> None:
    inked: list[int] = []

    def step(dialog: QDialog) -> None:
        minutes = dialog.findChild(QSpinBox, "question_minutes")
        assert minutes is not None
        image = minutes.grab().toImage()
        cells = [(x, y) for x in range(3, 60) for y in range(4, image.height() - 4)]
        inked.append(sum(image.pixelColor(x, y).lightness() > 120 for x, y in cells))
        dialog.reject()

    answer(step)
    AskShelf.ask(window, HIGH)

    assert inked[0] > 20


def test_escape_shelves_nothing(qtbot: QtBot) -> None:
    answer(typed(qtbot, "why", ESCAPE))

    assert AskShelf.ask(None, HIGH) is None


def test_what_is_missing_is_said_until_nothing_is(qtbot: QtBot) -> None:
    seen: list[tuple[str, bool]] = []

    def look(dialog: QDialog) -> None:
        seen.append((text(dialog, "question_missing"), yes(dialog).isEnabled()))

    def step(dialog: QDialog) -> None:
        look(dialog)
        line(dialog, "question_text").setText("broken")
        look(dialog)
        line(dialog, "question_second").setText("k. vale")
        look(dialog)
        line(dialog, "question_second").setText("M. Ito")
        look(dialog)
        qtbot.keyClick(dialog.focusWidget(), RETURN)

    answer(step)

    assert AskService.ask(None, TOP) == Agreed("broken", "M. Ito")
    assert seen == [
        ("Give a reason.", False),
        ("Top priority: a second person has to agree.", False),
        ("The second name has to be another person's.", False),
        ("", True),
    ]


def test_below_top_priority_nobody_asks_for_a_second_name(qtbot: QtBot) -> None:
    answer(typed(qtbot, "broken"))

    assert AskService.ask(None, HIGH) == Agreed("broken")


def test_an_edit_shows_old_and_new_and_gives_only_what_changed(qtbot: QtBot) -> None:
    told: list[str] = []

    def step(dialog: QDialog) -> None:
        told.append(text(dialog, "question_missing"))
        assert dialog.focusWidget() is line(dialog, "edit_setpoint")
        qtbot.keyClicks(dialog.focusWidget(), "8.5")
        told.append(text(dialog, "question_told"))
        line(dialog, "question_text").setText("noise")
        qtbot.keyClick(dialog.focusWidget(), RETURN)

    answer(step)

    agreed = AskEdit.ask(None, form("PT-1.high"), "K. Vale")

    assert agreed is not None
    assert agreed.verdict is not None
    assert (agreed.reason, agreed.verdict.changes) == ("noise", {"setpoint": 8.5})
    assert told == ["Nothing is changed yet.", "Setpoint 8 bar to 8.5 bar"]


def test_an_edit_is_made_by_the_keyboard_alone_from_field_to_field(qtbot: QtBot) -> None:
    passed: list[str] = []

    def step(dialog: QDialog) -> None:
        for _ in range(9):
            passed.append(dialog.focusWidget().objectName())
            qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Tab)
        passed.append(dialog.focusWidget().objectName())
        for name, written in (("edit_setpoint", "9.5"), ("question_text", "noise")):
            line(dialog, name).setFocus()
            line(dialog, name).selectAll()
            qtbot.keyClicks(dialog.focusWidget(), written)
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Tab)
        qtbot.keyClicks(dialog.focusWidget(), "M. Ito")
        qtbot.keyClick(dialog.focusWidget(), RETURN)

    answer(step)

    agreed = AskEdit.ask(None, form("PT-1.high_high"), "K. Vale")

    assert passed == [
        "edit_setpoint", "edit_setpoint_in.fill", "edit_setpoint_in.normal", "edit_deadband",
        "edit_on_delay_s", "edit_off_delay_s", "question_text", "question_second", "",
        "edit_setpoint",
    ]  # fmt: skip
    assert agreed is not None
    assert (agreed.reason, agreed.second) == ("noise", "M. Ito")


def test_an_edit_that_makes_no_sense_cannot_be_yes(qtbot: QtBot) -> None:
    seen: list[tuple[str, bool]] = []

    def step(dialog: QDialog) -> None:
        line(dialog, "question_text").setText("noise")
        line(dialog, "edit_deadband").setText("-2")
        seen.append((text(dialog, "question_missing"), yes(dialog).isEnabled()))
        qtbot.keyClick(dialog.focusWidget(), ESCAPE)

    answer(step)

    assert AskEdit.ask(None, form("PT-1.high"), "K. Vale") is None
    assert seen == [("deadband: cannot be below 0.", False)]


def test_an_edit_of_top_priority_takes_a_second_name(qtbot: QtBot) -> None:
    def step(dialog: QDialog) -> None:
        line(dialog, "edit_setpoint").setText("9.5")
        line(dialog, "question_text").setText("noise")
        assert not yes(dialog).isEnabled()
        line(dialog, "question_second").setText("M. Ito")
        qtbot.keyClick(dialog.focusWidget(), RETURN)

    answer(step)

    agreed = AskEdit.ask(None, form("PT-1.high_high"), "K. Vale")

    assert agreed is not None
    assert agreed.second == "M. Ito"


CHOICES = (Choice("PT-1.high", "high 8 bar"), Choice("PT-1.low", "low 2 bar"))


def test_a_limit_is_chosen_by_the_arrows(qtbot: QtBot) -> None:
    def step(dialog: QDialog) -> None:
        assert isinstance(dialog.focusWidget(), QListWidget)
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Down)
        qtbot.keyClick(dialog.focusWidget(), RETURN)

    answer(step)

    assert AskLimit.ask(None, "Edit", CHOICES) == "PT-1.low"


def test_no_limit_is_chosen_with_escape(qtbot: QtBot) -> None:
    answer(lambda dialog: qtbot.keyClick(dialog.focusWidget(), ESCAPE))

    assert AskLimit.ask(None, "Edit", CHOICES) is None
