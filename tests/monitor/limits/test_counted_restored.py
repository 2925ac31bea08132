"""Tests for monitor.limits.counted.

Source: Hand-worked here, from the project's own limit rules 3 and 27 (DEVELOPERS.md): after a
restart an alarm by n of m tells of the first of the n as it would have without.
"""

from __future__ import annotations

from monitor.limits.compare import Seen
from monitor.limits.counted import Counted
from tests.monitor.limits.made import limit


def counting() -> Counted:
    """Give two limits that count, of which the second is shown samples."""
    return Counted([limit(n_of_m=(2, 3)), limit(n_of_m=(2, 4))])


def test_a_restored_count_tells_of_its_first_sample_with_time_value_and_quality() -> None:
    before, after = counting(), counting()
    before.see(1, Seen.TRUE, (11, 151.5, 3))
    before.see(1, Seen.RETURNED, (12, 140.0, 0))

    after.load_state(before.state())

    assert after.see(1, Seen.TRUE, (13, 152.5, 4)) == (Seen.TRUE, (11, 151.5, 3))


def test_a_restored_count_forgets_what_has_left_the_window() -> None:
    before, after = counting(), counting()
    before.see(1, Seen.TRUE, (11, 151.5, 3))
    for t_ns in (12, 13, 14):
        before.see(1, Seen.RETURNED, (t_ns, 140.0, 0))

    after.load_state(before.state())

    assert after.see(1, Seen.TRUE, (15, 152.5, 4))[0] == Seen.BETWEEN
    assert after.is_blank(0)
