"""Tests for monitor.display.plots.ground.

Source: hand-worked here; pictures are looked at pixel by pixel.
"""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QImage
from pytestqt.qtbot import QtBot

from monitor.display.plots.ground import Ground, ground_picture
from monitor.display.state.axis import Range, time_ticks, value_ticks
from monitor.display.state.charts import LimitLine
from monitor.display.state.limit_names import Sheet, limit_names
from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE

SIZE = QSize(300, 150)
SHOWN = Range(0.0, 10.0)


def ground(*limits: LimitLine, edge: str = "now") -> Ground:
    """Give the ground of a chart of a minute and 0 to 10, drawn at (50, 10), 200 by 100."""
    names = limit_names(limits, Sheet(SHOWN, 60.0, 200.0, 100.0))
    return Ground(
        60.0, SHOWN, time_ticks(60, 2, edge), value_ticks(SHOWN, 4), limits,
        (50.0, 10.0, 200.0, 100.0), names,
    )  # fmt: skip


def painted(made: Ground, ratio: float = 1.0) -> QImage:
    """Paint a ground."""
    return ground_picture(made, SIZE, ratio).toImage()


def row_of(image: QImage, colour: str) -> list[int]:
    """Give the rows in which a colour runs through the middle of the drawing."""
    wanted = QColor(colour)
    return [y for y in range(image.height()) if image.pixelColor(190, y) == wanted]


def test_places_are_whole_pixels_of_the_drawing() -> None:
    made = ground()

    assert (made.x_px(-60.0), made.x_px(0.0), made.x_px(-30.0)) == (50, 250, 150)
    assert (made.y_px(10.0), made.y_px(0.0), made.y_px(2.5)) == (10, 110, 85)


def test_the_grid_runs_at_the_ticks(qtbot: QtBot) -> None:
    image = painted(ground())

    assert row_of(image, PALETTE.raised) == [10, 35, 60, 85]
    upright = [x for x in range(300) if image.pixelColor(x, 50) == QColor(PALETTE.raised)]
    assert upright == [150, 250]


def test_a_calm_limit_is_grey_and_an_active_one_has_its_colour_and_both_are_named(
    qtbot: QtBot,
) -> None:
    limits = (
        LimitLine(8.0, "PT-1 high", 0, Severity.CALM),
        LimitLine(3.0, "x", 0, Severity.TOP),
    )

    image = painted(ground(*limits))

    assert row_of(image, PALETTE.normal) == [30]
    assert row_of(image, PALETTE.top) == [80]
    below_the_top = [image.pixelColor(x, y) for x in range(52, 80) for y in range(64, 80)]
    assert QColor(PALETTE.top) in below_the_top


def test_an_active_limit_is_drawn_over_a_calm_one_at_the_same_place(qtbot: QtBot) -> None:
    limits = (LimitLine(8.0, "a", 0, Severity.TOP), LimitLine(8.0, "b", 0, Severity.CALM))

    assert row_of(painted(ground(*limits)), PALETTE.top) == [30]


def test_a_limit_out_of_range_is_not_drawn(qtbot: QtBot) -> None:
    image = painted(ground(LimitLine(12.0, "a", 0, Severity.TOP)))

    assert row_of(image, PALETTE.top) == []


def test_no_label_runs_out_of_the_picture(qtbot: QtBot) -> None:
    image = painted(ground(edge="a label much too long"))

    edge = {image.pixelColor(299, y).name() for y in range(150)}
    assert edge == {PALETTE.panel}
    ink = [image.pixelColor(x, y) for x in range(280, 299) for y in range(112, 135)]
    assert QColor(PALETTE.quiet) in ink


def test_a_fine_screen_gets_a_fine_picture(qtbot: QtBot) -> None:
    picture = ground_picture(ground(), SIZE, 2.0)

    assert picture.size() == SIZE * 2
    assert picture.devicePixelRatio() == 2.0
