"""Tests for monitor.rehearse.suggest_report.

Source: hand-worked here.
"""

from __future__ import annotations

import math
from dataclasses import replace

from monitor.alarms.plan import Alarm, Priority
from monitor.limits.plan import Kind, Limit
from monitor.rehearse.choices import NO_SIEVE, Choice, Sieve
from monitor.rehearse.judge import Verdict
from monitor.rehearse.noise import Noise
from monitor.rehearse.subject import Subject
from monitor.rehearse.suggest import Spikes, Suggestion
from monitor.rehearse.suggest_report import suggest_lines
from monitor.stand.limit_values import STARTING_POINTS

S = 1_000_000_000
LIMIT = Limit("PT-1.high", 0, Kind.HIGH, setpoint=10.0, setpoint_in={"climb": 40.0}, deadband=1)
SUBJECT = Subject(
    limit=LIMIT,
    alarm=Alarm("PT-1.high", "PT-1", Priority.HIGH, "m"),
    tag="PT-1",
    column=0,
    sieve=NO_SIEVE,
    unit="bar",
    span=100.0,
    published=STARTING_POINTS["pressure"],
    respond_ns=math.inf,
    shares=("PT-1.low",),
)
NOW = Verdict(Choice(1.0, NO_SIEVE, 0), 0, alarms=9, true=1, caught={0: 0})
OTHER = Verdict(
    Choice(1.5, Sieve(median_of=5), 2 * S), 22 * S // 10, alarms=1, true=1, caught={0: 3 * S}
)
FOUND = Suggestion(
    subject=SUBJECT,
    noise={"ground": Noise(0.25, 0.1, 1000), "climb": Noise(math.nan, math.nan, 7)},
    period_ns=S // 10,
    spikes=Spikes(12, 2, 2 * S // 10, 5 * S // 10),
    lasted=1,
    window_ns=30 * S,
    verdicts=(NOW, OTHER),
    noise_span=1.5,
    proposed=OTHER,
    sooner=None,
)


def text(found: Suggestion) -> str:
    """Write a suggestion as one text."""
    return "\n".join(suggest_lines(found))


def test_the_limit_is_named_as_it_is_set_up_now() -> None:
    assert suggest_lines(FOUND)[0] == (
        "PT-1.high: setpoint 10 bar, climb 40; now deadband 1 bar, filter none, on-delay 0 s"
    )


def test_what_was_seen_is_told_with_where_it_comes_from() -> None:
    said = text(FOUND)

    assert "noise in ground: 0.25 bar, from 1000 samples" in said
    assert "noise in climb: too few samples, from 7 samples" in said
    assert "second differences" in said
    assert "12 spikes beyond the setpoint, most of them up to 0.2 s, the longest 0.5 s" in said
    assert "1 time it lasted: beyond the setpoint for most of 30 s" in said
    assert "deadband 2 % of the span, delay 15 s" in said


def test_the_proposal_says_what_it_saves_and_costs() -> None:
    lines = suggest_lines(FOUND)
    at = lines.index(
        "proposed, from these runs only: deadband 1.5 bar, filter median of 5, on-delay 2 s"
    )

    assert lines[at + 1 : at + 3] == [
        "  0 nuisance alarms, now 8",
        "  it comes 3 s later than now, in the mean; of what lasted it misses none",
    ]
    assert "  the filter is the channel's: PT-1.low see it too" in lines


def test_a_proposal_that_keeps_the_filter_does_not_warn_of_it() -> None:
    kept = replace(OTHER, choice=replace(OTHER.choice, sieve=NO_SIEVE))

    assert "the filter is the channel's" not in text(
        replace(FOUND, verdicts=(NOW, kept), proposed=kept)
    )


def test_each_choice_has_a_row() -> None:
    lines = suggest_lines(FOUND)
    (now,) = (line for line in lines if line.startswith("now "))
    (other,) = (line for line in lines if line.startswith("proposed  "))

    assert now.split() == [
        "now",
        "1",
        "bar",
        "none",
        "0",
        "s",
        "9",
        "8",
        "0",
        "0",
        "s",
        "0",
        "s",
    ]
    assert other.split()[-6:] == ["0", "2.2", "s", "3", "s", "later"]


def test_where_nothing_lasted_no_lateness_is_made_up() -> None:
    now, other = replace(NOW, caught={}, true=0), replace(OTHER, caught={}, true=0)
    said = text(replace(FOUND, verdicts=(now, other), proposed=other))

    assert "filter and delay cost 2.2 s" in said
    assert next(line for line in said.splitlines() if line.startswith("now ")).endswith("-")


def test_keeping_it_as_it_is_is_told() -> None:
    assert "as it is: no other choice misses less or saves more" in text(
        replace(FOUND, proposed=NOW)
    )


def test_that_nothing_fits_is_told() -> None:
    assert "proposed: nothing; no choice leaves a person the time" in text(
        replace(FOUND, proposed=None)
    )


def test_that_top_priority_never_waits_is_told() -> None:
    top = replace(SUBJECT, alarm=replace(SUBJECT.alarm, priority=Priority.TOP))

    assert "of top priority: no on-delay is ever proposed" in text(replace(FOUND, subject=top))


def test_counted_samples_stand_in_place_of_a_delay() -> None:
    now = replace(NOW, choice=replace(NOW.choice, n_of_m=(3, 5)))

    assert "3 of 5 samples" in text(replace(FOUND, verdicts=(now, OTHER)))


def test_without_spikes_or_a_unit_nothing_is_said_of_them() -> None:
    subject = replace(SUBJECT, unit="", published=None)
    said = text(replace(FOUND, subject=subject, spikes=Spikes(0, 0, 0, 0)))

    assert "0 spikes beyond the setpoint\n" in said
    assert "published" not in said
    assert "deadband 1," in said


def test_a_deadband_within_the_noise_is_told_unless_a_filter_takes_the_noise_away() -> None:
    keeps = replace(FOUND, proposed=NOW)

    assert "narrower than the noise, 1.5 bar from peak to peak" in text(keeps)
    assert "narrower" not in text(replace(FOUND, noise_span=9.0))
    assert "narrower" not in text(replace(keeps, noise_span=1.0))


def test_what_would_have_come_sooner_is_told() -> None:
    said = text(replace(FOUND, sooner=NOW))

    assert "deadband 1 bar, filter none, on-delay 0 s: would have come 3 s sooner here" in said
    assert "sooner" not in text(FOUND)
