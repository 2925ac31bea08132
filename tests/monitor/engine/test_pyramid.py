"""Tests for monitor.engine.pyramid.

Source: hand-worked here; the random cases compare with plain minima and maxima.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.engine.pyramid import Pyramid
from monitor.engine.rows import Rows

NAN = float("nan")


def rows(channel: int, *pairs: tuple[int, float]) -> Rows:
    return Rows(
        np.array([channel]),
        np.array([0, len(pairs)]),
        np.array([t for t, _ in pairs], np.int64),
        np.array([value for _, value in pairs]),
        np.zeros(len(pairs), np.uint8),
    )


def shown(pyramid: Pyramid, channel: int = 0, until_ns: int = 10**9) -> list[str]:
    """Give the values as text, so that gaps compare."""
    return [f"{value:g}" for value in pyramid.rows(channel, 0, until_ns)[1]]


def made(*pairs: tuple[int, float], one_by_one: bool = False) -> Pyramid:
    pyramid = Pyramid(channels=2, buckets=8, start_ns=0, width_ns=100)
    if one_by_one:
        for pair in pairs:
            pyramid.push(rows(0, pair))
    else:
        pyramid.push(rows(0, *pairs))
    return pyramid


ROWS_OF_ONE_BUCKET = [
    ([1.0], ["1"]),
    ([1.0, 2.0], ["1", "2"]),
    ([2.0, 1.0], ["2", "1"]),
    ([2.0, 1.0, 3.0], ["1", "3"]),
    ([2.0, 3.0, 1.0], ["3", "1"]),
    ([NAN], ["nan"]),
    ([NAN, 1.0], ["nan", "1"]),
    ([1.0, NAN], ["1", "nan"]),
    ([1.0, NAN, 2.0], ["1", "2", "nan"]),
    ([NAN, NAN], ["nan", "nan"]),
    ([5.0, 5.0, 5.0], ["5"]),
]


@pytest.mark.parametrize("one_by_one", [False, True])
@pytest.mark.parametrize(("values", "expected"), ROWS_OF_ONE_BUCKET)
def test_a_bucket_shows_its_extremes_in_order_and_its_gaps(
    values: list[float], expected: list[str], one_by_one: bool
) -> None:
    pyramid = made(*((10 * k, v) for k, v in enumerate(values)), one_by_one=one_by_one)

    assert shown(pyramid) == expected


def test_an_empty_bucket_between_two_numbers_is_no_gap() -> None:
    assert shown(made((0, 1.0), (500, 2.0))) == ["1", "2"]


def test_times_rise_and_stay_inside_their_bucket() -> None:
    t_ns, _ = made((110, NAN), (120, 1.0), (130, 2.0), (140, NAN)).rows(0, 0, 800)

    assert t_ns.tolist() == [100, 125, 150, 175]


def test_only_the_span_asked_for_is_given() -> None:
    pyramid = made((0, 1.0), (100, 2.0), (200, 3.0), (300, 4.0))

    assert pyramid.rows(0, 150, 300)[1].tolist() == [2.0, 3.0]


def test_a_span_before_the_start_or_after_the_end_is_empty() -> None:
    pyramid = made((0, 1.0))

    assert pyramid.rows(0, -500, -100)[1].tolist() == []
    assert pyramid.rows(0, 5_000, 9_000)[1].tolist() == []


def test_buckets_double_when_they_run_out_and_keep_everything() -> None:
    pyramid = made(*((100 * k, float(k)) for k in range(8)), (800, 99.0))

    assert pyramid.width_ns(0) == 200
    assert shown(pyramid) == ["0", "1", "2", "3", "4", "5", "6", "7", "99"]


def test_doubling_keeps_the_order_of_a_fall_and_of_gaps() -> None:
    pyramid = made((0, 5.0), (100, 2.0), (200, NAN), (300, 4.0), (400, 4.0), (500, NAN))
    pyramid.push(rows(0, (800, 9.0)))

    assert shown(pyramid) == ["5", "2", "nan", "4", "4", "nan", "9"]


def test_a_row_days_later_doubles_until_it_fits() -> None:
    pyramid = made((0, 1.0))
    pyramid.push(rows(0, (1_000_000, 7.0)))

    assert shown(pyramid) == ["1", "7"]


def test_channels_do_not_all_double_in_the_same_step() -> None:
    pyramid = Pyramid(channels=3, buckets=64, start_ns=0, width_ns=10)
    for channel in range(3):
        pyramid.push(rows(channel, (500, 1.0)))

    assert [pyramid.width_ns(channel) for channel in range(3)] == [20, 10, 10]


def test_nothing_is_pushed_from_a_step_without_rows() -> None:
    pyramid = made((0, 1.0))
    pyramid.push(Rows(*(np.array(x) for x in ([], [0])), *(np.array([]) for _ in range(3))))

    assert shown(pyramid) == ["1"]


@pytest.mark.parametrize("seed", range(4))
def test_any_cut_into_pushes_gives_the_same_buckets(seed: int) -> None:
    random = np.random.default_rng(seed)
    pairs = [
        (int(t), NAN if random.random() < 0.2 else float(random.integers(20)))
        for t in np.cumsum(random.integers(1, 60, 300))
    ]
    whole = Pyramid(channels=1, buckets=32, start_ns=0, width_ns=100)
    whole.push(rows(0, *pairs))
    cut = Pyramid(channels=1, buckets=32, start_ns=0, width_ns=100)
    while pairs:
        n = int(random.integers(1, 30))
        cut.push(rows(0, *pairs[:n]))
        pairs = pairs[n:]

    assert shown(cut) == shown(whole)
    assert len(shown(whole)) > 20


@pytest.mark.parametrize("seed", range(4))
def test_extremes_are_the_extremes_of_the_rows(seed: int) -> None:
    values = np.random.default_rng(seed).normal(size=2_000)
    pyramid = Pyramid(channels=1, buckets=64, start_ns=0, width_ns=7)
    pyramid.push(rows(0, *((3 * k, float(v)) for k, v in enumerate(values))))
    width_ns = pyramid.width_ns(0)

    t_ns, got = pyramid.rows(0, 0, 6_000)

    bucket = np.arange(2_000) * 3 // width_ns
    for number in np.unique(bucket):
        mine = got[t_ns // width_ns == number]
        assert (mine.min(), mine.max()) == (
            values[bucket == number].min(),
            values[bucket == number].max(),
        )


def test_the_last_channel_doubles_before_it_would_run_into_the_next() -> None:
    pyramid = Pyramid(channels=2, buckets=8, start_ns=0, width_ns=100)
    pyramid.push(rows(1, (799, 1.0)))
    assert pyramid.width_ns(1) == 100

    pyramid.push(rows(1, (800, 2.0)))

    assert pyramid.width_ns(1) == 200
    assert shown(pyramid, channel=1) == ["1", "2"]


def test_buckets_are_counted_from_the_start_of_the_run() -> None:
    pyramid = Pyramid(channels=1, buckets=8, start_ns=1_000_000, width_ns=100)
    pyramid.push(rows(0, (1_000_010, 1.0), (1_000_250, 2.0)))
    pyramid.push(rows(0, (999_000, 0.5)))

    t_ns, value = pyramid.rows(0, 1_000_000, 1_000_300)
    later = pyramid.rows(0, 1_000_200, 1_000_300)

    assert pyramid.width_ns(0) == 100
    # What came from before the start lies in the first bucket.
    assert value.tolist() == [1.0, 0.5, 2.0]
    assert t_ns.tolist() == [1_000_025, 1_000_050, 1_000_225]
    assert later[1].tolist() == [2.0]
