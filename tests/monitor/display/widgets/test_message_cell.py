"""Tests for monitor.display.widgets.message_cell.

Source: hand-worked here; pictures are looked at pixel by pixel.
"""

from __future__ import annotations

import dataclasses

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from pytestqt.qtbot import QtBot

from monitor.display.state.alarm_rows import AlarmRow
from monitor.display.theme.palette import PALETTE
from monitor.display.widgets.message_cell import paint_message
from monitor.display.widgets.rows_model import TableRow

PLAIN = AlarmRow("PT-1.low", "high", "PT-1", "Loop low", "active", "", "", "", *[False] * 5)


def painted(width: int = 300, **changes: object) -> QImage:
    """Paint the message of an alarm, changed, 22 pixels high."""
    image = QImage(width, 22, QImage.Format.Format_RGB32)
    image.fill(QColor(PALETTE.panel))
    painter = QPainter(image)
    row = dataclasses.replace(PLAIN, **changes)  # type: ignore[arg-type]
    paint_message(painter, QRectF(0, 0, width, 22), TableRow("k", ("x",), payload=row))
    painter.end()
    return image


def inked(image: QImage, first: int = 0, last: int = 10_000) -> list[int]:
    """Give the columns between two with anything in them."""
    ground = QColor(PALETTE.panel)
    return [
        x
        for x in range(first, min(last, image.width()))
        if any(image.pixelColor(x, y) != ground for y in range(image.height()))
    ]


def has(image: QImage, colour: str) -> int:
    """Count the pixels of a colour."""
    wanted = QColor(colour)
    cells = [(x, y) for x in range(image.width()) for y in range(image.height())]
    return sum(image.pixelColor(x, y) == wanted for x, y in cells)


def test_a_plain_message_begins_at_the_left(qtbot: QtBot) -> None:
    assert inked(painted())[0] < 10


def test_a_consequence_stands_in_from_the_left_behind_an_elbow(qtbot: QtBot) -> None:
    image = painted(is_behind=True)

    assert 10 in inked(image)
    assert inked(image, 22, 27) == []


def test_a_first_out_has_a_filled_tag_and_an_undetermined_one_an_outline(qtbot: QtBot) -> None:
    first, unsure = painted(first_out="first"), painted(first_out="undetermined")

    assert has(first, PALETTE.text) > has(unsure, PALETTE.text) + 150
    assert inked(unsure) != inked(painted())


def test_abort_is_written_in_a_box_of_the_top_colour(qtbot: QtBot) -> None:
    assert has(painted(is_abort=True), PALETTE.top) > 200
    assert has(painted(), PALETTE.top) == 0


def test_consequences_are_counted_at_the_right(qtbot: QtBot) -> None:
    wide, narrow = painted(behind=3), painted(120, behind=3)

    assert inked(wide)[-1] > 285
    words, number = inked(wide, 150), inked(narrow, 80)
    assert 0 < len(number) < len(words)


def test_what_is_inhibited_is_written_quietly(qtbot: QtBot) -> None:
    assert has(painted(is_inhibited=True), PALETTE.text) == 0


def test_a_long_message_ends_before_the_edge(qtbot: QtBot) -> None:
    image = painted(100, message="A message that is much too long for this cell")

    assert inked(image)[-1] < 97


def test_a_row_of_something_else_is_left_empty(qtbot: QtBot) -> None:
    image = QImage(50, 22, QImage.Format.Format_RGB32)
    image.fill(QColor(PALETTE.panel))
    painter = QPainter(image)

    paint_message(painter, QRectF(0, 0, 50, 22), TableRow("k", ("x",)))
    painter.end()

    assert inked(image) == []
