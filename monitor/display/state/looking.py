"""Which stretch of the run the charts show: how long, live or held, whole span or close-up."""

from __future__ import annotations

from dataclasses import dataclass, replace

from monitor.display.state.axis import SPANS_S, run_span_s
from monitor.display.state.text import NS, age_text, clock_text, span_text
from monitor.display.state.trace import Window

#: Position behind the last span: the whole run.
WHOLE_RUN = len(SPANS_S)
_SMALLEST_CHART_PX = 300
_LOWEST_CHART_PX = 112
_MOST_GRID_COLUMNS = 3


@dataclass(frozen=True, slots=True)
class Looking:
    """What the charts look at.

    Attributes:
        span: Position in the list of spans, or :data:`WHOLE_RUN`.
        held_ns: Right edge in data time while the charts are held; None while they are live.
        is_close: Value axes fit the lines alone; otherwise the limits are in the picture, too.
    """

    span: int = 0
    held_ns: int | None = None
    is_close: bool = False

    def span_s(self, run_s: float) -> int:
        """Give the length of the time axis, in s, for a run that has lasted *run_s*."""
        return run_span_s(run_s) if self.span >= WHOLE_RUN else SPANS_S[self.span]

    def with_span(self, span: int) -> Looking:
        """Choose another span."""
        return replace(self, span=min(WHOLE_RUN, max(0, span)))

    def toggled_close(self) -> Looking:
        """Change between close-up and a picture with the limits."""
        return replace(self, is_close=not self.is_close)

    def toggled_pause(self, edge_ns: int) -> Looking:
        """Hold the charts at the present edge, or go on with the present."""
        return replace(self, held_ns=edge_ns if self.held_ns is None else None)

    def moved(self, halves: int, edge_ns: int, started_ns: int) -> Looking:
        """Look back (-1) or forward (1) by half a span; at the present it is live again.

        Args:
            halves: Half spans to move by.
            edge_ns: Right edge of live charts.
            started_ns: Begin of the run: it is as far back as one can look.
        """
        span_ns = self.span_s((edge_ns - started_ns) / NS) * NS
        now_ns = edge_ns if self.held_ns is None else self.held_ns
        wanted_ns = now_ns + halves * span_ns // 2
        earliest_ns = min(edge_ns, started_ns + span_ns // 2)
        if wanted_ns >= edge_ns:
            return replace(self, held_ns=None)
        return replace(self, held_ns=max(wanted_ns, earliest_ns))

    def window(self, edge_ns: int, started_ns: int, columns: int) -> Window:
        """Give the stretch to draw with *columns* columns of pixels."""
        span_s = self.span_s((edge_ns - started_ns) / NS)
        until_ns = edge_ns if self.held_ns is None else self.held_ns
        return Window(until_ns, span_s * NS, columns)

    def text(self, edge_ns: int, started_ns: int, *, is_frozen: bool) -> str:
        """Say in words what is shown; nothing is live while the engine is not heard."""
        window = self.window(edge_ns, started_ns, 1)
        start = clock_text(window.until_ns - window.span_ns)
        shown = f"{start} to {clock_text(window.until_ns)} UTC"
        if self.held_ns is None:
            return f"{'STOPPED' if is_frozen else 'Live'}, {shown}"
        return f"HELD {age_text(edge_ns - self.held_ns)} behind, {shown}"


def span_labels() -> tuple[str, ...]:
    """Give the label of each span to choose from."""
    return (*(span_text(seconds) for seconds in SPANS_S), "Run")


def grid_columns(charts: int, width_px: int, height_px: int) -> int:
    """Choose how many charts stand side by side: as few as let all be seen at once."""
    widest = max(1, min(_MOST_GRID_COLUMNS, width_px // _SMALLEST_CHART_PX))
    for columns in range(1, widest):
        if -(-charts // columns) * _LOWEST_CHART_PX <= height_px:
            return columns
    return widest
