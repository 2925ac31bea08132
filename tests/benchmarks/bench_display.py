"""How long a frame of strip charts takes, against bare pyqtgraph drawing the same lines."""

from __future__ import annotations

import os
import time
from collections.abc import Callable

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QGraphicsItem, QGraphicsView, QGridLayout, QWidget

from monitor.display.plots.chart_grid import ChartGrid
from monitor.display.plots.strip_chart import StripChart
from monitor.display.state.chart_view import ChartView
from monitor.display.state.charts import chart_plans
from monitor.display.state.model import Model
from monitor.display.state.rows import channel_rows
from monitor.display.state.trace import Line, Window
from monitor.display.theme.palette import PALETTE
from monitor.display.theme.sheet import style_sheet
from monitor.link.messages import (
    Change,
    ChannelInfo,
    ChartInfo,
    Column,
    LimitInfo,
    PhaseState,
    RecordingState,
    Snapshot,
    StandInfo,
    Value,
)
from monitor.samples import Floats, Ints
from tests.benchmarks.row import Row

NS = 1_000_000_000
CHARTS = 16
START_NS = 1_772_366_400 * NS
SIZE = (1280, 1000)
#: Of data time, about a thirtieth of a second.
FRAME_NS = 33_000_000
#: Frames that a reading of the clock takes together.
GROUP = 10
#: The display writes its numbers anew five times a second, its lines thirty times.
ROWS_EVERY = 6


def _limit(tag: str, kind: str, setpoint: float) -> LimitInfo:
    """Describe a limit; each chart draws two."""
    return LimitInfo(f"{tag}.{kind}", kind, "high", "", "", setpoint, {}, 0.1, 0, 0, False, [])


def _snapshot() -> Snapshot:
    """Describe a stand of sixteen channels with a chart for each."""
    channels = [
        ChannelInfo(
            f"PT-{n}", "Pressure", "kPa", 2, -6, 6, "", "panel", "",
            [_limit(f"PT-{n}", "high", 5.0), _limit(f"PT-{n}", "low", -5.0)],
        )
        for n in range(CHARTS)
    ]  # fmt: skip
    charts = [ChartInfo(info.tag, [info.tag]) for info in channels]
    stand = StandInfo("bench", "Bench", channels, [], charts, [], [], 0.0)
    return Snapshot(
        1, START_NS, "run", START_NS, 1.0, stand, PhaseState("", START_NS),
        [Value(START_NS, 0.0, 0) for _ in channels], [], [], [],
        RecordingState("recording", "", "", 0, 0), {},
    )  # fmt: skip


