"""Tests for monitor.display.acting.

Source: hand-worked here. Only keys are used; questions are answered by replacing ``ask``.
"""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from monitor.display.acting import UNNAMED
from monitor.display.operator import Operator
from monitor.display.screen import Screen
from monitor.display.state.desk import Desk
from monitor.display.state.edit import EditForm, Verdict
from monitor.display.state.lamp import LAMP_TEST_NS
from monitor.display.state.register import register_rows
from monitor.display.state.rows import channel_rows
from monitor.display.widgets.dialogs import AskSure, AskText
from monitor.display.widgets.force_dialog import AskForce, Force
from monitor.display.widgets.limit_dialogs import (
    About,
    Agreed,
    AskEdit,
    AskLimit,
    AskService,
    AskShelf,
)
from monitor.display.widgets.phase_dialogs import AskPlace
from monitor.link.messages import Act, AlarmState, ForcedState
from tests.monitor.display.made import alarm
from tests.monitor.display.rich import at_rest
from tests.monitor.display.seat import CONTROL, SHIFT, Seat

K = Qt.Key


class Answers(list[object]):
    """Answers to come; *asked* keeps what was asked."""

    def __init__(self) -> None:
        super().__init__()
        self.asked: list[tuple[object, ...]] = []


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> Answers:
    """Answer every question with the next of this list; an empty list fails the test."""
    waiting = Answers()

    def give(*asked: object, **_: object) -> object:
        waiting.asked.append(asked[1:])
        return waiting.pop(0)

    for dialog in (AskText, AskSure, AskShelf, AskService, AskEdit, AskLimit, AskForce):
        monkeypatch.setattr(dialog, "ask", give)
    for name in ("ask_phase", "ask_mode"):
        monkeypatch.setattr(AskPlace, name, give)
    return waiting


def told(acts: list[Act]) -> list[tuple[str, str, str]]:
    """Give verb, subject and name of acts."""
    return [(act.verb, act.subject, act.by) for act in acts]


