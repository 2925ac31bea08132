"""Tests for monitor.display.state.tone.

Source: hand-worked here; 'a new alarm sounds again' is the issue's rule.
"""

from __future__ import annotations

from monitor.display.state.index import StandIndex
from monitor.display.state.tone import ToneDecision
from monitor.events import Event
from monitor.link.messages import AlarmState
from tests.monitor.display.made import NOON, NS, STAND, alarm

PLACES = StandIndex(STAND).limits


def states(*alarms: AlarmState) -> dict[str, AlarmState]:
    """Give alarms by their ids."""
    return {one.id: one for one in alarms}


def test_the_most_urgent_alarm_sounds() -> None:
    alarms = states(alarm("PT-1.low"), alarm("PT-1.high"))

    assert ToneDecision().sounding(PLACES, alarms) == "high"


def test_what_is_acknowledged_inhibited_or_for_the_journal_does_not_sound() -> None:
    alarms = states(
        alarm("PT-1.high", is_acknowledged=True),
        alarm("PT-1.low", is_annunciated=False),
        alarm("PT-2.high"),
    )

    assert ToneDecision().sounding(PLACES, alarms) == ""


def test_silence_holds_for_what_sounds_and_a_new_alarm_sounds_again() -> None:
    tone = ToneDecision()
    old = states(alarm("PT-1.high"))
    tone.silence(PLACES, old, None)
    assert tone.sounding(PLACES, old) == ""
    assert tone.is_silenced()

    assert tone.sounding(PLACES, old | states(alarm("PT-1.low", 20))) == "medium"


def test_the_same_alarm_raised_again_sounds_again() -> None:
    tone = ToneDecision()
    tone.silence(PLACES, states(alarm("PT-1.high", 5)), None)

    assert tone.sounding(PLACES, states(alarm("PT-1.high", 30))) == "high"


def test_what_was_silenced_is_forgotten_when_it_is_over() -> None:
    tone = ToneDecision()
    tone.silence(PLACES, states(alarm("PT-1.high")), None)

    tone.sounding(PLACES, {})

    assert not tone.is_silenced()


def test_silence_at_another_screen_counts_for_what_was_annunciated_by_then() -> None:
    tone = ToneDecision()
    alarms = states(alarm("PT-1.high", 5), alarm("PT-1.low", 20))
    event = Event(NOON + 10 * NS, "action.silence", "", {"by": "K. Vale"})

    tone.heed([event, Event(NOON, "action.note", "", {})], PLACES, alarms)

    assert tone.sounding(PLACES, alarms) == "medium"


def test_an_alarm_of_the_very_instant_of_a_silence_is_silenced() -> None:
    tone = ToneDecision()
    alarms = states(alarm("PT-1.high", 10))

    tone.heed([Event(NOON + 10 * NS, "action.silence", "", {})], PLACES, alarms)

    assert tone.sounding(PLACES, alarms) == ""