class Ours:
    """The display's charts on a model filled with noise.

    Args:
        rows: Rows of each channel at the start.
        step_ns: Time between two rows.
        span_s: Length of the time axis in s.
    """

    def __init__(self, rows: int, step_ns: int, span_s: int) -> None:
        self._step_ns, self._span_ns = step_ns, span_s * NS
        self.model = Model(_snapshot(), 0)
        self._random = np.random.default_rng(7)
        t_ns = START_NS + step_ns * np.arange(1, rows + 1, dtype=np.int64)
        for series in self.model.series:
            series.append(t_ns, self._noise(rows))
        self._t_ns = self.edge_ns = int(t_ns[-1])
        plans = chart_plans(self.model.index)
        self.grid = ChartGrid()
        self.grid.setStyleSheet(style_sheet(PALETTE))
        self.grid.resize(*SIZE)
        self.grid.show_plans(plans)
        self.views = [ChartView(plan) for plan in plans]
        self._seq = 1
        self._rows = channel_rows(self.model, [None] * CHARTS, self.edge_ns, is_frozen=False)

    def _noise(self, rows: int) -> Floats:
        """Give noise that fills a column of pixels alike, be it of two rows or of thousands."""
        if rows > 10_000:
            return self._random.normal(size=rows)
        side = np.where(np.arange(rows) % 2 == 0, 3.1, -3.1)
        return np.asarray(side + 0.3 * self._random.normal(size=rows), np.float64)

    def frame(self) -> None:
        """Take a thirtieth of a second of rows and bring every chart up to date."""
        self.edge_ns += FRAME_NS
        # At least one row a frame, so that every line is drawn anew whatever its rate.
        new = max(1, (self.edge_ns - self._t_ns) // self._step_ns)
        step_ns = (self.edge_ns - self._t_ns) // new
        t_ns = self._t_ns + step_ns * np.arange(1, new + 1, dtype=np.int64)
        self._t_ns = int(t_ns[-1])
        self._seq += 1
        columns = [self._column(n, t_ns) for n in range(CHARTS)]
        self.model.apply(Change(self._seq, self.edge_ns, columns), 0)
        if self._seq % ROWS_EVERY == 0:
            trends: list[int | None] = [None] * CHARTS
            self._rows = channel_rows(self.model, trends, self.edge_ns, is_frozen=False)
        for view, chart in zip(self.views, self.grid.charts, strict=True):
            width, height = chart.drawing_size()
            window = Window(self.edge_ns, self._span_ns, width)
            made = view.frame(self.model, window, self._rows, height_px=height, is_close=False)
            chart.show_frame(made)
        QApplication.processEvents()

    def _column(self, number: int, t_ns: Ints) -> Column:
        """Give new rows. The last is further out than all before: the picture must change."""
        value = self._random.normal(size=t_ns.size)
        value[-1] = 4.0 + 1e-4 * self._seq
        return Column(number, t_ns.tobytes(), value.tobytes(), bytes(t_ns.size))

    def lines(self) -> list[Line]:
        """Give the lines as drawn now."""
        shown = [chart.shown_frame() for chart in self.grid.charts]
        return [frame.lines[0] for frame in shown if frame is not None]


class Bare:
    """Bare pyqtgraph: the same lines, the same sizes, fixed axes."""

    def __init__(self, charts: list[StripChart], span_s: int) -> None:
        self.window = QWidget()
        grid = QGridLayout(self.window)
        self._curves = []
        for number, chart in enumerate(charts):
            view = pg.PlotWidget(background=PALETTE.panel)
            view.setFixedSize(chart.view_size())
            update = QGraphicsView.ViewportUpdateMode.FullViewportUpdate
            view.setViewportUpdateMode(update)
            plot = view.getPlotItem()
            plot.disableAutoRange()
            plot.setMouseEnabled(x=False, y=False)
            plot.hideButtons()
            plot.setXRange(-span_s, 0, padding=0)
            plot.setYRange(-6, 6, padding=0)
            for name in ("left", "bottom"):
                cached = QGraphicsItem.CacheMode.DeviceCoordinateCache
                plot.getAxis(name).setCacheMode(cached)
            curve = pg.PlotCurveItem(pen=pg.mkPen("w", width=1), connect="finite")
            plot.addItem(curve, ignoreBounds=True)
            self._curves.append(curve)
            grid.addWidget(view, number // 4, number % 4)

    def frame(self, lines: list[Line]) -> None:
        """Draw the lines."""
        for curve, line in zip(self._curves, lines, strict=True):
            curve.setData(line.x_s, line.y)
        QApplication.processEvents()


def _grouped_s(frame: Callable[[], None]) -> float:
    """Give the processor time of a frame in s: what else runs on the machine stays out."""
    started = time.process_time()
    for _ in range(GROUP):
        frame()
    return (time.process_time() - started) / GROUP


class Paints(QObject):
    """Counts how often a chart was painted: a frame that is not painted is no frame."""

    def __init__(self, viewport: QWidget) -> None:
        super().__init__(viewport)
        self.count = 0
        viewport.installEventFilter(self)

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        """Count paint events."""
        self.count += event.type() == QEvent.Type.Paint
        return False


def _is_painted_each_time(grid: ChartGrid, frame: Callable[[], None]) -> bool:
    """Make twenty frames and look whether each was painted."""
    paints = Paints(grid.charts[0].viewport())
    for _ in range(20):
        frame()
    return paints.count >= 20


def _side_by_side(
    first: Callable[[], None], second: Callable[[], None], groups: int
) -> tuple[float, float]:
    """Measure both in turn, so that both meet the same machine; give the medians in s."""
    times = [(_grouped_s(first), _grouped_s(second)) for _ in range(groups)]
    a, b = np.median(np.array(times), axis=0)
    return float(a), float(b)


def _settle(frame: Callable[[], None]) -> None:
    """Let layouts and caches come to rest."""
    for _ in range(8):
        frame()


def _spike_is_drawn(ours: Ours) -> bool:
    """Put one row far out into an hour of noise and look whether the line shows it."""
    t_ns = ours.edge_ns
    column = Column(
        0, np.array([t_ns], "<i8").tobytes(), np.array([5.9], "<f8").tobytes(), b"\0"
    )
    ours.model.apply(Change(10**6, t_ns, [column]), 0)
    ours.frame()
    return bool(ours.lines()[0].high == 5.9)


def against_bare(quick: bool) -> Row:
    """Measure sixteen charts of an hour at 100 Hz against bare pyqtgraph."""
    span_s = 3600
    ours = Ours(20_000 if quick else 360_000, NS // 100, span_s)
    ours.grid.show()
    _settle(ours.frame)
    bare = Bare(list(ours.grid.charts), span_s)
    bare.window.show()
    drawn = [ours.lines()]

    def ours_frame() -> None:
        ours.frame()
        drawn[0] = ours.lines()

    _settle(lambda: bare.frame(drawn[0]))
    ours_s, bare_s = _side_by_side(
        ours_frame, lambda: bare.frame(drawn[0]), groups=2 if quick else 25
    )
    assert _is_painted_each_time(ours.grid, ours.frame), "frames were not painted"
    points = max(line.y.size for line in ours.lines())
    width = ours.grid.charts[0].drawing_size()[0]
    assert points <= 2 * (width + 1), "more than two points a pixel column"
    assert _spike_is_drawn(ours), "a spike vanished"
    ours.grid.close()
    bare.window.close()
    return Row(
        "display frame, 16 charts of 1 h at 100 Hz",
        f"{ours_s * 1e3:.2f} ms",
        f"{bare_s * 1e3:.2f} ms bare pyqtgraph, same lines",
        ours_s / bare_s,
        "<= 1.3",
        f"{points} points a line; ours with limits, labels and taking the rows",
    )


def against_length(quick: bool) -> Row:
    """Measure frames at a million rows against frames at a thousand."""
    span_s = 10_000
    many = Ours(50_000 if quick else 1_000_000, span_s * NS // 1_000_000, span_s)
    few = Ours(1_000, span_s * NS // 1_000, span_s)
    for one in (many, few):
        one.grid.show()
        _settle(one.frame)
        assert _is_painted_each_time(one.grid, one.frame), "frames were not painted"
    many_s, few_s = _side_by_side(many.frame, few.frame, groups=2 if quick else 25)
    assert abs(many.lines()[0].y.size - few.lines()[0].y.size) <= 400 or quick
    for one in (many, few):
        one.grid.close()
    return Row(
        "display frame, 16 charts, 1 million rows a line",
        f"{many_s * 1e3:.2f} ms",
        f"{few_s * 1e3:.2f} ms with 1000 rows",
        many_s / few_s,
        "<= 1.1",
        "lines that fill the same pixels",
    )


def run(quick: bool) -> list[Row]:
    """Measure; quick: check only that what is drawn is right."""
    application = QApplication.instance() or QApplication([])
    assert application is not None
    return [against_bare(quick), against_length(quick)]
