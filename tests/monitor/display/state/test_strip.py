"""Tests for monitor.display.state.strip.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.display.state.alarm_rows import alarm_rows
from monitor.display.state.connection import Freshness
from monitor.display.state.fact import Fact
from monitor.display.state.severity import Severity
from monitor.display.state.strip import Strip, link_fact, recording_fact, strip, tone_fact
from tests.monitor.display.made import NOON, NS, alarm, link_state, model, recording
from tests.monitor.display.rich import rich_model

NOW = NOON + 75 * NS
LOST = Freshness(True, 5 * NS, "LINK TO THE WATCH LOST", "")


def made(fresh: Freshness = Freshness(), **more: object) -> Strip:  # noqa: B008 - frozen
    """Build the strip of the small run."""
    run = model(**more)
    return strip(run, alarm_rows(run, NOW), NOW, fresh)


def test_the_strip_says_what_and_how_long() -> None:
    shown = made()

    assert (shown.stand, shown.clock, shown.date) == ("Leak bench", "12:01:15", "2026-03-01")
    assert (shown.run, shown.phase_for) == ("1 min 15 s", "1 min 15 s")
    assert (shown.phase.text, shown.phase.more) == ("Fill", "Pressure rises.")
    assert not shown.is_frozen


@pytest.mark.parametrize(("speed", "text"), [(1.0, ""), (20.0, "×20"), (0.5, "×0.5")])
def test_the_speed_is_shown_when_it_is_not_natural(speed: float, text: str) -> None:
    assert made(speed=speed).speed == text


def test_alarms_are_counted_by_priority_and_what_is_inhibited_apart() -> None:
    shown = made(alarms=[alarm("PT-1.high"), alarm("PT-1.low", is_shelved=True)])

    counts = [(row.priority, row.standing) for row in shown.alarms]
    assert counts == [("top", 0), ("high", 1), ("medium", 0), ("low", 0)]
    assert (shown.inhibited.text, shown.inhibited.severity) == ("2", Severity.DOUBT)


def test_nothing_inhibited_is_calm() -> None:
    shown = made(alarms=[alarm("PT-1.high")], values=[])

    assert (shown.inhibited.text, shown.inhibited.severity) == ("0", Severity.CALM)


def test_a_stand_without_modes_shows_none() -> None:
    assert made().mode is None


def test_the_mode_stands_beside_the_phase() -> None:
    run = rich_model()

    shown = strip(run, (), NOON + 122 * NS, Freshness())

    assert shown.mode is not None
    assert (shown.mode.text, shown.mode.more) == ("Normal", "Both are held.")
    assert (shown.mode_for, shown.phase_for) == ("2 min", "2 of 10 min")


@pytest.mark.parametrize(
    ("state", "fact"),
    [
        ("recording", Fact("recording", Severity.CALM, "run-1: 3.0 MiB")),
        ("closed", Fact("run closed", Severity.DOUBT, "run-1: 3.0 MiB")),
        ("stopped", Fact("NOT RECORDING", Severity.BAD, "disk full (run-1: 3.0 MiB)")),
    ],
)
def test_recording_says_loudly_when_nothing_is_written(state: str, fact: Fact) -> None:
    assert recording_fact(model(recording=recording(state)), Freshness()) == fact


def test_nobody_is_told_that_a_watch_records_which_is_not_heard() -> None:
    fact = recording_fact(model(recording=recording("recording")), LOST)

    assert (fact.text, fact.severity) == ("not known", Severity.DOUBT)


def test_a_closed_run_stays_closed_when_its_watch_is_gone() -> None:
    assert recording_fact(model(recording=recording("closed")), LOST).text == "run closed"


def test_links_that_are_down_are_counted_and_named() -> None:
    run = model(links=[link_state(is_up=False), link_state(instrument="other")])

    assert link_fact(run, Freshness()) == Fact(
        "1 of 2 links down", Severity.BAD, "panel: unplugged"
    )


def test_links_that_are_up_are_quiet() -> None:
    assert link_fact(model(), Freshness()).text == "link up"
    assert link_fact(model(links=[]), Freshness()).text == "no instruments"


def test_several_links_are_counted_and_one_is_not() -> None:
    two = [link_state(), link_state(instrument="other")]

    assert link_fact(model(links=two), Freshness()).text == "all 2 links up"
    assert link_fact(model(links=[link_state(is_up=False)]), Freshness()).text == "link down"


def test_without_the_engine_nothing_is_known_of_the_links() -> None:
    assert link_fact(model(), LOST).text == "no watch"
    assert made(LOST).is_frozen


@pytest.mark.parametrize(
    ("sounding", "trouble", "is_silenced", "text", "severity"),
    [
        ("", "", False, "tone ready", Severity.CALM),
        ("", "", True, "tone silenced", Severity.DOUBT),
        ("top", "", False, "sounding: top priority", Severity.CALM),
        ("", "no sound device", False, "tone ready, beeps only", Severity.DOUBT),
    ],
)
def test_the_tone_says_what_it_does(
    sounding: str, trouble: str, is_silenced: bool, text: str, severity: Severity
) -> None:
    fact = tone_fact(sounding, trouble, is_silenced=is_silenced)

    assert (fact.text, fact.severity, fact.more) == (text, severity, trouble)
