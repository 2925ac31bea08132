"""Tests for monitor.display.operator.

Source: hand-worked here. Only keys are used.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.display.state.keys import KEYS
from monitor.display.widgets.dialogs import KeyList
from tests.monitor.display.made import alarm
from tests.monitor.display.seat import CONTROL, Seat

K = Qt.Key


def test_every_key_does_something(qtbot: QtBot) -> None:
    seat = Seat(qtbot)

    done = seat.operator._looks() | seat.operator._acts()

    assert set(done) == {key.name for key in KEYS}


def test_no_two_keys_are_the_same() -> None:
    assert len({key.keys for key in KEYS}) == len(KEYS)


def listed(seat: Seat) -> list[str]:
    """Give the ids of the alarm list as it is shown now."""
    seat.refresh()
    return [row.key for row in seat.screen.alarms.table.rows.rows]


def test_consequences_are_shown_and_folded_by_keys(qtbot: QtBot) -> None:
    quiet = alarm("PT-1.low", is_suppressed=True, is_annunciated=False, cause="PT-1.low_low")
    seat = Seat(qtbot, alarm("PT-1.low_low"), quiet)
    assert listed(seat) == ["PT-1.low_low"]

    seat.press(K.Key_U, CONTROL)
    assert listed(seat) == ["PT-1.low_low", "PT-1.low"]
    seat.press(K.Key_U, CONTROL)
    assert listed(seat) == ["PT-1.low_low"]

    table = seat.screen.alarms.table
    table.setFocus()
    seat.qtbot.keyClick(table, K.Key_Right)
    seat.qtbot.keyClick(table, K.Key_Right)
    assert listed(seat) == ["PT-1.low_low", "PT-1.low"]
    seat.qtbot.keyClick(table, K.Key_Left)
    assert listed(seat) == ["PT-1.low_low"]


@pytest.mark.parametrize(
    ("key", "modifier", "page"),
    [
        (K.Key_F5, None, "events"),
        (K.Key_F6, None, "health"),
        (K.Key_I, CONTROL, "register"),
        (K.Key_B, CONTROL, "aborts"),
        (K.Key_F3, None, "charts"),
    ],
)
def test_each_page_has_its_key(
    qtbot: QtBot, key: Qt.Key, modifier: Qt.KeyboardModifier | None, page: str
) -> None:
    seat = Seat(qtbot)

    seat.press(key, modifier)

    assert seat.screen.is_page(page)


def test_channels_and_alarms_get_the_keyboard_by_their_keys(qtbot: QtBot) -> None:
    seat = Seat(qtbot)

    seat.press(K.Key_F4)
    assert seat.screen.focusWidget() is seat.screen.alarms.table
    seat.press(K.Key_F2)

    assert seat.screen.focusWidget() is seat.screen.channels


def looked(seat: Seat, press: Callable[[], None]) -> tuple[int, bool, bool]:
    """Tell what the charts look at after a key: span, whether held, whether close."""
    press()
    now = seat.operator.looking
    return now.span, now.held_ns is not None, now.is_close


def test_the_charts_are_steered_by_keys(qtbot: QtBot) -> None:
    seat = Seat(qtbot)

    def press(key: Qt.Key) -> tuple[int, bool, bool]:
        return looked(seat, lambda: seat.press(key, CONTROL))

    assert press(K.Key_Down) == (1, False, False)
    assert press(K.Key_Up) == (0, False, False)
    assert press(K.Key_R) == (0, False, True)
    assert press(K.Key_P) == (0, True, True)
    assert press(K.Key_P) == (0, False, True)
    assert press(K.Key_Left)[1]
    for _ in range(3):
        press(K.Key_Right)
    assert seat.operator.looking.held_ns is None


def test_a_span_is_chosen_by_its_button(qtbot: QtBot) -> None:
    seat = Seat(qtbot)

    seat.screen.chart_bar.span_chosen.emit(4)

    assert seat.operator.looking.span == 4


def test_the_list_of_keys_is_shown(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    shown: list[object] = []
    monkeypatch.setattr(KeyList, "ask", shown.append)
    seat = Seat(qtbot)

    seat.press(K.Key_F1)

    assert shown == [seat.screen]


def test_the_window_fills_the_screen_returns_and_closes(qtbot: QtBot) -> None:
    seat = Seat(qtbot)
    seat.press(K.Key_F11)
    assert seat.screen.isFullScreen()
    seat.press(K.Key_F11)
    assert not seat.screen.isFullScreen()

    seat.press(K.Key_Q, CONTROL)

    assert not seat.screen.isVisible()
