"""The table of all channels: value, bar against the limits, trend, quality."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from monitor.display.state.band import Band
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
    Column("Tag", 74),
    Column("Channel", 120, is_stretched=True),
    Column("Value", 82, is_right=True),
    Column("Unit", 52),
    Column("Band", 82),
    Column("", 26),
    Column("Quality", 128, is_coloured=True),
)
_TREND_TEXT: dict[int | None, str] = {
    -2: "falls steeply",
    -1: "falls",
    0: "steady",
    1: "rises",
    2: "rises steeply",
}
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
    cells = (
        _mark_text(row), row.tag, row.title, row.value, row.unit, _band_text(row.band),
        _TREND_TEXT.get(row.trend, ""), row.quality,
    )  # fmt: skip
    alarm = f"\n{_mark_text(row)}" if row.alarm else ""
    tip = f"{row.tag} {row.title}\n{row.value} {row.unit}, {row.quality}{alarm}"
    return TableRow(row.tag, cells, row.severity, tip, row)


def _mark_text(row: ChannelRow) -> str:
    """Say in words what the mark shows."""
    if not row.alarm:
        return ""
    stands = "" if row.is_active else ", gone"
    waits = ", not acknowledged" if row.is_unacknowledged else ""
    return f"{row.alarm} alarm{stands}{waits}"


def _band_text(bar: Band) -> str:
    """Say in words what the bar shows, as finely as it can be seen."""
    at = "no value" if bar.at is None else f"{bar.at * 100:.0f} %"
    active = ", ".join(mark.kind for mark in bar.marks if mark.is_active)
    beyond = {-1: "below the span", 1: "above the span"}.get(bar.beyond, "")
    normal = f"normal {bar.normal_from * 100:.0f} to {bar.normal_until * 100:.0f} %"
    return "; ".join(part for part in (at, beyond, normal, active) if part)


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
