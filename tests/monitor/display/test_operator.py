"""Tests for monitor.display.operator.

Source: hand-worked here. Only keys are used; questions are answered by replacing ``ask``.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.display.operator import Operator
from monitor.display.screen import Screen
from monitor.display.state.alarm_rows import alarm_rows
from monitor.display.state.connection import Connection, Stage
from monitor.display.state.desk import Desk, Mail
from monitor.display.widgets.dialogs import AskPhase, AskShelf, AskText, KeyList, Shelf
from monitor.link.messages import Act, AlarmState
from tests.monitor.display.made import NOON, NS, alarm, snapshot

SHIFT, CONTROL = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier
K = Qt.Key
UP = Connection(Stage.CONNECTED, 0, 1)


class Seat:
    """A person before a screen with a run."""

    def __init__(self, qtbot: QtBot, *alarms: AlarmState) -> None:
        self.qtbot = qtbot
        self.screen, self.desk = Screen(), Desk("d")
        qtbot.addWidget(self.screen)
        self.desk.take([Mail(snapshot(alarms=list(alarms)), 1)], UP, 1)
        self.operator = Operator(self.screen, self.desk)
        self.screen.show_run(True)
        self.screen.resize(1280, 800)
        self.screen.show()
        self.screen.activateWindow()
        qtbot.waitUntil(self.screen.isActiveWindow)
        assert self.desk.model is not None
        self.screen.alarms.show_alarms(alarm_rows(self.desk.model, NOON + 60 * NS))

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier | None = None) -> None:
        """Press a key."""
        self.qtbot.keyClick(self.screen, key, modifier or Qt.KeyboardModifier.NoModifier)

    def acts(self) -> list[tuple[str, str, str, str, float]]:
        """Give what went out since the last time."""
        out = self.desk.take([], UP, 2)
        return [
            (one.verb, one.subject, one.by, one.reason, one.seconds)
            for one in out
            if isinstance(one, Act)
        ]


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Answer every question with the next of this list; an empty list fails the test."""
    waiting: list[object] = []

    def give(*_: object, **__: object) -> object:
        return waiting.pop(0)

    for dialog in (AskText, AskShelf, AskPhase):
        monkeypatch.setattr(dialog, "ask", give)
    return waiting


def named(seat: Seat) -> Seat:
    """Let the person have said who they are."""
    seat.operator.person = "K. Vale"
    return seat


def test_the_name_is_asked_once_before_the_first_act(
    qtbot: QtBot, answers: list[object]
) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"), alarm("PT-1.low"))
    answers.append("K. Vale")

    seat.press(K.Key_F8)
    seat.screen.alarms.table.select_key("PT-1.low")
    seat.press(K.Key_F8)

    assert [(verb, by) for verb, _, by, _, _ in seat.acts()] == [("acknowledge", "K. Vale")] * 2
    assert "K. Vale" in seat.screen.alarms.person.text()


def test_without_a_name_nothing_is_done(qtbot: QtBot, answers: list[object]) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"))
    answers.append(None)

    seat.press(K.Key_F8)

    assert seat.acts() == []


def test_the_selected_alarm_is_acknowledged(qtbot: QtBot, answers: list[object]) -> None:
    seat = named(Seat(qtbot, alarm("PT-1.high"), alarm("PT-1.low")))

    seat.press(K.Key_F8)

    assert seat.acts() == [("acknowledge", "PT-1.high", "K. Vale", "", 0.0)]


def test_with_nothing_to_acknowledge_the_key_goes_to_the_next_that_waits(
    qtbot: QtBot, answers: list[object]
) -> None:
    seat = named(Seat(qtbot, alarm("PT-1.high", is_acknowledged=True), alarm("PT-1.low")))
    seat.screen.alarms.table.select_key("PT-1.high")

    seat.press(K.Key_F8)
    assert seat.acts() == []
    seat.press(K.Key_F8)

    assert [act[1] for act in seat.acts()] == ["PT-1.low"]


def test_all_visible_alarms_are_acknowledged_one_by_one_and_no_other(
    qtbot: QtBot, answers: list[object]
) -> None:
    seat = named(
        Seat(qtbot, alarm("PT-1.high"), alarm("PT-1.low"), alarm("PT-2.stale", is_shelved=True))
    )

    seat.press(K.Key_F8, SHIFT)

    assert [act[1] for act in seat.acts()] == ["PT-1.high", "PT-1.low"]


