"""Tests for monitor.display.widgets.rows_model.

Source: Qt's own checker of models (pytest-qt's qtmodeltester); the rest hand-worked here.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE
from monitor.display.widgets.rows_model import ROW_ROLE, Column, RowsModel, TableRow

COLUMNS = (Column("A", 50, is_right=True), Column("B", 50, is_coloured=True))


def row(key: str, text: str = "", **more: object) -> TableRow:
    """Make a row."""
    return TableRow(key, (key, text), **more)  # type: ignore[arg-type]


def filled(*keys: str) -> RowsModel:
    """Make a model with these rows."""
    model = RowsModel(COLUMNS)
    model.show_rows([row(key) for key in keys])
    return model


def test_qts_checker_has_nothing_to_say(qtmodeltester: ModelTester) -> None:
    qtmodeltester.check(filled("x", "y"))


@pytest.mark.usefixtures("qtbot")
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(st.permutations("abcdefg").map(lambda p: p[: ord(p[0]) % 7 + 1])))
def test_rows_come_go_and_move_and_whoever_holds_on_to_one_keeps_it(
    steps: list[list[str]],
) -> None:
    model = filled("a", "c")
    for keys in steps:
        held = {
            one.key: QPersistentModelIndex(model.index(n, 0))
            for n, one in enumerate(model.rows)
        }

        model.show_rows([row(key) for key in keys])

        assert [one.key for one in model.rows] == keys
        for key, index in held.items():
            assert index.isValid() == (key in keys)
            if index.isValid():
                assert model.rows[index.row()].key == key


def test_qts_checker_watches_rows_come_go_and_move(qtmodeltester: ModelTester) -> None:
    model = filled("a", "b", "c", "d")
    qtmodeltester.check(model)

    model.show_rows([row(key) for key in "dxa"])
    model.show_rows([row(key) for key in "axdy"])

    assert [one.key for one in model.rows] == list("axdy")


def test_a_changed_row_is_told_of_and_an_unchanged_table_is_not(qtbot: QtBot) -> None:
    model = filled("a", "b", "c")
    told: list[tuple[int, int, int]] = []
    model.dataChanged.connect(
        lambda start, end: told.append((start.column(), start.row(), end.row()))
    )

    model.show_rows([row("a"), row("b"), row("c")])
    assert told == []
    model.show_rows([row("a"), row("b", "new"), row("c", "new")])

    assert told == [(1, 1, 2)]
    assert model.index(1, 1).data() == "new"


@pytest.mark.parametrize(
    "changed",
    [TableRow("b", ("mark", "")), TableRow("b", ("b", ""), severity=Severity.TOP)],
)
def test_a_new_mark_or_colour_is_told_of_for_the_whole_row(
    qtbot: QtBot, changed: TableRow
) -> None:
    model = filled("a", "b")
    columns: list[int] = []
    model.dataChanged.connect(lambda start, _end: columns.append(start.column()))

    model.show_rows([row("a"), changed])

    assert columns == [0, 1]


def test_a_cell_gives_text_alignment_tip_and_its_row(qtbot: QtBot) -> None:
    model = RowsModel(COLUMNS)
    one = row("a", "text", tip="more")
    model.show_rows([one])
    index = model.index(0, 0)

    assert index.data(ROW_ROLE) is one
    assert index.data(Qt.ItemDataRole.ToolTipRole) == "more"
    assert index.data(Qt.ItemDataRole.TextAlignmentRole) & Qt.AlignmentFlag.AlignRight
    assert index.data(Qt.ItemDataRole.AccessibleTextRole) == "a"
    assert index.data(Qt.ItemDataRole.DecorationRole) is None


def test_colour_goes_to_the_columns_that_want_it_and_headings_are_quiet(qtbot: QtBot) -> None:
    model = RowsModel(COLUMNS)
    model.show_rows([row("a", severity=Severity.TOP), row("h", is_heading=True)])

    def colour(place: int, column: int) -> object:
        return model.index(place, column).data(Qt.ItemDataRole.ForegroundRole)

    assert colour(0, 0) == QColor(PALETTE.text)
    assert colour(0, 1) == QColor(PALETTE.top)
    assert colour(1, 1) == QColor(PALETTE.quiet)


def test_headings_cannot_be_selected(qtbot: QtBot) -> None:
    model = RowsModel(COLUMNS)
    model.show_rows([row("a"), row("h", is_heading=True)])

    selectable = Qt.ItemFlag.ItemIsSelectable
    assert model.index(0, 0).flags() & selectable
    assert not model.index(1, 0).flags() & selectable
    assert model.flags(QModelIndex()) == Qt.ItemFlag.NoItemFlags


def test_a_row_with_too_few_cells_is_empty_there(qtbot: QtBot) -> None:
    model = RowsModel(COLUMNS)
    model.show_rows([TableRow("a", ("only",))])

    assert model.index(0, 1).data() == ""


def test_columns_have_their_headings(qtbot: QtBot) -> None:
    model = filled()
    across = Qt.Orientation.Horizontal

    assert model.headerData(0, across) == "A"
    assert model.headerData(0, Qt.Orientation.Vertical) is None
    align = Qt.ItemDataRole.TextAlignmentRole
    assert model.headerData(0, across, align) & Qt.AlignmentFlag.AlignRight
    assert model.headerData(0, across, Qt.ItemDataRole.DecorationRole) is None


def test_a_row_is_found_by_its_key(qtbot: QtBot) -> None:
    assert (filled("a", "b").row_of("b"), filled("a").row_of("z")) == (1, -1)
