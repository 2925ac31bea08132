"""Tests for monitor.rehearse.noise.

Source: hand-worked here; the spread of normal noise is known because it is made here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from monitor.rehearse.noise import lasting, noise_of, period_of, spans_of

S = 1_000_000_000
ROWS = 20_000
T_NS = np.arange(ROWS) * (S // 10)
GOOD = np.ones(ROWS, np.bool_)
#: The estimate's own standard error: 1.17 / sqrt(rows) for a MAD of independent values (its
#: efficiency is 37 %), and more because neighbouring second differences share samples.
ERROR = 3 * 1.17 / math.sqrt(ROWS / 3)


def normal(sigma: float) -> np.ndarray:
    """Make normal noise, always the same."""
    return np.random.default_rng(3).normal(0.0, sigma, ROWS)


def test_the_spread_of_normal_noise_is_found() -> None:
    found = noise_of(T_NS, 100 + normal(0.5), GOOD)

    assert found.sigma == pytest.approx(0.5, rel=ERROR)
    assert found.samples == ROWS


def test_a_ramp_of_any_slope_adds_nothing() -> None:
    level = noise_of(T_NS, normal(0.5), GOOD)
    ramp = noise_of(T_NS, normal(0.5) + 7.0 * np.arange(ROWS), GOOD)

    assert ramp.sigma == pytest.approx(level.sigma, rel=1e-6)


def test_spikes_and_steps_add_next_to_nothing() -> None:
    value = normal(0.5)
    value[::500] += 1000
    value[ROWS // 2 :] += 300

    assert noise_of(T_NS, value, GOOD).sigma == pytest.approx(0.5, rel=0.05)


def test_bad_samples_and_gaps_are_no_neighbours() -> None:
    # Every tenth value is bad and stands far away; behind each gap the level is another one.
    value = normal(0.5)
    is_good = GOOD.copy()
    is_good[::10] = False
    value[::10] = 1e6
    t_ns = T_NS + 100 * S * (np.arange(ROWS) // 10)
    value += 50.0 * (np.arange(ROWS) // 10)

    found = noise_of(t_ns, value, is_good)

    assert found.sigma == pytest.approx(0.5, rel=2 * ERROR)
    assert found.samples == ROWS * 9 // 10
    assert found.resolution < 1


def test_across_gaps_there_is_no_noise() -> None:
    # Three samples and a gap: two of three second differences would lie across one.
    burst = np.arange(ROWS) // 3
    value = normal(0.5) + 50.0 * burst**2

    found = noise_of(T_NS + 100 * S * burst, value, GOOD)

    assert found.sigma == pytest.approx(0.5, rel=3 * ERROR)


def test_a_bend_that_is_always_the_same_adds_nothing() -> None:
    curve = noise_of(T_NS, normal(0.5) + 3.0 * np.arange(ROWS) ** 2, GOOD)

    assert curve.sigma == pytest.approx(0.5, rel=ERROR)


def test_a_bad_sample_does_not_make_the_signal_finer() -> None:
    value = np.where(np.arange(ROWS) % 50 == 0, 0.25, 0.0)
    is_good = GOOD.copy()
    is_good[25], value[25] = False, 0.001

    assert noise_of(T_NS, value, is_good).resolution == 0.25


def test_of_a_few_samples_nothing_is_said() -> None:
    found = noise_of(T_NS[:21], normal(0.5)[:21], GOOD[:21])

    assert math.isnan(found.sigma)


def test_a_coarse_signal_is_judged_by_its_steps() -> None:
    # It mostly stays where it is: the median of its differences is 0.
    value = np.where(np.arange(ROWS) % 50 == 0, 0.25, 0.0)
    found = noise_of(T_NS, value, GOOD)

    assert (found.sigma, found.resolution) == (0.0, 0.25)
    assert found.scatter == 0.25


def test_a_signal_that_never_moves_has_no_resolution() -> None:
    found = noise_of(T_NS, np.zeros(ROWS), GOOD)

    assert found.scatter == 0.0
    assert math.isnan(found.resolution)


def test_nothing_has_no_scatter() -> None:
    nothing = noise_of(T_NS[:0], T_NS[:0].astype(float), GOOD[:0])

    assert math.isnan(nothing.scatter)
    assert period_of(T_NS[:1]) == 0


def test_the_usual_time_between_samples_does_not_mind_gaps() -> None:
    t_ns = np.array([0, 1, 2, 3, 90, 91, 92]) * S

    assert period_of(t_ns) == S


def flags(text: str) -> np.ndarray:
    """Read one row a character: # is true."""
    return np.array([letter == "#" for letter in text])


def test_stretches_are_found_with_their_times() -> None:
    holds = flags("##__#_##")
    found = spans_of(np.arange(8) * S, holds)

    assert list(zip(found.first, found.end, strict=True)) == [(0, 2), (4, 5), (6, 8)]
    assert found.rows.tolist() == [2, 1, 2]
    # The last one has no row behind it: its last row is as far as it is known.
    assert (found.lasted_ns // S).tolist() == [2, 1, 1]
    assert found.only(found.rows == 1).first.tolist() == [4]


def test_where_nothing_holds_there_are_no_stretches() -> None:
    assert spans_of(np.arange(3) * S, flags("___")).first.size == 0


def test_what_lasts_is_found_with_its_true_beginning_and_end() -> None:
    holds = flags("_" * 40 + "#" * 30 + "_" * 40)
    found = lasting(np.arange(110) * S, holds, 20 * S)

    assert [(found.start_ns[0] // S, found.end_ns[0] // S)] == [(40, 70)]


def test_half_of_the_time_is_not_most_of_it() -> None:
    assert lasting(np.arange(2) * S, flags("#_"), 20 * S).first.size == 0


def test_spikes_do_not_last_and_short_returns_do_not_break() -> None:
    spiky = flags("_" * 30 + "###" + "_" * 30)
    broken = flags("_" * 40 + "#" * 15 + "__" + "#" * 15 + "_" * 40)
    t_ns = np.arange(120) * S

    assert lasting(t_ns[:63], spiky, 20 * S).first.size == 0
    assert lasting(t_ns[:112], broken, 20 * S).rows.tolist() == [32]
