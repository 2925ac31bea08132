"""Tests for monitor.display.widgets.labels.

Source: hand-worked here.
"""

from __future__ import annotations

from PySide6.QtGui import QColor
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from monitor.display.state.severity import Severity
from monitor.display.state.strip import Fact
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet
from monitor.display.widgets.labels import ElidedLabel, FactCell, label


def test_a_label_has_its_role_and_takes_markup_literally(qtbot: QtBot) -> None:
    made = label("<b>x</b>", "caption", "name")
    qtbot.addWidget(made)

    assert (made.property("role"), made.objectName()) == ("caption", "name")
    assert made.text() == "<b>x</b>"


def test_a_fact_is_shown_with_its_caption_and_what_more_there_is(qtbot: QtBot) -> None:
    cell = FactCell("Record", "recording")
    qtbot.addWidget(cell)

    cell.show_fact(Fact("NOT RECORDING", Severity.BAD, "disk full"), "Record since noon")

    text = cell.findChild(QLabel, "recording")
    caption = cell.findChild(QLabel, "recording_caption")
    assert text is not None
    assert caption is not None
    assert (text.text(), text.property("severity")) == ("NOT RECORDING", "bad")
    assert caption.text() == "Record since noon"
    assert cell.toolTip() == "disk full"


def test_an_elided_label_tells_all_as_a_tooltip(qtbot: QtBot) -> None:
    made = ElidedLabel("fact", "x")
    qtbot.addWidget(made)
    made.setStyleSheet(style_sheet(PALETTE))
    made.resize(60, 24)

    made.say("A text that is much too long for sixty pixels")
    made.show()

    assert made.toolTip() == made.text()
    image = made.grab().toImage()
    colours = {image.pixelColor(x, y).name() for x in range(60) for y in range(24)}
    assert QColor(PALETTE.text).name() in colours
    assert made.minimumSizeHint().width() == 40
