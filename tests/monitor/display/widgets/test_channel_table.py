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

    assert row.cells == ("", "PT-1", "PT-1 title", "8.5", "bar", "", "", "good")
    assert row.tip == "PT-1 PT-1 title\n8.5 bar, good\nhigh alarm"


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
