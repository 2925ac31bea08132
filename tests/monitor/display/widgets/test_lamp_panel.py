"""Tests for monitor.display.widgets.lamp_panel.

Source: hand-worked here; pictures are looked at pixel by pixel.
"""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QWidget

from monitor.display.state.lamp import Lamps
from monitor.display.theme.palette import PALETTE
from monitor.display.widgets.lamp_panel import LampPanel

LIT = Lamps(True, "top", "LAMP TEST")
DARK = Lamps(False, "top", "LAMP TEST")


def panel(window: QWidget) -> LampPanel:
    """Put a panel below a strip of 40 pixels."""
    below = QWidget(window)
    below.setGeometry(0, 0, 700, 40)
    return LampPanel(window, below)


def count(made: LampPanel, colour: str) -> int:
    """Count the pixels of a colour."""
    image, wanted = made.grab().toImage(), QColor(colour)
    cells = [(x, y) for x in range(image.width()) for y in range(image.height())]
    return sum(image.pixelColor(x, y) == wanted for x, y in cells)


def test_it_is_seen_during_the_test_only_and_moves_nothing(window: QWidget) -> None:
    made = panel(window)
    assert not made.isVisible()

    made.show_lamps(LIT)
    assert made.isVisible()
    assert (made.x(), made.y(), made.width()) == (0, 40, window.width())

    made.show_lamps(None)
    assert not made.isVisible()


@pytest.mark.parametrize("name", ["top", "high", "medium", "low", "doubt", "bad", "quiet"])
def test_every_colour_is_lit(window: QWidget, name: str) -> None:
    made = panel(window)

    made.show_lamps(LIT)

    assert count(made, getattr(PALETTE, name)) > 20


def test_marks_change_between_filled_and_outlined(window: QWidget) -> None:
    made = panel(window)
    made.show_lamps(LIT)
    lit = made.grab().toImage()

    made.show_lamps(DARK)

    assert made.grab().toImage() != lit
