"""Tests for monitor.channels.windows.

Source: Hand-worked sums here; the slow reference of windows in tests/monitor/reference, which
sums each window anew; means by exact fractions.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest

from monitor.channels import windows as module
from monitor.channels.windows import MOST_SAMPLES, Sums, Windows
from tests.monitor.channels.made import NAN, START_NS, S
from tests.monitor.reference.slow_derived import Window

Row = tuple[float, float]


def step(windows: Windows, rows: Sequence[Row], count: Sequence[int] | None = None) -> Sums:
    """Give one column, or several alike, rows of (seconds, value)."""
    columns = len(count or [1])
    t_ns = np.array([[START_NS + round(t * S)] * columns for t, _ in rows], dtype=np.int64)
    value = np.array([[x] * columns for _, x in rows])
    counts = np.array(count or [len(rows)], dtype=np.int64)
    with np.errstate(all="ignore"):
        return windows.step(t_ns, value, counts)


def told(sums: Sums, column: int = 0) -> list[tuple[float, list[float], float, float, int]]:
    """Give what a column has at each row."""
    return [
        (
            float(sums.n[column, k]),
            sums.moments[:, column, k].tolist(),
            float(sums.at[column, k]),
            float(sums.reference[column, k]),
            int(sums.span_ns[column, k]),
        )
        for k in range(sums.n.shape[1])
    ]


def slowly(window_s: float, rows: Sequence[Row]) -> list[object]:
    """Give what :func:`told` gives, by the slow reference; None at bad rows."""
    window, found = Window(round(window_s * S)), []
    for t, x in rows:
        if np.isnan(x):
            window.clear()
            found.append(None)
            continue
        one = window.add(START_NS + round(t * S), x)
        found.append((one.n, one.sums, one.at, one.reference, one.span_ns))
    return found


def cut_up(
    window_s: float, rows: Sequence[Row], longest: int, *, restores: bool = False
) -> list[object]:
    """Take rows in steps of up to *longest*, through a checkpoint after each if wanted."""
    rng = np.random.default_rng(longest)
    windows, found, first = Windows([round(window_s * S)]), [], 0
    while first < len(rows):
        some = rows[first : first + int(rng.integers(1, longest + 1))]
        first += len(some)
        sums = told(step(windows, some))
        found += [None if np.isnan(x) else one for one, (_, x) in zip(sums, some, strict=True)]
        if restores:
            windows = Windows.restored([round(window_s * S)], "w", windows.state("w"))
    return found


def made_up(n: int, dt_s: float = 0.1, *, bad: float = 0.0) -> list[Row]:
    """Make uneven rows of noise on a slope, some of them bad."""
    rng = np.random.default_rng(7)
    t_s = np.cumsum(rng.choice([0.5, 1.0, 1.5], n)) * dt_s
    x = 101.3 + 0.01 * t_s + rng.normal(size=n)
    x[rng.random(n) < bad] = NAN
    return list(zip(t_s.tolist(), x.tolist(), strict=True))


def test_a_window_does_not_hold_the_sample_that_is_exactly_as_old_as_it_is_long() -> None:
    sums = step(Windows([2 * S]), [(t, 1.0) for t in range(5)])

    assert sums.n[0].tolist() == [1, 2, 2, 2, 2]


def test_sums_are_those_of_time_since_the_pane_and_of_value_less_a_reference() -> None:
    sums = step(Windows([2 * S]), [(0, 5.0), (1, 7.0), (2, 4.0), (3, 8.0)])

    # The second pane begins at 2 s, 7 is the last value before it; 1 s is half a window.
    assert sums.reference[0].tolist() == [5.0, 5.0, 7.0, 7.0]
    assert sums.at[0].tolist() == [0.0, 0.5, 0.0, 0.5]
    assert sums.moments[:, 0, 2].tolist() == [-0.5, -3.0, 0.25, 0.0, 9.0]
    assert sums.moments[:, 0, 3].tolist() == [0.5, -2.0, 0.25, 0.5, 10.0]
    assert sums.span_ns[0].tolist() == [0, S, S, S]


def test_a_bad_row_starts_afresh() -> None:
    sums = step(Windows([9 * S]), [(0, 5.0), (1, NAN), (1.5, NAN), (2, 4.0), (3, 8.0)])

    assert sums.n[0, [0, 3, 4]].tolist() == [1, 1, 2]
    assert sums.reference[0, 3:].tolist() == [4.0, 4.0]


def test_a_bad_row_at_the_end_of_a_step_starts_the_next_one_afresh() -> None:
    windows = Windows([9 * S])
    step(windows, [(0, 5.0), (1, NAN)])

    assert step(windows, [(2, 4.0)]).n[0].tolist() == [1]


def test_a_pane_without_samples_lets_the_one_before_it_fall_out() -> None:
    sums = step(Windows([S]), [(0.9, 5.0), (2.0, 6.0), (2.5, 6.0)])

    assert sums.n[0].tolist() == [1, 1, 2]


@pytest.mark.parametrize("longest", [1, 7, 5000])
@pytest.mark.parametrize(("window_s", "bad"), [(1.0, 0.05), (0.35, 0.2), (40.0, 0.002)])
def test_sums_equal_the_slow_reference_at_any_cut(
    longest: int, window_s: float, bad: float
) -> None:
    rows = made_up(1200, bad=bad)

    assert cut_up(window_s, rows, longest) == slowly(window_s, rows)


@pytest.mark.parametrize("window_s", [1.0, 60.0])
def test_sums_go_on_through_checkpoints(window_s: float) -> None:
    rows = made_up(1500, bad=0.002)

    assert cut_up(window_s, rows, 60, restores=True) == slowly(window_s, rows)


def test_columns_beside_each_other_do_not_matter_to_each_other() -> None:
    """Some run through many panes and stretches that grow while others stand still."""
    window_ns = [S // 2, 60 * S, 5 * S, 7 * S]
    rows = made_up(1400)
    windows = Windows(window_ns)
    found: list[list[object]] = [[] for _ in window_ns]
    for first in range(0, len(rows), 50):
        # The third column gets nothing in every other step, the last one half of the rows.
        count = [50, 50, 50 * (first // 50 % 2), 25]
        sums = step(windows, rows[first : first + 50], count)
        for column, n in enumerate(count):
            found[column] += told(sums, column)[:n]

    assert found[0] == slowly(0.5, rows)
    assert found[1] == slowly(60.0, rows)
    assert found[2] == slowly(5.0, [row for k, row in enumerate(rows) if k // 50 % 2])
    assert found[3] == slowly(7.0, [row for k, row in enumerate(rows) if k % 50 < 25])


def test_a_long_step_is_taken_in_pieces() -> None:
    rows = 2 * module._MOST_AT_ONCE + 5
    is_good, none = np.ones((1, rows), dtype=np.bool_), np.zeros((1, rows), dtype=np.bool_)

    parts = list(module._parts(is_good, none, np.zeros((1, rows), dtype=np.int64)))

    assert [int(part.length[0]) for part in parts] == [1024, 1024, 5]


def test_a_long_step_gives_what_short_ones_give() -> None:
    rows = made_up(3 * module._MOST_AT_ONCE)

    whole = step(Windows([100_000 * S]), rows)

    assert told(whole)[-1] == told(step_by_step(rows))[-1]


def step_by_step(rows: Sequence[Row]) -> Sums:
    """Take rows in steps of 100; give the sums of the last step."""
    windows = Windows([100_000 * S])
    for first in range(0, len(rows), 100):
        sums = step(windows, rows[first : first + 100])
    return sums


def test_of_samples_too_close_to_each_other_the_first_in_each_slot_counts() -> None:
    """A window of 2 * MOST_SAMPLES ns has slots of 2 ns."""
    length = 2 * MOST_SAMPLES
    t_ns = START_NS + np.arange(3 * length, dtype=np.int64)
    value = np.random.default_rng(3).normal(size=3 * length)
    windows = Windows([length])
    slow, checked = Window(length), {5, 6, length - 1, length, 2 * length + 77, 3 * length - 1}

    for first in range(0, 3 * length, 500):
        some = slice(first, first + 500)
        sums = windows.step(t_ns[some, None], value[some, None], np.array([500]))
        for k in range(first, first + 500):
            slow.put(int(t_ns[k]), float(value[k]))
            if k in checked:
                one = slow.line(int(t_ns[k]))
                expected = (one.n, one.sums, one.at, one.reference, one.span_ns)
                assert told(sums)[k - first] == expected
    assert sums.n.max() == MOST_SAMPLES
    assert windows.state("w")["w_kept_ns"].size == 2 * MOST_SAMPLES


def test_the_mean_of_a_pressure_with_little_noise_keeps_its_digits() -> None:
    rng = np.random.default_rng(5)
    rows = [(0.1 * k, 101325.0 + 0.01 * float(rng.normal())) for k in range(900)]
    sums = step(Windows([60 * S]), rows)
    mean = sums.reference[0, -1] + sums.moments[1, 0, -1] / sums.n[0, -1]

    exact = sum(Fraction(x) for _, x in rows[300:]) / 600
    assert sums.n[0, -1] == 600
    # Half a unit in the last place of 101325 is 7e-12.
    assert abs(Fraction(float(mean)) - exact) < Fraction(8, 10**12)


def test_a_shift_of_all_times_changes_no_bit() -> None:
    rows = made_up(300)
    shifted = [(t + 1234.567891, x) for t, x in rows]

    assert told(step(Windows([3 * S]), shifted)) == told(step(Windows([3 * S]), rows))


def test_what_a_checkpoint_holds_does_not_depend_on_what_was_let_go() -> None:
    one, other = Windows([2 * S]), Windows([2 * S])
    step(one, [(0, 1.0), (1, 2.0), (2, 3.0), (3, NAN)])
    step(other, [(0, 5.0), (3, NAN)])

    for name, array in one.state("w").items():
        np.testing.assert_array_equal(other.state("w")[name], array)
    assert one.state("w")["w_kept_ns"].size == 0


def test_no_columns_are_no_trouble() -> None:
    windows = Windows.restored([], "w", Windows([]).state("w"))

    assert windows.state("w")["w_pane"].size == 0
