"""Tests for monitor.display.theme.sheet.

Source: hand-worked here; what is painted is looked at in tests.monitor.display.widgets.
"""

from __future__ import annotations

import re

from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import SMALL_PX, restyle, style_sheet


def test_qt_understands_every_line(qtbot: QtBot, capfd: object) -> None:
    widget = QWidget()
    qtbot.addWidget(widget)

    widget.setStyleSheet(style_sheet(PALETTE))
    widget.ensurePolished()

    err = getattr(capfd, "readouterr")().err  # noqa: B009 - pytest's fixture has no type
    assert "Could not parse" not in err


def test_no_type_is_smaller_than_the_smallest() -> None:
    sizes = [int(px) for px in re.findall(r"font-size: (\d+)px", style_sheet(PALETTE))]

    assert sizes
    assert min(sizes) == SMALL_PX


def test_a_label_takes_the_colour_of_its_severity_and_gives_it_back(qtbot: QtBot) -> None:
    parent = QWidget()
    qtbot.addWidget(parent)
    parent.setStyleSheet(style_sheet(PALETTE))
    label = QLabel("x", parent)
    seen = []
    for severity in (Severity.TOP, Severity.BAD, Severity.CALM):
        restyle(label, severity)
        seen.append(label.palette().color(QPalette.ColorRole.WindowText))

    assert seen == [QColor(PALETTE.top), QColor(PALETTE.bad), QColor(PALETTE.text)]


def test_the_same_severity_again_costs_nothing(qtbot: QtBot) -> None:
    label = QLabel("x")
    qtbot.addWidget(label)
    restyle(label, "top")
    label.setStyleSheet("")

    restyle(label, "top")

    assert label.property("severity") == "top"
