"""Tests for monitor.display.widgets.banner.

Source: hand-worked here; the picture is looked at pixel by pixel.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from monitor.display.state.connection import Freshness
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet
from monitor.display.widgets.banner import Banner, Veil


def placed(window: QWidget, banner: Banner) -> None:
    """Put a banner into a window."""
    QVBoxLayout(window).addWidget(banner)


def test_a_banner_is_there_only_while_there_is_something_to_say(window: QWidget) -> None:
    banner = Banner("b")
    placed(window, banner)
    assert not banner.isVisible()

    banner.show_freshness(Freshness(True, 5, "LINK LOST", "Trying again."))
    assert banner.isVisible()
    detail = banner.findChild(QLabel, "b_detail")
    assert detail is not None
    assert detail.text() == "Trying again."

    banner.show_freshness(Freshness())
    assert not banner.isVisible()


def test_the_headline_is_ink_on_a_loud_band(window: QWidget) -> None:
    banner = Banner("b")
    placed(window, banner)
    banner.show_banner("LINK LOST", "")

    image = banner.grab().toImage()

    cells = [(x, y) for x in range(image.width()) for y in range(image.height())]
    colours = [image.pixelColor(x, y) for x, y in cells]
    assert colours.count(QColor(PALETTE.bad)) > len(cells) * 0.7
    assert colours.count(QColor(PALETTE.ink)) > 20


def test_a_banner_that_can_be_closed_is_closed_and_comes_again_with_news(
    qtbot: QtBot, window: QWidget
) -> None:
    banner = Banner("b", can_close=True)
    placed(window, banner)
    banner.show_banner("FAULT", "one")
    button = banner.findChild(QPushButton, "b_close")
    assert button is not None

    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert not banner.isVisible()
    banner.show_banner("FAULT", "two")

    assert banner.isVisible()


def test_a_veil_covers_all_of_its_widget_and_lets_it_be_read(qtbot: QtBot) -> None:
    below = QWidget()
    qtbot.addWidget(below)
    below.setStyleSheet(style_sheet(PALETTE))
    below.resize(200, 100)
    below.show()
    veil = Veil(below)

    veil.show_frozen(True)

    assert veil.isVisible()
    assert veil.size() == below.size()
    image = below.grab().toImage()
    cells = [(x, y) for x in range(200) for y in range(100)]
    plain = sum(image.pixelColor(x, y) == QColor(PALETTE.ground) for x, y in cells)
    assert 0.6 < plain / len(cells) < 0.95
    below.resize(300, 100)
    veil.show_frozen(True)
    assert veil.width() == 300
    veil.show_frozen(False)
    assert not veil.isVisible()
