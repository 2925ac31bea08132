"""Tests for monitor.display.plots.strip_chart.

Source: hand-worked here; pictures are looked at pixel by pixel.
"""

from __future__ import annotations

import numpy as np
from PySide6.QtGui import QColor, QImage
from pytestqt.qtbot import QtBot

from monitor.display.plots.strip_chart import StripChart
from monitor.display.state.chart_view import ChartView
from monitor.display.state.charts import chart_plans
from monitor.display.state.model import Model
from monitor.display.state.rows import channel_rows
from monitor.display.state.trace import Window
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet
from monitor.link.messages import Change
from tests.monitor.display.made import NOON, NS, alarm, column, model

UNTIL = NOON + 70 * NS


class Shown:
    """A chart of the small run on the screen."""

    def __init__(self, qtbot: QtBot, run: Model) -> None:
        plan = chart_plans(run.index)[0]
        self.run, self.view, self.chart = run, ChartView(plan), StripChart(plan)
        qtbot.addWidget(self.chart)
        self.chart.setStyleSheet(style_sheet(PALETTE))
        self.chart.resize(600, 200)
        self.chart.show()
        qtbot.waitExposed(self.chart)
        self.frame()

    def frame(self, until_ns: int = UNTIL) -> None:
        """Bring the chart up to date."""
        width, height = self.chart.drawing_size()
        rows = channel_rows(self.run, [None] * 3, until_ns, is_frozen=False)
        window = Window(until_ns, 60 * NS, width)
        self.chart.show_frame(
            self.view.frame(self.run, window, rows, height_px=height, is_close=False)
        )

    def image(self) -> QImage:
        """Give the picture of the drawing."""
        return self.chart.viewport().grab().toImage()


def run_with(values: list[float], **more: object) -> Model:
    """Give the small run with a row of the first channel each second."""
    made = model(**more)
    made.apply(Change(2, UNTIL, [column(0, values, NOON + 11 * NS)]), 0)
    return made


def columns_with(image: QImage, colour: str) -> list[int]:
    """Give the columns of pixels in the drawing that hold exactly this colour."""
    wanted = QColor(colour)
    return [
        x
        for x in range(56, image.width())
        if any(image.pixelColor(x, y) == wanted for y in range(10, image.height() - 26))
    ]


def test_a_line_is_painted_from_end_to_end_in_its_colour(qtbot: QtBot) -> None:
    image = Shown(qtbot, run_with([5.0] * 60)).image()

    drawn = columns_with(image, PALETTE.lines[0])
    assert len(drawn) > 0.95 * (image.width() - 54 - 16)


def test_a_gap_stays_empty(qtbot: QtBot) -> None:
    values = [5.0] * 20 + [float("nan")] * 20 + [5.0] * 20

    drawn = columns_with(Shown(qtbot, run_with(values)).image(), PALETTE.lines[0])

    assert max(np.diff(drawn)) > 50


def test_a_spike_of_one_row_is_painted(qtbot: QtBot) -> None:
    values = [5.0] * 60
    values[30] = 8.9

    image = Shown(qtbot, run_with(values)).image()

    rows = [
        y
        for y in range(image.height())
        if any(image.pixelColor(x, y) == QColor(PALETTE.lines[0]) for x in range(image.width()))
    ]
    assert max(rows) - min(rows) > 30


def test_an_active_limit_is_painted_in_its_colour(qtbot: QtBot) -> None:
    quiet = Shown(qtbot, run_with([8.5] * 60)).image()
    loud = Shown(qtbot, run_with([8.5] * 60, alarms=[alarm("PT-1.high")])).image()

    assert columns_with(quiet, PALETTE.high) == []
    assert len(columns_with(loud, PALETTE.high)) > 300


def test_new_rows_are_painted_and_old_ones_move_left(qtbot: QtBot) -> None:
    shown = Shown(qtbot, run_with([5.0] * 60))

    shown.frame(UNTIL + 30 * NS)

    drawn = columns_with(shown.image(), PALETTE.lines[0])
    assert max(drawn) < 0.6 * shown.image().width()


def test_a_line_that_is_the_same_as_before_is_not_handed_over_again(qtbot: QtBot) -> None:
    shown = Shown(qtbot, run_with([5.0] * 60))
    curve = shown.chart.curves()[0]
    before = curve.path()
    curve.setPath(type(before)())

    shown.frame()

    assert curve.path().isEmpty()


def test_the_ground_follows_the_size_of_the_chart(qtbot: QtBot) -> None:
    shown = Shown(qtbot, run_with([5.0] * 60))
    before = shown.chart.drawing_size()

    shown.chart.resize(800, 300)
    qtbot.waitUntil(lambda: shown.chart.drawing_size() != before)
    shown.frame()

    image = shown.image()
    assert image.width() == shown.chart.view_size().width()
    assert len(columns_with(image, PALETTE.lines[0])) > 0.95 * (image.width() - 54 - 16)


def test_the_frame_shown_is_remembered(qtbot: QtBot) -> None:
    shown = Shown(qtbot, run_with([5.0] * 60))

    frame = shown.chart.shown_frame()
    assert frame is not None
    assert frame.span_s == 60.0
