"""Tests for monitor.display.widgets.title_strip.

Source: hand-worked here.
"""

from __future__ import annotations

import dataclasses

from PySide6.QtGui import QColor
from PySide6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from monitor.display.state.alarm_rows import PriorityCount, alarm_rows
from monitor.display.state.connection import Freshness
from monitor.display.state.fact import Fact
from monitor.display.state.severity import Severity
from monitor.display.state.strip import Strip, strip
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet
from monitor.display.widgets.title_strip import AlarmSummary, TitleStrip
from tests.monitor.display.made import NOON, NS, model


def state(**more: object) -> Strip:
    """Give the strip of the small run a minute after noon, changed."""
    run = model()
    made = strip(run, alarm_rows(run, NOON), NOON + 60 * NS, Freshness())
    return dataclasses.replace(made, **more)  # type: ignore[arg-type]


def shown(qtbot: QtBot, made: Strip) -> TitleStrip:
    """Show a strip."""
    widget = TitleStrip()
    qtbot.addWidget(widget)
    widget.setStyleSheet(style_sheet(PALETTE))
    widget.resize(1280, 52)
    widget.show()
    widget.show_strip(made)
    return widget


def text(widget: TitleStrip, name: str) -> str:
    """Read one label."""
    found = widget.findChild(QLabel, name)
    assert found is not None
    return found.text()


def test_every_fact_has_its_place(qtbot: QtBot) -> None:
    widget = shown(qtbot, state())

    names = ("stand", "phase", "phase_caption", "clock", "clock_caption", "run", "recording")
    assert [text(widget, name) for name in names] == [
        "Leak bench", "Fill", "Phase for 1 min 00 s", "12:01:00", "2026-03-01 UTC",
        "1 min 00 s", "recording",
    ]  # fmt: skip


def test_the_speed_is_hidden_while_it_is_natural(qtbot: QtBot) -> None:
    widget = shown(qtbot, state())
    speed = widget.findChild(QLabel, "speed")
    assert isinstance(speed, QWidget)
    assert not speed.isVisible()

    widget.show_strip(state(speed="×20"))

    assert speed.isVisible()
    assert text(widget, "speed") == "×20"


def test_frozen_clocks_look_frozen_and_say_so(qtbot: QtBot) -> None:
    widget = shown(qtbot, state(is_frozen=True))

    clock = widget.findChild(QLabel, "clock")
    assert clock is not None
    assert clock.property("severity") == "frozen"
    assert text(widget, "clock_caption") == "UTC, stopped"


def test_what_is_inhibited_is_counted(qtbot: QtBot) -> None:
    widget = shown(qtbot, state(inhibited=Fact("3", Severity.DOUBT)))

    assert text(widget, "inhibited") == "3"


def test_the_mode_is_hidden_on_a_stand_without_modes(qtbot: QtBot) -> None:
    widget = shown(qtbot, state())
    mode = widget.findChild(QLabel, "mode")
    assert isinstance(mode, QWidget)
    assert not mode.isVisible()

    widget.show_strip(state(mode=Fact("Loop only"), mode_for="3 min"))

    assert mode.isVisible()
    assert (text(widget, "mode"), text(widget, "mode_caption")) == (
        "Loop only",
        "Mode for 3 min",
    )


def test_a_phase_that_lasts_too_long_is_loud_unless_the_clocks_stand(qtbot: QtBot) -> None:
    late = Fact("Fill, TOO LONG", Severity.BAD)
    widget = shown(qtbot, state(phase=late))
    phase = widget.findChild(QLabel, "phase")
    assert phase is not None
    assert phase.property("severity") == "bad"

    widget.show_strip(state(phase=late, is_frozen=True))

    assert phase.property("severity") == "frozen"


def test_the_summary_paints_only_what_stands_in_full_colour(qtbot: QtBot) -> None:
    summary = AlarmSummary()
    qtbot.addWidget(summary)
    summary.show_counts(
        (
            PriorityCount("top", 1, 2),
            PriorityCount("high", 0, 0),
            PriorityCount("medium", 0, 1),
            PriorityCount("low", 0, 0),
        )
    )

    image = summary.grab().toImage()

    def count(colour: str) -> int:
        wanted = QColor(colour)
        cells = [(x, y) for x in range(image.width()) for y in range(image.height())]
        return sum(image.pixelColor(x, y) == wanted for x, y in cells)

    assert count(PALETTE.top) > 100
    assert 0 < count(PALETTE.medium) < 100
    assert count(PALETTE.high) == 0
    assert "top: 2 standing, 1 not acknowledged" in summary.accessibleName()
