"""Tests for monitor.display.widgets.cells.

Source: painted pixels, counted here: a property alone would not show what a person sees.
"""

from __future__ import annotations

import dataclasses

from PySide6.QtCore import QRect
from PySide6.QtGui import QColor, QFont, QFontMetrics, QImage
from pytestqt.qtbot import QtBot

from monitor.display.state.alarm_rows import alarm_rows
from monitor.display.state.rows import ChannelRow, channel_rows
from monitor.display.state.severity import Severity
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet
from monitor.display.widgets.alarm_panel import alarm_table_rows
from monitor.display.widgets.cells import fitted, paint_alarm_mark
from monitor.display.widgets.channel_table import ChannelTable
from monitor.display.widgets.rows_model import Column
from monitor.display.widgets.tables import RowsTable
from tests.monitor.display.made import NOON, NS, alarm, model

MARK, TAG, VALUE, BAND, TREND, QUALITY = 0, 1, 3, 5, 6, 7


def channel(**more: object) -> ChannelRow:
    """Give the first channel's row, changed."""
    row = channel_rows(model(), [1, None, None], NOON + 10 * NS, is_frozen=False)[0]
    return dataclasses.replace(row, **more)  # type: ignore[arg-type]


def cell(qtbot: QtBot, row: ChannelRow, column: int, *, is_selected: bool = False) -> QImage:
    """Paint one cell of the channel table as a person sees it."""
    table = ChannelTable()
    qtbot.addWidget(table)
    table.setStyleSheet(style_sheet(PALETTE))
    table.resize(900, 200)
    table.show_channels([row])
    if is_selected:
        table.select_key(row.tag)
    table.show()
    where: QRect = table.visualRect(table.rows.index(1, column))
    return table.viewport().grab(where).toImage()


def count(image: QImage, colour: str) -> int:
    """Count the pixels of exactly this colour."""
    wanted = QColor(colour)
    return sum(
        image.pixelColor(x, y) == wanted
        for x in range(image.width())
        for y in range(image.height())
    )


def test_a_calm_value_is_written_in_the_colour_of_text(qtbot: QtBot) -> None:
    image = cell(qtbot, channel(), VALUE)

    assert count(image, PALETTE.text) > 10
    assert count(image, PALETTE.panel) > 500


def test_a_value_in_alarm_is_written_in_ink_on_the_colour_of_its_priority(
    qtbot: QtBot,
) -> None:
    image = cell(qtbot, channel(alarm="top", is_unacknowledged=True, is_active=True), VALUE)

    assert count(image, PALETTE.top) > 800
    assert count(image, PALETTE.ink) > 10
    assert count(image, PALETTE.text) == 0


def test_an_acknowledged_alarm_is_framed_and_not_filled(qtbot: QtBot) -> None:
    image = cell(qtbot, channel(alarm="high", is_active=True), VALUE)

    assert 50 < count(image, PALETTE.high) < 600


def test_a_value_that_is_normal_again_is_calm_and_only_its_mark_wants_attention(
    qtbot: QtBot,
) -> None:
    gone = channel(alarm="top", is_unacknowledged=True, is_active=False)

    assert count(cell(qtbot, gone, VALUE), PALETTE.top) == 0
    assert count(cell(qtbot, gone, BAND), PALETTE.top) == 0
    assert count(cell(qtbot, gone, MARK), PALETTE.top) > 100


def test_a_bad_value_is_striped(qtbot: QtBot) -> None:
    plain = count(cell(qtbot, channel(value="---"), VALUE), PALETTE.panel)
    bad = channel(value="---", severity=Severity.BAD)

    striped = cell(qtbot, bad, VALUE)

    assert count(striped, PALETTE.panel) < plain * 0.95
    assert count(striped, PALETTE.bad) > 3


def test_a_frozen_value_is_striped_even_on_the_colour_of_an_alarm(qtbot: QtBot) -> None:
    loud = channel(alarm="top", is_unacknowledged=True, is_active=True)
    frozen = dataclasses.replace(loud, severity=Severity.FROZEN)

    plain = count(cell(qtbot, loud, VALUE), PALETTE.top)
    striped = count(cell(qtbot, frozen, VALUE), PALETTE.top)

    assert 0.5 * plain < striped < 0.95 * plain


