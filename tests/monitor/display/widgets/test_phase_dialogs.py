"""Tests for monitor.display.widgets.phase_dialogs.

Source: hand-worked here. Each question is answered by keys alone.
"""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot

from monitor.display.state.phases import PhaseRow, mode_rows, phase_rows
from monitor.display.widgets.phase_dialogs import AskPlace
from monitor.display.widgets.tables import RowsTable
from monitor.link.messages import PhaseState
from tests.monitor.display.made import NOON, NS
from tests.monitor.display.rich import rich_model
from tests.monitor.display.widgets.answering import Step, answer, text


def phases(now: str = "fill") -> tuple[PhaseRow, ...]:
    """List the phases four minutes after noon."""
    return phase_rows(rich_model(phase=PhaseState(now, NOON)), NOON + 240 * NS)


def pressed(qtbot: QtBot, *keys: Qt.Key) -> Step:
    """Press keys where the cursor is."""

    def step(dialog: QDialog) -> None:
        for key in keys:
            qtbot.keyClick(dialog.focusWidget(), key)

    return step


def table(dialog: QDialog) -> RowsTable:
    """Give the list of phases."""
    found = dialog.findChild(RowsTable, "question_places")
    assert found is not None
    return found


def test_the_next_phase_is_offered_with_what_is_normal_in_it(qtbot: QtBot) -> None:
    notes: list[str] = []

    def step(dialog: QDialog) -> None:
        notes.append(text(dialog, "question_note"))
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Return)

    answer(step)

    assert AskPlace.ask_phase(None, phases()) == "soak"
    assert notes == ["Steady. Entered by itself from fill when PT-1 above 8 bar."]


def test_the_list_says_how_long_each_phase_is_planned_and_how_long_is_left(
    qtbot: QtBot,
) -> None:
    cells: list[tuple[str, ...]] = []

    def step(dialog: QDialog) -> None:
        cells.extend(row.cells for row in table(dialog).rows.rows)
        dialog.reject()

    answer(step)
    AskPlace.ask_phase(None, phases())

    assert cells[0][:3] == (
        "Fill", "10 min, at most 15 min", "now, for 4 min 00 s, 6 min 00 s left",
    )  # fmt: skip
    assert cells[1][3:] == ("hold", "from fill when PT-1 above 8 bar")


def test_another_phase_is_chosen_by_the_arrows(qtbot: QtBot) -> None:
    answer(pressed(qtbot, Qt.Key.Key_Up, Qt.Key.Key_Return))

    assert AskPlace.ask_phase(None, phases()) == "fill"


def test_escape_enters_nothing(qtbot: QtBot) -> None:
    answer(pressed(qtbot, Qt.Key.Key_Escape))

    assert AskPlace.ask_phase(None, phases()) is None


@pytest.mark.parametrize(("now", "offered"), [("rest", "rest"), ("unknown", "fill")])
def test_behind_the_last_phase_that_one_is_offered_and_else_the_first(
    qtbot: QtBot, now: str, offered: str
) -> None:
    answer(pressed(qtbot, Qt.Key.Key_Return))

    assert AskPlace.ask_phase(None, phases(now)) == offered


def test_a_mode_is_chosen_like_a_phase(qtbot: QtBot) -> None:
    notes: list[str] = []

    def step(dialog: QDialog) -> None:
        notes.append(text(dialog, "question_note"))
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Return)

    answer(step)

    rows = mode_rows(rich_model(), NOON + 60 * NS)
    assert AskPlace.ask_mode(None, rows) == "loop_only"
    assert notes == ["Cabin follows."]