def test_silence_asks_nobody_first(qtbot: QtBot, answers: list[object]) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"))

    seat.press(K.Key_F9)

    assert [act[0] for act in seat.acts()] == ["silence"]
    assert seat.desk.sounding(1) == ""


def test_reset_goes_out_for_the_selected_alarm(qtbot: QtBot, answers: list[object]) -> None:
    seat = named(Seat(qtbot, alarm("PT-1.high", is_latched=True, is_active=False)))

    seat.press(K.Key_F12)

    assert [act[:2] for act in seat.acts()] == [("reset", "PT-1.high")]


def test_an_alarm_is_shelved_with_reason_and_time_and_taken_back(
    qtbot: QtBot, answers: list[object]
) -> None:
    seat = named(Seat(qtbot, alarm("PT-1.high")))
    answers.append(Shelf(15, "repair"))
    seat.press(K.Key_H, CONTROL)
    assert seat.acts() == [("shelve", "PT-1.high", "K. Vale", "repair", 900.0)]

    shelved = named(Seat(qtbot, alarm("PT-1.high", is_shelved=True)))
    shelved.press(K.Key_H, CONTROL)

    assert [act[:2] for act in shelved.acts()] == [("unshelve", "PT-1.high")]


def test_an_alarm_is_taken_out_of_service_and_returned(
    qtbot: QtBot, answers: list[object]
) -> None:
    seat = named(Seat(qtbot, alarm("PT-1.high")))
    answers.append("broken")
    seat.press(K.Key_O, CONTROL)
    assert seat.acts() == [("out_of_service", "PT-1.high", "K. Vale", "broken", 0.0)]

    out = named(Seat(qtbot, alarm("PT-1.high", is_out_of_service=True)))
    out.press(K.Key_O, CONTROL)

    assert [act[:2] for act in out.acts()] == [("return_to_service", "PT-1.high")]


@pytest.mark.parametrize("key", [K.Key_H, K.Key_O])
def test_thinking_better_of_it_does_nothing(
    qtbot: QtBot, answers: list[object], key: Qt.Key
) -> None:
    seat = named(Seat(qtbot, alarm("PT-1.high")))
    answers.append(None)

    seat.press(key, CONTROL)

    assert seat.acts() == []


@pytest.mark.parametrize("key", [K.Key_H, K.Key_O])
def test_without_an_alarm_there_is_nothing_to_shelve(
    qtbot: QtBot, answers: list[object], key: Qt.Key
) -> None:
    seat = named(Seat(qtbot))

    seat.press(key, CONTROL)

    assert seat.acts() == []


def test_a_phase_is_entered_by_hand(qtbot: QtBot, answers: list[object]) -> None:
    seat = named(Seat(qtbot))
    answers += ["soak", None]

    seat.press(K.Key_F7)
    seat.press(K.Key_F7)

    assert seat.acts() == [("enter_phase", "soak", "K. Vale", "", 0.0)]


def test_a_note_goes_into_the_journal(qtbot: QtBot, answers: list[object]) -> None:
    seat = named(Seat(qtbot))
    answers += ["door open", None]

    seat.press(K.Key_F10)
    seat.press(K.Key_F10)

    assert seat.acts() == [("note", "", "K. Vale", "door open", 0.0)]


def test_another_person_can_take_over(qtbot: QtBot, answers: list[object]) -> None:
    seat = named(Seat(qtbot))
    answers += ["M. Ito", None]

    seat.press(K.Key_N, CONTROL)
    seat.press(K.Key_N, CONTROL)

    assert seat.operator.person == "M. Ito"


@pytest.mark.parametrize(
    ("key", "page"), [(K.Key_F5, "events"), (K.Key_F6, "health"), (K.Key_F3, "charts")]
)
def test_each_page_has_its_key(qtbot: QtBot, key: Qt.Key, page: str) -> None:
    seat = Seat(qtbot)

    seat.press(key)

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


def test_before_there_is_a_run_keys_do_no_harm(qtbot: QtBot, answers: list[object]) -> None:
    screen = Screen()
    qtbot.addWidget(screen)
    operator = Operator(screen, Desk("d"))
    operator.person = "K. Vale"
    screen.show()
    screen.activateWindow()
    qtbot.waitUntil(screen.isActiveWindow)

    for key in (K.Key_F7, K.Key_F8, K.Key_F9, K.Key_F12):
        qtbot.keyClick(screen, key)
    qtbot.keyClick(screen, K.Key_Left, CONTROL)

    assert operator.looking.held_ns is None


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
