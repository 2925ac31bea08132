"""Tests for monitor.display.theme.shapes.

Source: painted pixels, counted here.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from pytestqt.qtbot import QtBot

from monitor.display.state.severity import PRIORITIES
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.shapes import (
    draw_arrow,
    draw_crossed,
    draw_first,
    draw_hatch,
    draw_mark,
)

SIZE = 24
BOX = QRectF(0, 0, SIZE, SIZE)


def painted(draw: Callable[[QPainter], None], behind: str = PALETTE.panel) -> QImage:
    """Paint on a plain picture."""
    image = QImage(SIZE, SIZE, QImage.Format.Format_RGB32)
    image.fill(QColor(behind))
    painter = QPainter(image)
    draw(painter)
    painter.end()
    return image


def count(image: QImage, colour: str) -> int:
    """Count the pixels of exactly this colour."""
    wanted = QColor(colour)
    return sum(image.pixelColor(x, y) == wanted for x in range(SIZE) for y in range(SIZE))


def mark(priority: str, *, is_filled: bool) -> QImage:
    """Paint a mark."""
    return painted(lambda p: draw_mark(p, BOX, priority, PALETTE, is_filled=is_filled))


@pytest.mark.parametrize("priority", PRIORITIES)
def test_a_mark_is_filled_while_it_wants_attention_and_an_outline_after(
    qtbot: QtBot, priority: str
) -> None:
    colour = PALETTE.of_priority(priority)

    filled = count(mark(priority, is_filled=True), colour)
    outline = count(mark(priority, is_filled=False), colour)

    assert filled > 120
    assert outline < filled / 2


def test_each_priority_has_a_shape_of_its_own(qtbot: QtBot) -> None:
    covered = set()
    for priority in PRIORITIES:
        image = mark(priority, is_filled=True)
        panel = QColor(PALETTE.panel)
        covered.add(
            tuple(image.pixelColor(x, y) == panel for x in range(SIZE) for y in range(SIZE))
        )

    assert len(covered) == len(PRIORITIES)


def test_the_number_is_written_in_ink_on_a_filled_mark(qtbot: QtBot) -> None:
    assert count(mark("top", is_filled=True), PALETTE.ink) > 0
    assert count(mark("top", is_filled=False), PALETTE.ink) == 0


def test_stripes_leave_most_of_what_is_below_to_be_seen(qtbot: QtBot) -> None:
    image = painted(lambda p: draw_hatch(p, BOX, PALETTE))

    left = count(image, PALETTE.panel) / SIZE**2
    assert 0.5 < left < 0.95


def test_stripes_can_be_seen_on_a_filled_colour(qtbot: QtBot) -> None:
    image = painted(lambda p: draw_hatch(p, BOX, PALETTE, is_on_fill=True), PALETTE.top)

    assert count(image, PALETTE.top) < SIZE**2


def test_stripes_stay_in_their_box(qtbot: QtBot) -> None:
    image = painted(lambda p: draw_hatch(p, QRectF(8, 8, 8, 8), PALETTE))

    outside = [(x, y) for x in range(SIZE) for y in range(8)]
    assert all(image.pixelColor(x, y) == QColor(PALETTE.panel) for x, y in outside)


@pytest.mark.parametrize(("trend", "goes"), [(2, "up"), (-2, "down")])
def test_an_arrow_points_where_the_value_goes(qtbot: QtBot, trend: int, goes: str) -> None:
    image = painted(lambda p: draw_arrow(p, BOX, trend, QColor(PALETTE.text)))
    panel = QColor(PALETTE.panel)

    def ink(rows: range) -> int:
        return sum(image.pixelColor(x, y) != panel for x in range(SIZE) for y in rows)

    upper, lower = ink(range(SIZE // 2)), ink(range(SIZE // 2, SIZE))
    assert (upper > lower) == (goes == "up")


def test_a_steady_value_has_a_level_line_and_an_unknown_one_nothing(qtbot: QtBot) -> None:
    level = painted(lambda p: draw_arrow(p, BOX, 0, QColor(PALETTE.text)))
    nothing = painted(lambda p: draw_arrow(p, BOX, None, QColor(PALETTE.text)))

    assert count(level, PALETTE.panel) < SIZE**2
    assert count(nothing, PALETTE.panel) == SIZE**2


def first(*, is_filled: bool) -> QImage:
    """Paint the tag of a first-out."""
    return painted(lambda p: draw_first(p, BOX, PALETTE, "1st", is_filled=is_filled))


def test_a_first_out_is_filled_where_it_is_known_and_an_outline_where_not(
    qtbot: QtBot,
) -> None:
    known, unsure = first(is_filled=True), first(is_filled=False)

    assert count(known, PALETTE.text) > 150
    assert 0 < count(unsure, PALETTE.text) < 100


def test_the_tag_of_a_first_out_points_ahead(qtbot: QtBot) -> None:
    image = first(is_filled=True)

    assert image.pixelColor(22, 12) == QColor(PALETTE.text)
    assert image.pixelColor(23, 1) == QColor(PALETTE.panel)


def test_a_crossed_mark_has_a_line_from_corner_to_corner(qtbot: QtBot) -> None:
    image = painted(lambda p: draw_crossed(p, BOX, PALETTE))

    assert image.pixelColor(12, 12) == QColor(PALETTE.text)
    assert image.pixelColor(2, 2) == QColor(PALETTE.panel)
