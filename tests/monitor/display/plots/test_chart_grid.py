"""Tests for monitor.display.plots.chart_grid.

Source: hand-worked here.
"""

from __future__ import annotations

from pytestqt.qtbot import QtBot

from monitor.display.plots.chart_grid import ChartGrid
from monitor.display.state.axis import Range
from monitor.display.state.chart_view import ChartView
from monitor.display.state.charts import ChartPlan
from monitor.display.state.rows import channel_rows
from monitor.display.state.trace import Window
from tests.monitor.display.made import NOON, NS, model


def plans(count: int) -> tuple[ChartPlan, ...]:
    """Give plans of one channel each."""
    return tuple(ChartPlan(f"Chart {n}", "bar", (0,), Range(0, 10)) for n in range(count))


def grid(qtbot: QtBot, count: int, width: int = 700, height: int = 340) -> ChartGrid:
    """Show a grid."""
    made = ChartGrid()
    qtbot.addWidget(made)
    made.resize(width, height)
    made.show()
    made.show_plans(plans(count))
    return made


def test_there_is_a_chart_for_each_plan(qtbot: QtBot) -> None:
    assert len(grid(qtbot, 3).charts) == 3


def test_charts_whose_plan_stays_are_kept(qtbot: QtBot) -> None:
    made = grid(qtbot, 2)
    first = made.charts[0]

    made.show_plans(plans(4)[:1] + plans(4)[3:])

    assert made.charts[0] is first
    assert len(made.charts) == 2


def test_the_same_plans_again_change_nothing(qtbot: QtBot) -> None:
    made = grid(qtbot, 2)
    before = list(made.charts)

    made.show_plans(plans(2))

    assert list(made.charts) == before


def test_charts_stand_side_by_side_when_they_do_not_fit_below_each_other(
    qtbot: QtBot,
) -> None:
    made = grid(qtbot, 6)

    def places() -> set[int]:
        return {chart.x() for chart in made.charts}

    qtbot.waitUntil(lambda: len(places()) == 2)
    made.resize(700, 900)
    qtbot.waitUntil(lambda: len(places()) == 1)


def test_each_chart_shows_its_frame(qtbot: QtBot) -> None:
    made = grid(qtbot, 2)
    run = model()
    rows = channel_rows(run, [None] * 3, NOON, is_frozen=False)
    window = Window(NOON, 60 * NS, 100)

    frames = [
        ChartView(plan).frame(run, window, rows, height_px=100, is_close=False)
        for plan in plans(2)
    ]
    made.show_frames(frames)

    assert [chart.shown_frame() for chart in made.charts] == frames
