"""Tests for monitor.rehearse.suggest.

Source: hand-worked here: signals whose noise, spikes and events are known because they are
made here.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from monitor.alarms.plan import Alarm, Priority
from monitor.limits.plan import Kind, Limit, Place
from monitor.rehearse.choices import NO_SIEVE, Choice
from monitor.rehearse.subject import Subject, SuggestError
from monitor.rehearse.suggest import Spikes, suggest
from monitor.rehearse.track import Move, Track
from monitor.samples import Quality
from monitor.stand.limit_values import STARTING_POINTS

S = 1_000_000_000
#: Ten samples a second for 20 min.
ROWS = 12_000
HIGH = Limit("PT-1.high", 3, Kind.HIGH, setpoint=10.0)


def subject(limit: Limit = HIGH, priority: Priority = Priority.HIGH) -> Subject:
    """Make a subject of a pressure from 0 to 100."""
    return Subject(
        limit=limit,
        alarm=Alarm(limit.id, "PT-1", priority, "m"),
        tag="PT-1",
        column=3,
        sieve=NO_SIEVE,
        unit="bar",
        span=100.0,
        published=STARTING_POINTS["pressure"],
        respond_ns=math.inf,
        shares=(),
    )


def signal(level: float = 5.0, sigma: float = 0.2, seed: int = 5) -> np.ndarray:
    """Make a noisy level."""
    return level + np.random.default_rng(seed).normal(0.0, sigma, ROWS)


def track(value: np.ndarray, *moves: Move, quality: int = Quality.GOOD) -> Track:
    """Make a track with ten rows a second."""
    t_ns = np.arange(1, value.size + 1, dtype=np.int64) * (S // 10)
    byte = np.full(value.size, quality, np.uint8)
    first = Move(0, 0, Place("ground"))
    return Track(
        "run", 0, int(t_ns[-1]) if value.size else 0, t_ns, value, byte, (first, *moves)
    )


def rows(first_s: float, last_s: float) -> slice:
    """Give the rows of a stretch of time."""
    return slice(round(first_s * 10), round(last_s * 10))


def test_a_signal_that_chatters_on_its_setpoint_gets_a_deadband() -> None:
    value = signal()
    value[rows(300, 600)] += 5.0

    found = suggest(subject(), [track(value)])

    present = found.verdicts[0]
    assert present.choice == Choice(0.0, NO_SIEVE, 0)
    assert present.nuisance > 100
    assert found.proposed is not None
    assert found.proposed.nuisance <= present.nuisance // 10
    assert found.proposed.choice.deadband >= 1.2
    assert found.proposed.missed == 0


def test_spikes_are_counted_and_answered_by_a_median_or_a_delay() -> None:
    value = signal()
    value[500::300] = 20.0
    value[501::300] = 20.0
    value[rows(1000, 1100)] = 15.0

    found = suggest(subject(), [track(value)])

    # 39 of them, less three that fall into the event or touch it.
    assert 35 <= found.spikes.count <= 39
    assert found.spikes == Spikes(found.spikes.count, 2, 2 * S // 10, 2 * S // 10)
    assert found.lasted == 1
    best = found.proposed
    assert best is not None
    assert best.nuisance == 0
    assert best.missed == 0
    assert best.choice.sieve.median_of == 5 or best.choice.on_delay_ns == 3 * S // 10
    assert 0 < (best.later_ns(found.verdicts[0]) or 0) <= 0.3 * S


def test_for_top_priority_no_delay_is_proposed_nor_tried() -> None:
    value = signal()
    value[500::300] = 20.0

    found = suggest(subject(priority=Priority.TOP), [track(value)])

    assert {one.choice.on_delay_ns for one in found.verdicts} == {0}
    assert found.proposed is not None


def test_a_written_delay_of_top_priority_is_tried_and_not_proposed() -> None:
    limit = replace(HIGH, on_delay_ns=2 * S)

    found = suggest(subject(limit, Priority.TOP), [track(signal())])

    assert found.verdicts[0].choice.on_delay_ns == 2 * S
    assert found.proposed is not None
    assert found.proposed.choice.on_delay_ns == 0


def test_a_quiet_limit_stays_as_it_is() -> None:
    found = suggest(subject(), [track(signal())])

    assert found.proposed is found.verdicts[0]


def test_a_delay_longer_than_the_time_to_respond_is_not_proposed() -> None:
    value = signal()
    # Spikes of two seconds, which only a delay of more than that takes out.
    for first in range(20, 1100, 50):
        value[rows(first, first + 2)] = 20.0

    free = suggest(subject(), [track(value)]).proposed
    hurried = suggest(replace(subject(), respond_ns=S), [track(value)]).proposed

    assert free is not None
    assert free.choice.on_delay_ns >= 2 * S
    assert hurried is not None
    assert hurried.delay_ns <= S


def test_the_noise_is_told_by_phase_and_the_greatest_counts() -> None:
    value = np.concatenate([signal()[: ROWS // 2], signal(sigma=2.0, seed=6)[: ROWS // 2]])
    climb_ns = (ROWS // 2 + 1) * (S // 10)

    found = suggest(subject(), [track(value, Move(climb_ns, climb_ns, Place("climb", "loop")))])

    assert list(found.noise) == ["ground", "climb, loop"]
    assert found.noise["ground"].sigma == pytest.approx(0.2, rel=0.1)
    assert found.noise["climb, loop"].sigma == pytest.approx(2.0, rel=0.1)
    assert max(one.choice.deadband for one in found.verdicts) > 10


def test_only_phases_in_which_it_is_watched_count() -> None:
    limit = replace(HIGH, watched_in=frozenset({"ground"}))
    value = np.concatenate([signal()[: ROWS // 2], signal(20.0)[: ROWS // 2]])
    climb_ns = (ROWS // 2 + 1) * (S // 10)

    found = suggest(subject(limit), [track(value, Move(climb_ns, climb_ns, Place("climb")))])

    assert list(found.noise) == ["ground"]
    assert found.spikes == Spikes(0, 0, 0, 0)
    assert (found.lasted, found.verdicts[0].alarms) == (0, 0)


def test_bad_samples_do_not_count_and_uncertain_ones_do_where_none_is_good() -> None:
    value = signal()
    overdue = suggest(subject(), [track(value, quality=Quality.CALIBRATION_OVERDUE)])

    assert overdue.noise["ground"].samples == ROWS
    with pytest.raises(SuggestError, match="PT-1 has no sample"):
        suggest(subject(), [track(np.full(100, np.nan), quality=Quality.STALE)])


def test_several_runs_count_together() -> None:
    once = signal()
    once[rows(300, 400)] = 15.0

    one = suggest(subject(), [track(once)])
    two = suggest(subject(), [track(once), track(once)])

    assert two.lasted == 2 * one.lasted == 2
    assert sorted(two.verdicts[0].caught) == [0, 1]
    assert two.verdicts[0].alarms == 2 * one.verdicts[0].alarms
    assert two.noise["ground"].samples == 2 * ROWS


def test_a_slow_signal_has_a_window_of_twenty_samples() -> None:
    slow = track(signal()[:200])
    stretched = replace(slow, t_ns=slow.t_ns * 50, end_ns=slow.end_ns * 50)

    found = suggest(subject(), [stretched])

    assert (found.period_ns, found.window_ns) == (5 * S, 100 * S)


def test_the_rows_are_ordered_by_what_is_missed_then_by_nuisance() -> None:
    value = signal()
    value[rows(300, 600)] += 5.0

    _, *others = suggest(subject(), [track(value)]).verdicts

    keys = [(one.missed, one.nuisance) for one in others]
    assert keys == sorted(keys)


def test_a_contact_that_closes_is_no_noise_and_gets_no_deadband() -> None:
    value = np.zeros(ROWS)
    value[rows(300, 400)] = 1.0
    contact = replace(subject(replace(HIGH, setpoint=0.5)), span=1.0, published=None)

    found = suggest(contact, [track(value)])

    assert {one.choice.deadband for one in found.verdicts} == {0.0}
    assert found.noise_span == 0.0


def test_a_coarse_signal_still_gets_a_deadband_by_its_resolution() -> None:
    value = np.full(ROWS, 5.0)
    value[rows(300, 400)] = 6.0

    found = suggest(subject(), [track(value)])

    assert found.noise_span == 6.0
