"""Tests for monitor.display.plots.end_labels.

Source: hand-worked here; pictures are looked at pixel by pixel.
"""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtGui import QColor, QImage
from pytestqt.qtbot import QtBot

from monitor.display.plots.end_labels import EndLabels, spread
from monitor.display.state.axis import Range
from monitor.display.state.charts import EndLabel
from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE


def label(value: str = "8.5", at: float | None = 5.0, line: int = 0, **more: str) -> EndLabel:
    """Give a label."""
    severity = Severity(more.get("severity", "calm"))
    return EndLabel("PT-1", value, at, line, severity, more.get("alarm", ""))


def picture(qtbot: QtBot, *labels: EndLabel) -> QImage:
    """Paint labels beside a drawing of a hundred pixels for 0 to 10."""
    widget = EndLabels()
    qtbot.addWidget(widget)
    widget.resize(widget.width(), 120)
    widget.show_labels(labels, Range(0.0, 10.0), 10.0, 100.0)
    return widget.grab().toImage()


def rows_with(image: QImage, colour: str) -> list[int]:
    """Give the rows of pixels that hold exactly this colour."""
    wanted = QColor(colour)
    return [
        y
        for y in range(image.height())
        if any(image.pixelColor(x, y) == wanted for x in range(image.width()))
    ]


@given(
    wanted=st.lists(st.floats(0, 100), max_size=5),
    apart=st.floats(1, 20),
)
def test_labels_never_overlap_and_stay_inside(wanted: list[float], apart: float) -> None:
    places = sorted(spread(wanted, 0.0, 100.0, apart))

    assert all(b - a >= apart - 1e-9 for a, b in pairwise(places))
    assert all(-1e-9 <= place <= 100.0 + 1e-9 for place in places)


def test_labels_with_room_stay_where_their_lines_end() -> None:
    assert spread([80.0, 20.0, 50.0], 0.0, 100.0, 17.0) == [80.0, 20.0, 50.0]


def test_a_label_stands_at_the_end_of_its_line(qtbot: QtBot) -> None:
    rows = rows_with(picture(qtbot, label(at=2.0)), PALETTE.lines[0])

    assert rows
    assert all(80 < y < 100 for y in rows)


def test_each_line_has_its_colour(qtbot: QtBot) -> None:
    image = picture(qtbot, label(at=2.0), label(at=8.0, line=1))

    assert max(rows_with(image, PALETTE.lines[1])) < min(rows_with(image, PALETTE.lines[0]))


def test_a_value_in_alarm_takes_its_colour(qtbot: QtBot) -> None:
    assert rows_with(picture(qtbot, label(alarm="top")), PALETTE.top)
    assert not rows_with(picture(qtbot, label()), PALETTE.top)


def test_a_bad_value_is_striped_and_has_no_lead(qtbot: QtBot) -> None:
    calm = picture(qtbot, label())
    bad = picture(qtbot, label("---", None, severity="bad"))

    def plain(image: QImage) -> int:
        panel = QColor(PALETTE.panel)
        cells = [(x, y) for x in range(image.width()) for y in range(image.height())]
        return sum(image.pixelColor(x, y) == panel for x, y in cells)

    lead = [bad.pixelColor(x, y) for x in range(8) for y in range(bad.height())]
    assert all(colour == QColor(PALETTE.panel) for colour in lead)
    assert plain(bad) < plain(calm)


def test_the_words_can_be_read_aloud(qtbot: QtBot) -> None:
    widget = EndLabels()
    qtbot.addWidget(widget)

    widget.show_labels((label(),), Range(0.0, 10.0), 0.0, 100.0)

    assert widget.accessibleName() == "PT-1 8.5"
