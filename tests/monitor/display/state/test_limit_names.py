"""Tests for monitor.display.state.limit_names.

Source: hand-worked here, on a drawing of 300 by 100 pixels for 60 s and 0 to 10.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.display.state.axis import Range
from monitor.display.state.charts import LimitLine
from monitor.display.state.limit_names import NAME_PX, LimitName, Sheet, limit_names
from monitor.display.state.severity import Severity
from monitor.display.state.trace import Line, line_of


def limit_at(at: float, severity: Severity = Severity.CALM) -> LimitLine:
    """Give a limit whose name is about 70 pixels wide."""
    return LimitLine(at, f"limit {at}", 0, severity)


def curve(*values: float) -> Line:
    """Give a curve through *values*, evenly over the minute."""
    return line_of(np.linspace(-60.0, 0.0, len(values)), np.array(values, np.float64))


def sheet(*lines: Line) -> Sheet:
    """Give what names are written on."""
    return Sheet(Range(0.0, 10.0), 60.0, 300.0, 100.0, lines)


def test_a_name_stands_above_its_line_at_the_left() -> None:
    (name,) = limit_names([limit_at(5.0)], sheet())

    assert (name.left, name.top, name.is_below) == (4.0, 50.0 - NAME_PX, False)


def test_names_that_would_run_into_each_other_stand_apart_and_active_ones_come_first() -> None:
    names = limit_names([limit_at(5.0), limit_at(5.5, Severity.TOP)], sheet())

    assert [(name.limit.at, name.left, name.top) for name in names] == [
        (5.5, 4.0, 45.0 - NAME_PX),
        (5.0, 4.0, 50.0),
    ]


def test_a_name_at_the_top_stands_below_its_line() -> None:
    (name,) = limit_names([limit_at(9.5)], sheet())

    assert (name.is_below, name.top) == (True, 5.0)


def test_a_limit_outside_the_range_has_no_name() -> None:
    assert limit_names([limit_at(11.0), limit_at(-1.0)], sheet()) == ()


def test_without_a_range_there_are_no_names() -> None:
    assert limit_names([limit_at(1.0)], Sheet(Range(1.0, 1.0), 60.0, 300.0, 100.0)) == ()


def test_a_name_avoids_a_curve_above_its_line() -> None:
    (name,) = limit_names([limit_at(5.0)], sheet(curve(6.0, 6.0)))

    assert name.is_below


def test_a_name_goes_to_the_right_where_curves_run_on_both_sides_at_the_left() -> None:
    left = curve(6.0, 4.0, 6.0, 4.0, float("nan"), float("nan"), float("nan"), float("nan"))

    (name,) = limit_names([limit_at(5.0)], sheet(left))

    assert name.left > 150


def test_a_name_avoids_the_line_of_another_limit() -> None:
    names = limit_names([limit_at(5.0), limit_at(5.9)], sheet())

    assert [(name.limit.at, name.is_below) for name in names] == [(5.0, True), (5.9, False)]


def test_a_steep_piece_between_two_points_counts_as_running_through() -> None:
    (name,) = limit_names(
        [limit_at(5.0)], sheet(line_of(np.array([-58.0, -57.0]), np.array([9.0, 1.0])))
    )

    assert name.left > 150


def test_one_point_alone_counts_where_it_stands() -> None:
    point = line_of(np.array([-55.0]), np.array([5.5]))

    (name,) = limit_names([limit_at(5.0)], sheet(point))

    assert name.is_below


def test_where_no_place_is_free_a_calm_limit_has_no_name() -> None:
    wild = curve(*([4.0, 6.0] * 40))

    assert limit_names([limit_at(5.0)], sheet(wild)) == ()


def test_an_active_limit_may_stand_at_an_edge_of_the_drawing() -> None:
    wild = curve(*([4.0, 6.0] * 40))

    (name,) = limit_names([limit_at(5.0, Severity.TOP)], sheet(wild))

    assert name.top == 0.0


def test_where_even_the_edges_are_taken_nothing_is_written_over_a_curve() -> None:
    wild = curve(*([0.0, 10.0] * 40))

    assert limit_names([limit_at(5.0, Severity.TOP)], sheet(wild)) == ()


def test_a_name_stays_where_it_stood_while_that_is_free() -> None:
    limit = limit_at(5.0)
    stood = LimitName(limit, True, 226.0, 50.0)

    (name,) = limit_names([limit], sheet(), [stood])

    assert (name.left, name.is_below) == (226.0, True)


@pytest.mark.parametrize("at", [0.0, 10.0])
def test_no_name_runs_out_of_the_drawing(at: float) -> None:
    (name,) = limit_names([limit_at(at)], sheet())

    assert 0 <= name.top <= 100 - NAME_PX