def test_a_selected_row_keeps_the_colours_of_its_texts(qtbot: QtBot) -> None:
    doubtful = channel(severity=Severity.DOUBT, quality="calibration overdue")

    image = cell(qtbot, doubtful, QUALITY, is_selected=True)

    assert count(image, PALETTE.raised) > 500
    assert count(image, PALETTE.doubt) > 10


def test_the_pointer_of_a_bar_is_bright_and_takes_the_colour_of_an_alarm(
    qtbot: QtBot,
) -> None:
    calm = cell(qtbot, channel(), BAND)
    loud = cell(qtbot, channel(alarm="top", is_active=True), BAND)

    assert count(calm, PALETTE.pointer) > 20
    assert count(calm, PALETTE.normal) > 100
    assert (count(loud, PALETTE.pointer), count(loud, PALETTE.top) > 20) == (0, True)


def test_a_bad_value_has_no_pointer(qtbot: QtBot) -> None:
    assert count(cell(qtbot, channel(severity=Severity.BAD), BAND), PALETTE.pointer) == 0


def test_a_value_beyond_the_end_has_an_arrow_there(qtbot: QtBot) -> None:
    beyond = dataclasses.replace(channel().band, at=1.0, beyond=1)

    image = cell(qtbot, channel(band=beyond), BAND)

    tinted = [x for x in range(image.width()) if _has_pointer(image, x)]
    assert len(tinted) >= 5
    assert min(tinted) > image.width() / 2


def _has_pointer(image: QImage, x: int) -> bool:
    """Tell whether a column of pixels holds the pointer's colour."""
    wanted = QColor(PALETTE.pointer)
    return any(image.pixelColor(x, y) == wanted for y in range(image.height()))


def test_a_channel_without_an_alarm_has_no_mark(qtbot: QtBot) -> None:
    assert count(cell(qtbot, channel(alarm="low"), MARK), PALETTE.low) > 20
    blank = cell(qtbot, channel(), MARK)
    assert count(blank, PALETTE.panel) == blank.width() * blank.height()


def test_an_unknown_trend_has_no_arrow(qtbot: QtBot) -> None:
    rising = cell(qtbot, channel(trend=2), TREND)
    unknown = cell(qtbot, channel(trend=None), TREND)

    assert count(rising, PALETTE.panel) < count(unknown, PALETTE.panel)


def test_a_text_that_does_not_fit_ends_with_dots(qtbot: QtBot) -> None:
    short = cell(qtbot, channel(tag="PT-1"), TAG)
    long = cell(qtbot, channel(tag="PT-1" * 30), TAG)

    margin = range(long.width() - 3, long.width())
    ink = [(x, y) for x in margin for y in range(long.height())]
    assert all(long.pixelColor(x, y) == QColor(PALETTE.panel) for x, y in ink)
    assert count(long, PALETTE.panel) < count(short, PALETTE.panel)


def test_the_mark_of_an_inhibited_alarm_is_crossed_out(qtbot: QtBot) -> None:
    shelved = model(alarms=[alarm("PT-1.high", is_shelved=True)])
    table = RowsTable("t", (Column("", 30),), {0: paint_alarm_mark})
    qtbot.addWidget(table)
    table.show_rows(alarm_table_rows(alarm_rows(shelved, NOON + 9 * NS)))
    table.show()

    image = table.viewport().grab(table.visualRect(table.rows.index(0, 0))).toImage()

    assert count(image, PALETTE.text) > 3


def test_a_text_is_broken_between_words_and_what_is_too_much_ends_with_dots(
    qtbot: QtBot,
) -> None:
    metrics = QFontMetrics(QFont())
    width = metrics.horizontalAdvance("emergency flow on")

    assert fitted("vent", width, 2, metrics) == "vent"
    assert fitted("emergency flow on, descend", width, 2, metrics).split("\n") == [
        "emergency flow", "on, descend",
    ]  # fmt: skip
    one, two = fitted("emergency flow on and down to the ground", width, 2, metrics).split("\n")
    assert one == "emergency flow on"
    assert two.endswith("…")
    assert "\n" not in fitted("emergency flow on, descend", width, 1, metrics)
