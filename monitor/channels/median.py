"""Running median of the last n good values, by comparing pairs: no value is ever computed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from monitor.samples import Bytes, Flags, Floats, Ints


class RunningMedian:
    """Medians over windows of *width* values, many columns at once.

    A window ends at its row and reaches back over at most *width* values, but not past a bad
    one. While it holds an even number of values, the median is the mean of the middle two.
    """

    def __init__(self, width: int) -> None:
        """Lay out the comparisons for windows of *width* values, odd."""
        self.width = width
        self._pairs = tuple(_pairs_for_the_middle(width))

    def start(self, columns: int) -> Floats:
        """Give the history of columns that had no value yet."""
        return np.full((self.width - 1, columns), np.nan)

    def step(self, history: Floats, value: Floats, count: Ints) -> tuple[Floats, Floats]:
        """Take the next rows.

        Args:
            history: (width - 1, columns) values before these rows, NaN where bad or none.
            value: (rows, columns) values, NaN where bad; column c owns its first count[c].
            count: (columns,) number of rows.

        Returns:
            (rows, columns) medians, of which those from count[c] on mean nothing, and the
            history for the next step.
        """
        joined = np.concatenate([history, value])
        rows = value.shape[0]
        middle = self._middle([joined[k : k + rows] for k in range(self.width)])
        # A window that holds a NaN anywhere gave NaN.
        is_short = np.isnan(middle) & ~np.isnan(value)
        if is_short.any():
            middle[is_short] = self._of_short_windows(joined, is_short)
        if (count == rows).all():
            return middle, joined[rows:]
        place = count + np.arange(self.width - 1)[:, None]
        return middle, joined[place, np.arange(count.size)]

    def _middle(self, values: list[Floats]) -> Floats:
        """Give the middle one of *width* arrays, element by element; NaN where one is NaN."""
        for low, high, needs_low, needs_high in self._pairs:
            a, b = values[low], values[high]
            if needs_low:
                values[low] = np.minimum(a, b)
            if needs_high:
                values[high] = np.maximum(a, b)
        return values[self.width // 2]

    def _of_short_windows(self, joined: Floats, is_short: Flags) -> Floats:
        """Give the medians of windows that reach back to a bad value or to the start."""
        row, column = np.nonzero(is_short)
        window = joined[row[:, None] + np.arange(self.width), column[:, None]]
        is_good: Bytes = (~np.isnan(window)).astype(np.uint8)
        # From the newest value backwards: good as long as all newer ones are.
        in_run = np.minimum.accumulate(is_good[:, ::-1], axis=1)[:, ::-1]
        ordered: Floats = np.sort(np.where(in_run > 0, window, np.nan), axis=1)
        good = np.count_nonzero(in_run, axis=1)
        each = np.arange(row.size)
        lower, upper = ordered[each, (good - 1) // 2], ordered[each, good // 2]
        median: Floats = np.where(good % 2 == 1, lower, 0.5 * lower + 0.5 * upper)
        return median


def _pairs_for_the_middle(width: int) -> list[tuple[int, int, bool, bool]]:
    """Give the comparisons that bring the median of *width* values to the middle place.

    Those of a whole sort, without what the middle place does not depend on.

    Returns:
        (place of the lower, place of the higher, whether the lower is needed, whether the
        higher is needed), in order.
    """
    kept: list[tuple[int, int, bool, bool]] = []
    needed = {width // 2}
    for low, high in reversed(list(_sorting_pairs(width))):
        if low in needed or high in needed:
            kept.append((low, high, low in needed, high in needed))
            needed |= {low, high}
    return kept[::-1]


def _sorting_pairs(width: int) -> Iterator[tuple[int, int]]:
    """Give the comparisons that sort *width* values.

    Source:
        Batcher's merge exchange: D. E. Knuth, The Art of Computer Programming, volume 3,
        5.2.2, algorithm M (from memory; the test tries every order of small widths).
    """
    top = 1 << max((width - 1).bit_length() - 1, 0)
    p = top
    while p > 0:
        q, r, d = top, 0, p
        while True:
            yield from ((i, i + d) for i in range(width - d) if i & p == r)
            if q == p:
                break
            d, q, r = q - p, q >> 1, p
        p >>= 1