def test_the_name_is_asked_once_before_the_first_act(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"), alarm("PT-1.low"), person="")
    answers.append("K. Vale")

    seat.press(K.Key_F8)
    seat.screen.alarms.table.select_key("PT-1.low")
    seat.press(K.Key_F8)

    assert [act.by for act in seat.acts()] == ["K. Vale"] * 2
    assert "K. Vale" in seat.screen.alarms.person.text()


@pytest.mark.parametrize(
    ("key", "modifier"),
    [(K.Key_F8, None), (K.Key_F12, None), (K.Key_H, CONTROL), (K.Key_E, CONTROL),
     (K.Key_L, CONTROL)],
)  # fmt: skip
def test_without_a_name_nothing_is_done(
    qtbot: QtBot, answers: Answers, key: Qt.Key, modifier: Qt.KeyboardModifier | None
) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"), person="")
    answers.append(None)

    seat.press(key, modifier)

    assert seat.acts() == []
    assert seat.desk.lamps(0) is None


def test_the_selected_alarm_is_acknowledged(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"), alarm("PT-1.low"))

    seat.press(K.Key_F8)

    assert told(seat.acts()) == [("acknowledge", "PT-1.high", "K. Vale")]


def test_with_nothing_to_acknowledge_the_key_goes_to_the_next_that_waits(
    qtbot: QtBot, answers: Answers
) -> None:
    seat = Seat(qtbot, alarm("PT-1.high", is_acknowledged=True), alarm("PT-1.low"))
    seat.screen.alarms.table.select_key("PT-1.high")

    seat.press(K.Key_F8)
    assert seat.acts() == []
    seat.press(K.Key_F8)

    assert [act.subject for act in seat.acts()] == ["PT-1.low"]


def test_the_page_is_acknowledged_in_one_act_and_no_other_alarm(
    qtbot: QtBot, answers: Answers
) -> None:
    shelved = alarm("PT-2.stale", is_shelved=True)
    seat = Seat(qtbot, alarm("PT-1.high"), alarm("PT-1.low"), shelved)

    seat.press(K.Key_F8, SHIFT)

    assert told(seat.acts()) == [("acknowledge", "PT-1.high PT-1.low", "K. Vale")]
    assert seat.desk.acts.outcome.text.startswith("Acknowledge 2 alarms: sent")


EIGHT = ("PT-1.high_high", "PT-1.high", "PT-1.low", "PT-1.low_low", "PT-1.rate_of_rise",
         "PT-2.stale", "PT-2.fault", "PT-2.late")  # fmt: skip


def test_all_takes_those_out_of_sight_as_well_once_the_person_is_sure(
    qtbot: QtBot, answers: Answers
) -> None:
    seat = Seat(qtbot, *(alarm(one) for one in EIGHT))
    visible = len(seat.screen.alarms.visible_alarms())
    assert visible < len(EIGHT)
    answers += [True, False]

    seat.press(K.Key_F8, CONTROL)

    (act,) = seat.acts()
    assert set(act.subject.split()) == set(EIGHT)
    assert f"{len(EIGHT) - visible} of them are out of sight" in str(answers.asked)
    seat.press(K.Key_F8, CONTROL)
    assert seat.acts() == []


def test_nobody_is_asked_where_all_can_be_seen(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"), alarm("PT-1.low"))

    seat.press(K.Key_F8, CONTROL)

    assert [act.subject for act in seat.acts()] == ["PT-1.high PT-1.low"]


def test_silence_asks_nobody_first_and_still_has_a_name(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"), person="")

    seat.press(K.Key_F9)

    assert told(seat.acts()) == [("silence", "*", UNNAMED)]
    assert seat.desk.sounding(1) == ""


def test_reset_goes_out_for_the_selected_alarm(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, alarm("PT-1.high", is_latched=True, is_active=False))

    seat.press(K.Key_F12)

    assert told(seat.acts()) == [("reset", "PT-1.high", "K. Vale")]


def test_an_alarm_is_shelved_with_reason_time_and_second_name(
    qtbot: QtBot, answers: Answers
) -> None:
    seat = Seat(qtbot, alarm("PT-1.high_high"))
    answers.append(Agreed("repair", "M. Ito", 15))

    seat.press(K.Key_H, CONTROL)

    (act,) = seat.acts()
    assert (act.verb, act.subject, act.reason) == ("shelve", "PT-1.high_high", "repair")
    assert (act.seconds, act.second) == (900.0, "M. Ito")
    about = answers.asked[0][0]
    assert about == About("PT-1 high-high: PT-1 high_high", "K. Vale", True)


def test_an_alarm_is_taken_out_of_service_with_a_reason(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"))
    answers.append(Agreed("broken"))

    seat.press(K.Key_O, CONTROL)

    (act,) = seat.acts()
    assert (act.verb, act.reason, act.second) == ("out_of_service", "broken", "")


@pytest.mark.parametrize(
    ("state", "key", "verb"),
    [
        (alarm("PT-1.high", is_shelved=True), K.Key_H, "unshelve"),
        (alarm("PT-1.high", is_out_of_service=True), K.Key_O, "return_to_service"),
    ],
)
def test_what_is_inhibited_is_taken_back_without_a_question(
    qtbot: QtBot, answers: Answers, state: AlarmState, key: Qt.Key, verb: str
) -> None:
    seat = Seat(qtbot, state)

    seat.press(key, CONTROL)

    assert told(seat.acts()) == [(verb, "PT-1.high", "K. Vale")]


@pytest.mark.parametrize("key", [K.Key_H, K.Key_O, K.Key_E])
def test_thinking_better_of_it_does_nothing(
    qtbot: QtBot, answers: Answers, key: Qt.Key
) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"))
    answers.append(None)

    seat.press(key, CONTROL)

    assert seat.acts() == []


@pytest.mark.parametrize("key", [K.Key_H, K.Key_O, K.Key_E])
def test_without_an_alarm_there_is_nothing_to_inhibit_or_edit(
    qtbot: QtBot, answers: Answers, key: Qt.Key
) -> None:
    seat = Seat(qtbot)

    seat.press(key, CONTROL)

    assert seat.acts() == []
    assert "select an alarm, a channel that has limits" in seat.desk.acts.outcome.text


def test_a_limit_is_edited_with_reason_and_second_name(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, alarm("PT-1.high_high"))
    answers.append(Agreed("noise", "M. Ito", 0, Verdict({"setpoint": 9.5}, ())))

    seat.press(K.Key_E, CONTROL)

    (act,) = seat.acts()
    assert (act.verb, act.subject, act.changes) == (
        "edit_limit", "PT-1.high_high", {"setpoint": 9.5},
    )  # fmt: skip
    assert (act.reason, act.second) == ("noise", "M. Ito")
    form = answers.asked[0][0]
    assert isinstance(form, EditForm)
    assert form.place.limit.id == "PT-1.high_high"


def test_from_the_channel_table_a_limit_of_that_channel_is_chosen(
    qtbot: QtBot, answers: Answers
) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"))
    rows = seat.screen.channels
    assert seat.desk.model is not None
    rows.show_channels(channel_rows(seat.desk.model, [None] * 3, 0, is_frozen=False))
    rows.select_key("PT-2")
    seat.press(K.Key_F2)
    answers += ["PT-2.late", Agreed("repair", "", 10)]

    seat.press(K.Key_H, CONTROL)

    assert told(seat.acts()) == [("shelve", "PT-2.late", "K. Vale")]
    verb, choices = answers.asked[0]
    assert verb == "Shelve"
    assert [one.limit for one in choices][:2] == ["PT-2.stale", "PT-2.fault"]  # type: ignore[attr-defined]


def test_from_the_register_the_selected_line_is_meant(qtbot: QtBot, answers: Answers) -> None:
    out = at_rest("PT-2.late", is_out_of_service=True)
    seat = Seat(qtbot, alarm("PT-1.high"), out)
    assert seat.desk.model is not None
    seat.press(K.Key_I, CONTROL)
    seat.screen.register.show_register(register_rows(seat.desk.model, 0))
    seat.screen.register.table.select_first()

    seat.press(K.Key_O, CONTROL)

    assert told(seat.acts()) == [("return_to_service", "PT-2.late", "K. Vale")]


def test_a_value_is_forced_from_the_channel_table_and_let_go_again(
    qtbot: QtBot, answers: Answers
) -> None:
    seat = Seat(qtbot)
    assert seat.desk.model is not None
    rows = seat.screen.channels
    rows.show_channels(channel_rows(seat.desk.model, [None] * 3, 0, is_frozen=False))
    rows.select_key("PT-1")
    answers += [Force(5.25, 10, "loose", "M. Ito"), None]

    seat.press(K.Key_F, CONTROL)
    seat.press(K.Key_F, CONTROL)

    (act,) = seat.acts()
    assert (act.verb, act.subject, act.seconds) == ("force", "PT-1", 600.0)
    assert (act.changes, act.reason, act.second) == ({"value": 5.25}, "loose", "M. Ito")
    seat.desk.model.forced["PT-1"] = ForcedState("PT-1", 5.25, 0, 1, "K", "", "")
    seat.press(K.Key_F, CONTROL)
    assert told(seat.acts()) == [("unforce", "PT-1", "K. Vale")]


def test_a_forced_value_is_let_go_from_the_register(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot)
    assert seat.desk.model is not None
    seat.desk.model.forced["PT-2"] = ForcedState("PT-2", 5.25, 0, 1, "K", "", "")
    seat.press(K.Key_I, CONTROL)
    seat.screen.register.show_register(register_rows(seat.desk.model, 0))
    seat.screen.register.table.select_first()

    seat.press(K.Key_F, CONTROL)

    assert told(seat.acts()) == [("unforce", "PT-2", "K. Vale")]


def test_without_a_channel_nothing_is_forced(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, alarm("PT-1.high"))

    seat.press(K.Key_F, CONTROL)

    assert seat.acts() == []
    assert "select a measured channel" in seat.desk.acts.outcome.text


@pytest.mark.parametrize(
    ("key", "modifier", "verb", "name"),
    [(K.Key_F7, None, "enter_phase", "soak"), (K.Key_M, CONTROL, "enter_mode", "loop_only")],
)
def test_a_phase_or_mode_is_entered_by_hand_once_the_person_is_sure(
    qtbot: QtBot,
    answers: Answers,
    key: Qt.Key,
    modifier: Qt.KeyboardModifier | None,
    verb: str,
    name: str,
) -> None:
    seat = Seat(qtbot)
    answers += [name, True, name, False, None]

    for _ in range(3):
        seat.press(key, modifier)

    assert told(seat.acts()) == [(verb, name, "K. Vale")]


def test_a_note_goes_into_the_journal(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot)
    answers += ["door open", None]

    seat.press(K.Key_F10)
    seat.press(K.Key_F10)

    assert [(act.verb, act.reason) for act in seat.acts()] == [("note", "door open")]


def test_another_person_can_take_over(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot)
    answers += ["M. Ito", None]

    seat.press(K.Key_N, CONTROL)
    seat.press(K.Key_N, CONTROL)

    assert seat.operator.person == "M. Ito"


def test_the_lamp_test_begins_and_is_on_record(
    qtbot: QtBot, answers: Answers, monkeypatch: pytest.MonkeyPatch
) -> None:
    seat = Seat(qtbot)
    monkeypatch.setattr("monitor.display.acting.time.monotonic_ns", lambda: 1)

    seat.press(K.Key_L, CONTROL)

    assert told(seat.acts()) == [("lamp_test", "", "K. Vale")]
    assert seat.desk.lamps(2) is not None
    assert seat.desk.lamps(1 + LAMP_TEST_NS) is None


def test_the_register_goes_to_the_clipboard_as_text(qtbot: QtBot, answers: Answers) -> None:
    seat = Seat(qtbot, at_rest("PT-2.late", is_out_of_service=True))

    seat.press(K.Key_C, CONTROL | SHIFT)

    text = QApplication.clipboard().text()
    assert text.startswith("Register of what is inhibited: Leak bench")
    assert "clipboard" in seat.desk.acts.outcome.text


def test_before_there_is_a_run_keys_do_no_harm(qtbot: QtBot, answers: Answers) -> None:
    screen, desk = Screen(), Desk("d")
    qtbot.addWidget(screen)
    operator = Operator(screen, desk)
    operator.acting.person = "K. Vale"
    screen.show()
    screen.activateWindow()
    qtbot.waitUntil(screen.isActiveWindow)

    for key in (K.Key_F7, K.Key_F8, K.Key_F9, K.Key_F12):
        qtbot.keyClick(screen, key)
    for key in (K.Key_H, K.Key_O, K.Key_E, K.Key_F, K.Key_M, K.Key_Left, K.Key_U, K.Key_F8):
        qtbot.keyClick(screen, key, CONTROL)
    qtbot.keyClick(screen, K.Key_C, CONTROL | SHIFT)

    assert operator.looking.held_ns is None
    assert answers.asked == []
