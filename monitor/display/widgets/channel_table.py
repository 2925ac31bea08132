"""The table of all channels: value, bar against the limits, trend, quality."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from monitor.display.state.rows import ChannelRow
from monitor.display.widgets.cells import (
    paint_band,
    paint_channel_mark,
    paint_trend,
    paint_value,
)
from monitor.display.widgets.rows_model import Column, TableRow
from monitor.display.widgets.tables import RowsTable

_COLUMNS = (
    Column("", 28),
    Column("Tag", 76),
    Column("Channel", 120, is_stretched=True),
    Column("Value", 82, is_right=True),
    Column("Unit", 54),
    Column("Band", 96),
    Column("", 26),
    Column("Quality", 142, is_stretched=True, is_coloured=True),
)
_MARK, _VALUE, _BAND, _TREND = 0, 3, 5, 6


def channel_table_rows(rows: Sequence[ChannelRow]) -> list[TableRow]:
    """Put a heading before each group; groups stand in the order of their first channel."""
    groups: dict[str, list[ChannelRow]] = {}
    for row in rows:
        groups.setdefault(row.group, []).append(row)
    made = []
    for group, members in groups.items():
        if group:
            made.append(TableRow(f"group {group}", (group,), is_heading=True))
        made += [_table_row(row) for row in members]
    return made


def _table_row(row: ChannelRow) -> TableRow:
    """Lay out one channel."""
    cells = ("", row.tag, row.title, row.value, row.unit, "", "", row.quality)
    alarm = f"\n{row.alarm} alarm" if row.alarm else ""
    tip = f"{row.tag} {row.title}\n{row.value} {row.unit}, {row.quality}{alarm}"
    return TableRow(row.tag, cells, row.severity, tip, row)


class ChannelTable(RowsTable):
    """Shows :class:`ChannelRow` objects in groups."""

    #: Tag of the channel that the person has chosen.
    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Lay out the columns."""
        painters = {
            _MARK: paint_channel_mark,
            _VALUE: paint_value,
            _BAND: paint_band,
            _TREND: paint_trend,
        }
        super().__init__("channel_table", _COLUMNS, painters, parent=parent)
        self.selectionModel().selectionChanged.connect(self._tell)

    def show_channels(self, rows: Sequence[ChannelRow]) -> None:
        """Show *rows*."""
        self.show_rows(channel_table_rows(rows))

    def _tell(self) -> None:
        """Say which channel is chosen now."""
        selected = self.selected_rows()
        self.chosen.emit(selected[0].key if selected else "")
