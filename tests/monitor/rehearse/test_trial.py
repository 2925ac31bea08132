"""Tests for monitor.rehearse.trial.

Source: the whole pipeline, whose alarms with such a stand a trial must give; and traces worked
by hand here.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import monitor.rehearse.trial
from monitor.events import Action, Control
from monitor.limits.plan import Kind, Limit, Place
from monitor.pipeline import Pipeline
from monitor.rehearse.choices import NO_SIEVE, Choice, Sieve
from monitor.rehearse.occurrences import Occurrences
from monitor.rehearse.track import Move, Track, TrackWriter
from monitor.rehearse.trial import tried
from monitor.samples import Quality

S = 1_000_000_000
HIGH = Limit("A.high", 0, Kind.HIGH, setpoint=10.0)
PLAIN = Choice(0.0, NO_SIEVE, 0)


def track(values: list[float], *moves: Move, start: str = "ground") -> Track:
    """Make a track with a row each second from 1 on."""
    value = np.array(values, dtype=np.float64)
    quality = np.where(np.isnan(value), Quality.STALE, Quality.GOOD).astype(np.uint8)
    t_ns = np.arange(1, value.size + 1, dtype=np.int64) * S
    return Track(
        "run", 0, value.size * S, t_ns, value, quality, (Move(0, 0, Place(start)), *moves)
    )


def times(found: list[Any]) -> list[tuple[float, float, bool]]:
    """Give when each stood, in seconds, and whether it was over."""
    return [(one.raised_ns / S, one.end_ns / S, one.is_over) for one in found]


def test_each_choice_gives_its_own_alarms() -> None:
    #                 1   2  3   4   5   6  7  8
    seen = track([0.0, 12, 9, 12, 12, 12, 9, 5])
    choices = [PLAIN, replace(PLAIN, deadband=3.0), replace(PLAIN, on_delay_ns=2 * S)]
    plain, deadband, delay = tried(seen, HIGH, choices)

    assert times(plain) == [(2, 3, True), (4, 7, True)]
    assert times(deadband) == [(2, 8, True)]
    assert times(delay) == [(6, 7, True)]


def test_a_median_takes_out_what_is_short_and_comes_later() -> None:
    seen = track([0.0, 12, 0, 0, 12, 12, 12, 0, 0])

    (found,) = tried(seen, HIGH, [Choice(0.0, Sieve(median_of=3), 0)])

    assert times(found) == [(6, 9, True)]


def test_what_still_stands_ends_with_the_run() -> None:
    assert times(tried(track([0.0, 12, 12]), HIGH, [PLAIN])[0]) == [(2, 3, False)]


def test_a_phase_with_another_setpoint_counts_from_its_instant() -> None:
    limit = replace(HIGH, setpoint_in={"climb": 5.0})
    seen = track([7.0, 7, 7, 7], Move(5 * S // 2, 5 * S // 2, Place("climb")))

    assert times(tried(seen, limit, [PLAIN])[0]) == [(2.5, 4, False)]


@pytest.mark.parametrize(("is_by_itself", "expected"), [(False, []), (True, [(3, 3, True)])])
def test_a_phase_by_hand_comes_before_the_row_of_its_instant(
    is_by_itself: bool, expected: list[tuple[float, float, bool]]
) -> None:
    limit = replace(HIGH, setpoint_in={"climb": 20.0})
    seen = track([7.0, 7, 12], Move(3 * S, 3 * S + is_by_itself, Place("climb")))

    assert times(tried(seen, limit, [PLAIN])[0]) == expected


def test_where_it_is_not_watched_there_is_no_alarm() -> None:
    limit = replace(HIGH, watched_in=frozenset({"climb"}))
    moves = (Move(2 * S, 2 * S, Place("climb")), Move(4 * S, 4 * S, Place("ground")))

    assert times(tried(track([12.0] * 5, *moves), limit, [PLAIN])[0]) == [(2, 4, True)]


def test_without_rows_moves_still_count() -> None:
    assert tried(track([], Move(S, S, Place("climb"))), HIGH, [PLAIN]) == [[]]


values = st.lists(st.sampled_from([0.0, 8.0, 9.5, 10.0, 10.5, 14.0, np.nan]), max_size=40)
sieves = st.sampled_from(
    [NO_SIEVE, Sieve(median_of=3), Sieve(lag_ns=2 * S), Sieve(mean_ns=3 * S)]
)
choices = st.builds(
    Choice, st.sampled_from([0.0, 1.0, 3.0]), sieves, st.sampled_from([0, S, 5 * S // 2])
)


@given(
    values,
    st.lists(choices, min_size=1, max_size=5),
    st.integers(1, 7),
    st.tuples(st.integers(0, 45), st.booleans()),
)
def test_neither_the_other_choices_nor_the_blocks_matter(
    seen: list[float], together: list[Choice], rows: int, move: tuple[int, bool]
) -> None:
    limit = replace(HIGH, setpoint_in={"climb": 9.0}, bridge_ns=S)
    at_ns = move[0] * S
    one = track(seen, Move(at_ns, at_ns + move[1], Place("climb")))
    whole = tried(one, limit, together)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(monitor.rehearse.trial, "_ROWS", rows)
        alone = [tried(one, limit, [choice])[0] for choice in together]

    assert alone == whole


@pytest.mark.parametrize(
    ("written", "sieve"),
    [
        ("", NO_SIEVE),
        ("filter = { median_of = 3 }", Sieve(median_of=3)),
        ("filter = { lag_s = 1 }", Sieve(lag_ns=S)),
        ("filter = { mean_s = 2 }", Sieve(mean_ns=2 * S)),
    ],
)
def test_a_trial_gives_the_alarms_of_the_pipeline(
    bench: Any, new_stand: Any, known_stand: Any, written: str, sieve: Sieve
) -> None:
    keys = "setpoint = 10\nsetpoint_in = { climb = 8 }\non_delay_s = 0.5\noff_delay_s = 0.3"
    plan = known_stand(
        new_stand(
            ("setpoint = 10", keys),
            ("stale_after_s = 2\ncal", f"stale_after_s = 2\n{written}\ncal"),
        )
    )
    start_ns = bench.pipeline.until_ns
    pipeline, gathered = Pipeline(plan, start_ns), Occurrences()
    column = plan.channels.column["PT-1"]
    writer = TrackWriter("run", plan, column, start_ns)
    script = [1, 12, 9, 11, 9.5, 8.5, 12, 7, 9, 9, 9, 3, 12, 12, 1]
    for second, bar in enumerate(script):
        until_ns = pipeline.until_ns + S
        acts = [] if second != 8 else [Action("enter_phase", "climb", "A. Roe")]
        controls = [Control(until_ns, second, act) for act in acts]
        bench.pipeline.until_ns = pipeline.until_ns
        step = pipeline.step((bench.block(4 + bar),), controls, until_ns)
        gathered.add(step.events)
        writer.take(step)

    (limit,) = (limit for limit in plan.limits if limit.id == "PT-1.high")
    choice = Choice(limit.deadband, sieve, limit.on_delay_ns)
    (found,) = tried(writer.track(), limit, [choice])

    expected = gathered.result(pipeline.until_ns)["PT-1.high"]
    assert [(one.raised_ns, one.end_ns) for one in found] == [
        (one.raised_ns, one.end_ns) for one in expected
    ]
    assert len(found) >= 2
