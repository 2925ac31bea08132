"""Tests for monitor.display.state.chart_view.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.chart_view import ChartFrame, ChartView
from monitor.display.state.charts import chart_plans
from monitor.display.state.model import Model
from monitor.display.state.rows import ChannelRow, channel_rows
from monitor.display.state.trace import Window
from monitor.link.messages import Change
from tests.monitor.display.made import NOON, NS, column, model

WINDOW = Window(NOON + 70 * NS, 60 * NS, 600)


def filled() -> tuple[Model, tuple[ChannelRow, ...], ChartView]:
    """Give a run with a minute of rows, its table and its chart."""
    made = model()
    values = [4.0 + 0.01 * n for n in range(60)]
    made.apply(Change(2, NOON + 70 * NS, [column(0, values, NOON + 11 * NS)]), 0)
    rows = channel_rows(made, [None] * 3, NOON + 70 * NS, is_frozen=False)
    return made, rows, ChartView(chart_plans(made.index)[0])


def frame(*, is_close: bool = False, is_held: bool = False) -> ChartFrame:
    """Make one frame."""
    made, rows, view = filled()
    return view.frame(made, WINDOW, rows, height_px=100, is_close=is_close, is_held=is_held)


def test_a_frame_has_lines_limits_labels_and_ticks() -> None:
    made = frame()

    assert [line.y.size for line in made.lines] == [60, 0]
    assert made.span_s == 60.0
    assert len(made.limits) == 4
    assert [label.tag for label in made.labels] == ["PT-1", "PT-2"]
    assert made.time_ticks[0] == (0.0, "now")
    assert len(made.value_ticks) >= 3


def test_limits_are_in_the_picture_and_out_of_a_close_up() -> None:
    assert frame().shown.high >= 9.0
    assert frame(is_close=True).shown.high < 6.0


def test_a_held_frame_tells_the_past() -> None:
    made = frame(is_held=True)

    assert made.labels[0].value == "4.6"
    assert made.time_ticks[0] == (0.0, "12:01:10")


def test_no_chart_ends_now_while_the_watch_is_not_heard() -> None:
    made, _, view = filled()
    rows = channel_rows(made, [None] * 3, NOON + 70 * NS, is_frozen=True)

    lost = view.frame(made, WINDOW, rows, height_px=100, is_close=False)

    assert lost.time_ticks[0] == (0.0, "12:01:10")


def test_a_narrow_chart_has_no_room_for_the_time_at_its_end() -> None:
    made, rows, view = filled()
    narrow = Window(NOON + 70 * NS, 60 * NS, 90)

    past = view.frame(made, narrow, rows, height_px=100, is_close=False, is_held=True)

    assert [text for _, text in past.time_ticks] == [
        "end",
        "\N{MINUS SIGN}30 s",
        "\N{MINUS SIGN}1 min",
    ]


def test_parts_that_did_not_change_are_the_very_same_objects() -> None:
    made, rows, view = filled()
    frames = [view.frame(made, WINDOW, rows, height_px=100, is_close=False) for _ in range(2)]

    assert frames[0].lines[0] is frames[1].lines[0]
    assert frames[0].limits is frames[1].limits
    assert frames[0].time_ticks is frames[1].time_ticks


def test_labels_follow_the_rows_of_the_table() -> None:
    made, rows, view = filled()
    view.frame(made, WINDOW, rows, height_px=100, is_close=False)
    frozen = channel_rows(made, [None] * 3, NOON + 70 * NS, is_frozen=True)

    after = view.frame(made, WINDOW, frozen, height_px=100, is_close=False)

    assert after.labels[0].severity == "frozen"


def test_turning_the_close_up_off_brings_the_limits_back() -> None:
    made, rows, view = filled()
    view.frame(made, WINDOW, rows, height_px=100, is_close=True)

    assert view.frame(made, WINDOW, rows, height_px=100, is_close=False).shown.high >= 9.0
