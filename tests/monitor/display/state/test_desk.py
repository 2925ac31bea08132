"""Tests for monitor.display.state.desk.

Source: the order of messages in monitor.link.messages, hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.connection import Connection, Stage
from monitor.display.state.desk import Desk, Mail
from monitor.events import Event
from monitor.link.messages import (
    Act,
    Acted,
    Ask,
    Beat,
    Change,
    Done,
    FromDisplay,
    FromEngine,
    Part,
    Ready,
)
from tests.monitor.display.made import NOON, NS, alarm, column, model, recording, snapshot

#: Reading of the monotonic clock when the first message comes.
BASE = 100 * NS


def up_at(mono_ns: int) -> Connection:
    """Give a connection on which something was heard at *mono_ns*."""
    return Connection(Stage.CONNECTED, 0, mono_ns)


def told(desk: Desk, *messages: FromEngine, mono_ns: int = BASE) -> list[FromDisplay]:
    """Let messages come."""
    return desk.take([Mail(one, mono_ns) for one in messages], up_at(mono_ns), mono_ns)


def test_a_snapshot_is_answered_with_ready_and_a_question_for_the_past() -> None:
    desk = Desk("d")

    out = told(desk, snapshot(seq=7))

    assert desk.model is not None
    assert out[0] == Ready(7)
    assert isinstance(out[1], Ask)


def test_a_change_is_taken_and_answered() -> None:
    desk = Desk("d")
    told(desk, snapshot())

    out = told(desk, Change(8, NOON + 12 * NS, [column(0, [3.0], NOON + 12 * NS)]))

    assert out == [Ready(8)]
    assert desk.model is not None
    assert desk.model.values[0].value == 3.0


def test_the_next_question_waits_for_the_answer_to_the_one_before() -> None:
    desk = Desk("d")
    first = told(desk, snapshot(started_ns=NOON - 900 * NS))[-1]
    assert isinstance(first, Ask)
    assert told(desk) == []

    (second,) = told(desk, Done(first.id))

    assert isinstance(second, Ask)
    assert second.until_ns == first.from_ns


def test_history_is_put_in() -> None:
    desk = Desk("d")
    past = column(0, [1.0], NOON)
    told(desk, snapshot(), Part(1, 0, past.t_ns, past.value))

    assert desk.model is not None
    assert desk.model.series[0].last_t_ns() == NOON


def test_what_comes_before_a_snapshot_is_counted() -> None:
    desk = Desk("d")

    told(desk, Beat(NOON), Change(1, NOON))

    assert desk.unexpected == 2


def test_a_beat_sets_the_clock() -> None:
    desk = Desk("d")
    told(desk, snapshot())

    told(desk, Beat(NOON + 60 * NS), mono_ns=BASE + NS)

    assert desk.now_ns(BASE + NS) == NOON + 60 * NS


def test_an_act_goes_out_and_its_answer_is_told() -> None:
    desk = Desk("d")
    told(desk, snapshot(started_ns=NOON + 10 * NS))
    desk.act(Act("", "acknowledge", "PT-1.high", "K. Vale"), BASE)

    (sent,) = told(desk)
    assert isinstance(sent, Act)
    told(desk, Acted(sent.id, NOON))

    assert "done" in desk.acts.outcome.text


def test_an_act_without_an_answer_is_repeated_with_the_next_snapshot() -> None:
    desk = Desk("d")
    told(desk, snapshot())
    desk.act(Act("", "acknowledge", "PT-1.high", "K. Vale"), BASE)
    sent = told(desk)[-1]
    desk.take([], Connection(Stage.LOST, 0, BASE), BASE + NS)

    out = told(desk, snapshot(seq=9), mono_ns=BASE + 2 * NS)

    assert out[:2] == [Ready(9), sent]


def test_a_question_left_open_by_a_lost_link_is_not_waited_for() -> None:
    desk = Desk("d")
    told(desk, snapshot())
    desk.take([], Connection(Stage.LOST, 0, BASE), BASE + NS)

    assert isinstance(told(desk, snapshot())[-1], Ask)
    assert desk.snapshots == 2


def test_clocks_stand_still_while_the_engine_is_silent() -> None:
    desk = Desk("d")
    told(desk, snapshot())

    assert desk.shown_ns(BASE + 2 * NS) == NOON + 12 * NS + NS // 2
    assert desk.shown_ns(BASE + 9 * NS) == NOON + 10 * NS + NS // 2
    assert desk.now_ns(BASE + 9 * NS) == NOON + 19 * NS + NS // 2


def test_live_charts_end_at_what_the_engine_has_worked_up_to() -> None:
    desk = Desk("d")
    told(desk, snapshot())

    assert desk.edge_ns(BASE + 2 * NS) == NOON + 12 * NS


def test_without_a_run_there_is_no_time_and_no_sound() -> None:
    desk = Desk("d")

    assert (desk.now_ns(5), desk.edge_ns(5), desk.sounding(5)) == (0, 0, "")


def test_a_new_alarm_sounds_until_it_is_silenced_here_at_once() -> None:
    desk = Desk("d")
    told(desk, snapshot(alarms=[alarm("PT-1.low")]))
    assert desk.sounding(BASE) == "medium"

    desk.act(Act("", "silence", "*", ""), BASE)

    assert desk.sounding(BASE) == ""
    assert any(isinstance(one, Act) for one in told(desk))


def test_silence_at_another_screen_is_heeded() -> None:
    desk = Desk("d")
    told(desk, snapshot(alarms=[alarm("PT-1.low")]))

    told(desk, Change(2, NOON, [], [], [Event(NOON + 9 * NS, "action.silence", "", {})]))

    assert desk.sounding(BASE) == ""


def test_a_silence_before_this_display_was_opened_is_heeded() -> None:
    desk = Desk("d")
    silence = Event(NOON + 9 * NS, "action.silence", "", {})

    told(desk, snapshot(alarms=[alarm("PT-1.low")], events=[silence]))

    assert desk.sounding(BASE) == ""


def test_losing_the_engine_in_mid_run_sounds_until_silenced_and_sounds_again() -> None:
    desk = Desk("d")
    told(desk, snapshot())
    assert desk.sounding(BASE + 9 * NS) == "high"

    desk.act(Act("", "silence", "*", ""), BASE + 9 * NS)
    assert desk.sounding(BASE + 9 * NS) == ""
    told(desk, Beat(NOON + 20 * NS), mono_ns=BASE + 10 * NS)
    assert desk.sounding(BASE + 10 * NS) == ""

    assert desk.sounding(BASE + 20 * NS) == "high"


def test_losing_the_engine_does_not_quieten_a_more_urgent_alarm() -> None:
    desk = Desk("d")
    told(desk, snapshot(alarms=[alarm("PT-1.high_high")]))

    assert desk.sounding(BASE + 9 * NS) == "top"


def test_an_engine_that_closed_its_run_may_go_without_a_sound() -> None:
    desk = Desk("d")
    told(desk, snapshot(recording=recording("closed"), alarms=[alarm("PT-1.high")]))
    assert desk.sounding(BASE) == "high"

    assert desk.sounding(BASE + 9 * NS) == ""
    assert desk.fresh(BASE).headline == ""
    assert desk.fresh(BASE + 9 * NS).headline == "RUN CLOSED"


def test_the_model_of_the_small_run_is_what_the_desk_makes_of_its_snapshot() -> None:
    desk = Desk("d")
    told(desk, snapshot())

    assert desk.model is not None
    assert desk.model.values == model().values


def test_the_lamp_test_shows_until_a_more_urgent_alarm_comes() -> None:
    desk = Desk("d")
    told(desk, snapshot(alarms=[alarm("PT-1.low")]))
    desk.lamp.begin(BASE, desk.sounding(BASE))
    assert desk.lamps(BASE + 1) is not None

    told(desk, Change(2, NOON + 11 * NS, alarms=[alarm("PT-1.high_high")]), mono_ns=BASE + 2)

    assert desk.lamps(BASE + 3) is None


def test_the_register_is_written_down_and_said_at_the_foot() -> None:
    desk = Desk("d")
    assert desk.register_text(BASE) == ""

    told(desk, snapshot())

    assert desk.register_text(BASE).startswith("Register of what is inhibited: Leak bench")
    assert desk.acts.outcome.text == "The register is on the clipboard, as text."


def test_a_refusal_in_the_journal_reaches_the_person_who_acted() -> None:
    desk = Desk("d")
    told(desk, snapshot())
    desk.act(Act("", "reset", "PT-1.high", "K. Vale"), BASE)
    told(desk, Acted("d-1", NOON + 11 * NS))
    refusal = Event(
        NOON + 11 * NS, "action.refused", "PT-1.high", {"verb": "reset", "why": "it stands"}
    )

    told(desk, Change(2, NOON + 11 * NS, events=[refusal]))

    assert desk.acts.outcome.text == "Reset PT-1.high: refused. it stands"
