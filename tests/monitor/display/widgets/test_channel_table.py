"""Tests for monitor.display.widgets.channel_table.

Source: Qt's own checker of models; the rest hand-worked here.
"""

from __future__ import annotations

import dataclasses

from PySide6.QtCore import Qt
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from monitor.display.state.rows import ChannelRow, channel_rows
from monitor.display.widgets.channel_table import ChannelTable, channel_table_rows
from tests.monitor.display.made import NOON, NS, alarm, model


def rows(**more: object) -> tuple[ChannelRow, ...]:
    """Give the rows of the small run."""
    trends: list[int | None] = [1, None, 0]
    return channel_rows(model(**more), trends, NOON + 10 * NS, is_frozen=False)


def test_qts_checker_has_nothing_to_say(qtbot: QtBot, qtmodeltester: ModelTester) -> None:
    table = ChannelTable()
    qtbot.addWidget(table)
    table.show_channels(rows())

    qtmodeltester.check(table.rows)


def test_channels_stand_in_their_groups() -> None:
    keys = [row.key for row in channel_table_rows(rows())]

    assert keys == ["group Loop", "PT-1", "PT-2", "group Air", "TT-1"]


def test_channels_without_a_group_stand_without_a_heading() -> None:
    bare = [dataclasses.replace(row, group="") for row in rows()]

    assert [row.key for row in channel_table_rows(bare)] == ["PT-1", "PT-2", "TT-1"]


def test_a_row_reads_from_left_to_right_and_its_tooltip_tells_all() -> None:
    row = channel_table_rows(rows(alarms=[alarm("PT-1.high")]))[1]

    assert row.cells == (
        "high alarm, not acknowledged", "PT-1", "PT-1 title", "8.5", "bar",
        "85 %; normal 20 to 80 %; high", "rises", "good",
    )  # fmt: skip
    assert row.tip == "PT-1 PT-1 title\n8.5 bar, good\nhigh alarm, not acknowledged"


def test_what_is_painted_by_hand_is_said_in_words_too() -> None:
    gone = [alarm("PT-1.low", is_active=False, is_acknowledged=True)]
    bad = channel_table_rows(rows(alarms=gone))

    assert bad[1].cells[0] == "medium alarm, gone"
    assert bad[2].cells[5:7] == ("no value; normal 0 to 50 %", "")
    assert bad[4].cells[5] == "100 %; above the span; normal 0 to 100 %"


def test_the_chosen_channel_is_told_with_the_keyboard_alone(qtbot: QtBot) -> None:
    table = ChannelTable()
    qtbot.addWidget(table)
    table.show_channels(rows())
    table.show()
    told: list[str] = []
    table.chosen.connect(told.append)

    for _ in range(3):
        qtbot.keyClick(table, Qt.Key.Key_Down)

    assert [tag for tag in told if tag] == ["PT-1", "PT-2"]
