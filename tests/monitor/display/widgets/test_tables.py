"""Tests for monitor.display.widgets.tables.

Source: hand-worked here.
"""

from __future__ import annotations

from PySide6.QtGui import QColor
from pytestqt.qtbot import QtBot

from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import LINE_PX, ROW_PX, RowsTable

COLUMNS = (Column("A", 60), Column("B", 60, is_stretched=True))


def table(qtbot: QtBot, *keys: str, many: bool = False, placeholder: str = "") -> RowsTable:
    """Show a table with these rows; a key in capitals is a heading."""
    made = RowsTable("t", COLUMNS, {}, many=many, placeholder=placeholder)
    qtbot.addWidget(made)
    made.setStyleSheet(style_sheet(PALETTE))
    made.show_rows([TableRow(key, (key, "b"), is_heading=key.isupper()) for key in keys])
    made.resize(300, 110)
    made.show()
    return made


def test_a_heading_spans_the_table_wherever_it_moves(qtbot: QtBot) -> None:
    made = table(qtbot, "H", "a")
    assert (made.columnSpan(0, 0), made.columnSpan(1, 0)) == (2, 1)

    made.show_rows([TableRow("a", ("a", "b")), TableRow("H", ("H",), is_heading=True)])

    assert (made.columnSpan(0, 0), made.columnSpan(1, 0)) == (1, 2)


def test_the_first_row_that_is_no_heading_is_selected_and_a_choice_is_left_alone(
    qtbot: QtBot,
) -> None:
    made = table(qtbot, "H", "a", "b")
    made.select_first()
    assert [row.key for row in made.selected_rows()] == ["a"]

    made.select_key("b")
    made.select_first()

    assert [row.key for row in made.selected_rows()] == ["b"]


def test_a_table_of_headings_has_nothing_to_select(qtbot: QtBot) -> None:
    made = table(qtbot, "H")

    made.select_first()

    assert made.selected_rows() == []


def test_the_selection_goes_with_its_row(qtbot: QtBot) -> None:
    made = table(qtbot, "a", "b")
    made.select_key("b")

    made.show_rows([TableRow(key, (key, "new")) for key in "bxa"])

    assert [row.key for row in made.selected_rows()] == ["b"]


def test_several_rows_can_be_selected_where_that_makes_sense(qtbot: QtBot) -> None:
    several, one = table(qtbot, "a", "b", many=True), table(qtbot, "a", "b")
    several.selectAll()
    one.selectAll()

    assert len(several.selected_rows()) == 2
    assert len(one.selected_rows()) < 2


def test_only_rows_seen_from_top_to_bottom_are_visible(qtbot: QtBot) -> None:
    made = table(qtbot, *"abcdefghij")
    qtbot.waitExposed(made)

    seen = [row.key for row in made.visible_rows()]

    assert seen == list("abcdefghij")[: len(seen)]
    assert 0 < len(seen) < 10
    made.scrollToBottom()
    assert "a" not in [row.key for row in made.visible_rows()]
    assert "j" in [row.key for row in made.visible_rows()]


def test_an_empty_table_says_that_there_is_nothing(qtbot: QtBot) -> None:
    def written(made: RowsTable) -> int:
        image = made.viewport().grab().toImage()
        quiet = QColor(PALETTE.quiet)
        cells = [(x, y) for x in range(image.width()) for y in range(image.height())]
        return sum(image.pixelColor(x, y) == quiet for x, y in cells)

    assert written(table(qtbot, placeholder="No alarms")) > 10
    assert written(table(qtbot)) == 0


def test_rows_may_have_two_lines_and_headings_keep_one(qtbot: QtBot) -> None:
    made = table(qtbot)
    made.set_lines(2)

    made.show_rows([TableRow("h", ("H",), is_heading=True), TableRow("a", ("A", "B"))])

    assert [made.rowHeight(n) for n in (0, 1)] == [ROW_PX, ROW_PX + LINE_PX]
    made.show_rows([TableRow("a", ("A", "B")), TableRow("h", ("H",), is_heading=True)])
    assert [made.rowHeight(n) for n in (0, 1)] == [ROW_PX + LINE_PX, ROW_PX]
