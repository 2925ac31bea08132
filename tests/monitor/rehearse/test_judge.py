"""Tests for monitor.rehearse.judge.

Source: hand-worked here.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from monitor.rehearse.choices import NO_SIEVE, Choice
from monitor.rehearse.judge import Bounds, Verdict, proposed, sooner
from monitor.rehearse.noise import Spans
from monitor.rehearse.occurrences import Occurrence

S = 1_000_000_000


def stretches(*ends: tuple[int, int]) -> Spans:
    """Make stretches from their ends in seconds."""
    both = np.array(ends, np.int64).reshape(-1, 2) * S
    return Spans(both[:, 0], both[:, 1], both[:, 0], both[:, 1])


def judged(alarms: Sequence[tuple[int, int]], lasted: Spans) -> Verdict:
    """Judge alarms from their ends in seconds."""
    verdict = Verdict(Choice(1.0, NO_SIEVE, 0), 0)
    verdict.add([Occurrence(a * S, b * S) for a, b in alarms], lasted, 0)
    return verdict


def test_one_alarm_on_what_lasted_is_a_true_one() -> None:
    found = judged([(12, 40)], stretches((10, 40)))

    assert (found.alarms, found.nuisance, found.missed) == (1, 0, 0)
    assert found.caught == {0: 2 * S}


def test_an_alarm_on_nothing_that_lasted_is_a_nuisance() -> None:
    found = judged([(3, 4), (12, 40), (50, 51)], stretches((10, 40)))

    assert (found.nuisance, found.missed) == (2, 0)


def test_one_more_alarm_on_what_has_its_alarm_is_a_nuisance() -> None:
    found = judged([(12, 15), (17, 40)], stretches((10, 40)))

    assert (found.nuisance, found.caught) == (1, {0: 2 * S})


def test_what_lasted_without_an_alarm_is_missed() -> None:
    found = judged([(12, 40)], stretches((10, 40), (60, 90)))

    assert (found.nuisance, found.missed) == (0, 1)


def test_an_alarm_that_comes_when_it_is_over_misses_it() -> None:
    found = judged([(40, 50)], stretches((10, 40)))

    assert (found.nuisance, found.missed) == (1, 1)


def test_an_alarm_that_ends_as_it_begins_is_no_alarm_on_it() -> None:
    assert judged([(5, 10)], stretches((10, 40))).missed == 1


def test_an_alarm_that_stood_already_is_there_at_once() -> None:
    found = judged([(5, 95)], stretches((10, 40), (60, 90)))

    assert (found.nuisance, found.missed) == (0, 0)
    assert found.caught == {0: 0, 1: 0}


def test_stretches_of_several_runs_are_numbered_through() -> None:
    verdict = Verdict(Choice(1.0, NO_SIEVE, 0), 0)
    verdict.add([Occurrence(10 * S, 40 * S)], stretches((10, 40)), 0)
    verdict.add([Occurrence(13 * S, 40 * S)], stretches((10, 40)), 1)

    assert verdict.caught == {0: 0, 1: 3 * S}
    assert verdict.nuisance == 0


def test_lateness_is_the_mean_over_what_both_caught() -> None:
    present = judged(
        [(10, 40), (60, 90), (100, 130)], stretches((10, 40), (60, 90), (100, 130))
    )
    other = judged([(12, 40), (66, 90)], stretches((10, 40), (60, 90), (100, 130)))

    assert other.later_ns(present) == 4 * S
    assert present.later_ns(other) == -4 * S
    assert judged([], stretches()).later_ns(present) is None


def verdict(
    nuisance: int,
    later_s: float = 0,
    missed: int = 0,
    on_delay_s: float = 0,
    deadband: float = 1.0,
) -> Verdict:
    """Make a verdict over ten true alarms, some missed."""
    true = 10 - missed
    caught = dict.fromkeys(range(true), round(later_s * S))
    choice = Choice(deadband, NO_SIEVE, round(on_delay_s * S))
    return Verdict(choice, round(on_delay_s * S), true + nuisance, true, caught, missed)


def test_the_earliest_of_those_that_save_nine_tenths_is_proposed() -> None:
    now = verdict(100)
    slow, quick, weak = verdict(0, later_s=30), verdict(10, later_s=2), verdict(11, later_s=1)

    assert proposed([now, slow, quick, weak], Bounds()) is quick


def test_what_misses_least_goes_before_what_saves_most() -> None:
    now, deaf, keen = verdict(100, missed=1), verdict(0, missed=2), verdict(90, missed=0)

    assert proposed([now, deaf, keen], Bounds()) is keen


def test_no_delay_is_proposed_for_top_priority() -> None:
    now, waits, bears = verdict(100), verdict(0, on_delay_s=1), verdict(60, deadband=3.0)

    assert proposed([now, waits, bears], Bounds(may_delay=False)) is bears


def test_a_delay_for_which_there_is_no_time_is_not_proposed() -> None:
    now, waits, bears = verdict(100), verdict(0, on_delay_s=20), verdict(60, deadband=3.0)

    assert proposed([now, waits, bears], Bounds(room_ns=19 * S)) is bears


def test_where_nothing_is_to_be_saved_it_stays_as_it_is() -> None:
    now, same, wider = verdict(0), verdict(0, deadband=0.5), verdict(0, deadband=3.0)

    assert proposed([now, same, wider], Bounds()) is now


def test_being_earlier_than_now_is_worth_nothing_by_itself() -> None:
    # Only what is later counts; else a limit without any delay would always win.
    now, sooner = verdict(0, later_s=5), verdict(0, later_s=0, deadband=3.0)

    assert proposed([now, sooner], Bounds()) is now


def test_where_nothing_fits_nothing_is_proposed() -> None:
    now = verdict(100, on_delay_s=30)

    assert proposed([now], Bounds(room_ns=10 * S)) is None


def test_where_nothing_lasted_the_delay_by_itself_counts() -> None:
    def bare(nuisance: int, delay_s: int) -> Verdict:
        return Verdict(Choice(1.0, NO_SIEVE, delay_s * S), delay_s * S, nuisance)

    now, slow, quick = bare(50, 0), bare(0, 60), bare(1, 2)

    assert proposed([now, slow, quick], Bounds()) is quick


def test_of_what_costs_nothing_the_one_that_changes_least_is_proposed() -> None:
    now = verdict(50, on_delay_s=2)
    both = verdict(0, deadband=6.0)
    one = verdict(0, deadband=6.0, on_delay_s=2)

    assert proposed([now, both, one], Bounds()) is one


def test_a_new_deadband_spans_the_noise_if_it_can() -> None:
    now, narrow, wide = verdict(50), verdict(0, deadband=2.0), verdict(0, deadband=4.0)

    assert proposed([now, narrow, wide], Bounds(noise_span=4.0)) is wide
    assert proposed([now, narrow, wide], Bounds(noise_span=2.0)) is narrow


def test_a_deadband_that_is_there_may_be_narrow() -> None:
    now, wide = verdict(0), verdict(0, deadband=4.0)

    assert proposed([now, wide], Bounds(noise_span=4.0)) is now


def test_what_would_have_come_sooner_at_no_cost_is_found() -> None:
    now = verdict(0, later_s=5, on_delay_s=5)
    quick, quicker = verdict(0, later_s=2, on_delay_s=2), verdict(0, later_s=1, on_delay_s=1)
    loud, deaf = verdict(1, later_s=0), verdict(0, later_s=0, missed=1)
    other = verdict(0, later_s=1, on_delay_s=1, deadband=9.0)

    assert sooner([now, quick, loud, deaf, other, quicker], now, Bounds()) is quicker
    assert sooner([now, loud, deaf], now, Bounds()) is None


def test_what_would_have_come_sooner_keeps_to_the_bounds() -> None:
    now, quick = verdict(0, later_s=5, on_delay_s=5), verdict(0, later_s=2, on_delay_s=2)

    assert sooner([now, quick], now, Bounds(may_delay=False)) is None


def test_where_nothing_lasted_nothing_came_sooner() -> None:
    now = Verdict(Choice(1.0, NO_SIEVE, S), S)

    assert sooner([now, Verdict(Choice(1.0, NO_SIEVE, 0), 0)], now, Bounds()) is None
