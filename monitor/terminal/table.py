"""A run as a table that fills the terminal. Decides nothing: shows what display.state made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.console import Console, Group, RenderableType
from rich.table import Table as Grid
from rich.text import Text

from monitor.display.state.aborts import AbortRow, abort_rows
from monitor.display.state.alarm_rows import AlarmRow, alarm_rows
from monitor.display.state.band import Band
from monitor.display.state.connection import Freshness
from monitor.display.state.model import Model
from monitor.display.state.rows import ChannelRow, channel_rows
from monitor.display.state.sentences import event_line
from monitor.display.state.severity import Severity
from monitor.display.state.strip import Strip, strip
from monitor.display.state.text import NS
from monitor.display.state.trend import trend
from monitor.events import Event

_ARROWS = {-2: "↓↓", -1: "↓", 0: "→", 1: "↑", 2: "↑↑"}
_BAR_CELLS = 15
#: Trends change slowly: worked out once in this time, in ns of the monotonic clock.
_TRENDS_EVERY_NS = NS

_STYLES = {
    Severity.CALM: "",
    Severity.QUIET: "dim",
    Severity.DOUBT: "yellow",
    Severity.BAD: "magenta",
    Severity.FROZEN: "dim italic",
    Severity.LOW: "cyan",
    Severity.MEDIUM: "yellow",
    Severity.HIGH: "bold yellow",
    Severity.TOP: "bold red",
}


@dataclass(frozen=True, slots=True)
class Share:
    """How many lines each part of the screen gets."""

    alarms: int
    channels: int
    events: int


def share(height: int, alarms: int, channels: int) -> Share:
    """Divide *height* lines: alarms first, then channels; events get what is left, 3 at least.

    Below 12 lines the screen is too low, and its end is cut off.

    Args:
        height: Lines of the terminal.
        alarms: Alarms that are listed.
        channels: Channels of the stand.
    """
    # Three of the strip, three headings.
    free = max(6, height - 6)
    for_alarms = min(alarms, max(2, free // 3))
    for_channels = min(channels, max(1, free - for_alarms - 3))
    return Share(for_alarms, for_channels, max(1, free - for_alarms - for_channels))


def bar(band: Band) -> str:
    """Draw a band in letters: the value on the stretch without a limit, dots beyond it."""
    last = _BAR_CELLS - 1
    cells = [
        "─" if band.normal_from <= cell / last <= band.normal_until else "·"
        for cell in range(_BAR_CELLS)
    ]
    if band.at is not None:
        sign = {-1: "◀", 0: "●", 1: "▶"}[band.beyond]
        cells[round(band.at * last)] = sign
    return "".join(cells)


class Table:
    """Draws the table.

    Args:
        console: Where it is drawn; its size is looked up each time.
        draw: Takes the whole picture.
    """

    def __init__(self, console: Console, draw: Callable[[RenderableType], None]) -> None:
        self._console = console
        self._draw = draw
        self._trends: list[int | None] = []
        self._trends_due_ns = 0

    def news(self, model: Model, events: Sequence[Event]) -> None:
        """Nothing: the next tick draws everything."""

    def tick(self, model: Model | None, mono_ns: int, trouble: str) -> None:
        """Draw the present."""
        if model is None:
            self._draw(Text(f"Waiting for the watch. {trouble}".strip()))
            return
        if mono_ns >= self._trends_due_ns or len(self._trends) != len(model.values):
            self._trends_due_ns = mono_ns + _TRENDS_EVERY_NS
            self._trends = [
                trend(series, model.until_ns, info.high - info.low)
                for series, info in zip(model.series, model.index.stand.channels, strict=True)
            ]
        height = self._console.size.height
        self._draw(picture(model, self._trends, mono_ns, trouble, height))


def picture(
    model: Model, trends: list[int | None], mono_ns: int, trouble: str, height: int
) -> RenderableType:
    """Put the whole screen together, *height* lines high."""
    now_ns = model.until_ns if trouble else model.clock.at(mono_ns)
    fresh = Freshness(bool(trouble), 0, "NO WORD FROM THE WATCH", trouble)
    alarms = alarm_rows(model, now_ns)
    channels = channel_rows(model, trends, now_ns, is_frozen=fresh.is_frozen)
    aborts = abort_rows(model, now_ns)
    lines = share(height - bool(aborts), len(alarms), len(channels))
    return Group(
        heading(strip(model, alarms, now_ns, fresh), fresh),
        *([abort_line(aborts)] if aborts else []),
        alarm_table(alarms, lines.alarms),
        channel_table(channels, lines.channels),
        event_table(model, lines.events),
    )


def heading(facts: Strip, fresh: Freshness) -> RenderableType:
    """Lay out the strip: three lines."""
    first = Text(f"{facts.stand}   {facts.date} {facts.clock} UTC {facts.speed}", style="bold")
    second = Text(f"run {facts.run}   phase ")
    second.append(facts.phase.text, style=_STYLES[facts.phase.severity])
    second.append(f" for {facts.phase_for}   ")
    if facts.mode is not None:
        second.append(f"mode {facts.mode.text}   ", style=_STYLES[facts.mode.severity])
    for fact in (facts.recording, facts.link):
        second.append(f"{fact.text}   ", style=_STYLES[fact.severity])
    if facts.inhibited.severity is not Severity.CALM:
        second.append(f"{facts.inhibited.text} inhibited", style=_STYLES[Severity.DOUBT])
    third = Text(facts.phase.more.replace("\n", " "), style="dim")
    if fresh.is_frozen:
        third = Text(f"{fresh.headline}: {fresh.detail}", style=_STYLES[Severity.BAD])
    for line in (first, second, third):
        line.no_wrap = True
    return Group(first, second, third)


def abort_line(rows: Sequence[AbortRow]) -> RenderableType:
    """Say in one line how the abort criteria stand; those that are met come first."""
    line = Text("abort: ", no_wrap=True)
    loud = [row for row in rows if row.severity is not Severity.CALM]
    for row in sorted(loud, key=lambda row: row.severity is not Severity.TOP):
        said = f"{row.title} {row.state}"
        if row.severity is Severity.TOP:
            said += f": {row.safe_state}"
        line.append(f"{said}   ", style=_STYLES[row.severity])
    quiet = len(rows) - len(loud)
    if quiet:
        line.append(f"{quiet} of {len(rows)} not met", style="" if loud else "dim")
    return line


def _grid(*columns: str) -> Grid:
    """Make an empty grid with a dim heading; a column named with ``>`` stands to the right."""
    grid = Grid(box=None, padding=(0, 1, 0, 0), header_style="dim")
    for name in columns:
        grid.add_column(
            name.strip(">"), no_wrap=True, justify="right" if name.startswith(">") else "left"
        )
    return grid


def _add(grid: Grid, cells: Sequence[str], style: str) -> None:
    """Add a row of plain text: brackets in it are no commands to the terminal library."""
    grid.add_row(*(Text(cell) for cell in cells), style=style)


def alarm_table(rows: Sequence[AlarmRow], lines: int) -> RenderableType:
    """List the first *lines* alarms; the heading says how many there are."""
    more = f", {len(rows) - lines} more not shown" if len(rows) > lines else ""
    grid = _grid(f"alarms ({len(rows)}{more})", "tag", "what", "state", "since", "at")
    for row in rows[:lines]:
        style = "dim" if row.is_inhibited else _STYLES[Severity(row.priority)]
        mark = "!" if row.is_unacknowledged else " "
        what = f"  {row.words}" if row.is_behind else row.words
        cells = (f"{mark} {row.priority}", row.tag, what, row.state, row.time, row.value)
        _add(grid, cells, style)
    return grid


def channel_table(rows: Sequence[ChannelRow], lines: int) -> RenderableType:
    """List *lines* channels; where they do not all fit, those that are not calm come first."""
    more = ""
    if len(rows) > lines:
        more = f" ({len(rows) - lines} more not shown)"
        rows = sorted(rows, key=lambda row: not row.alarm and row.severity is Severity.CALM)
    grid = _grid(f"channel{more}", "what", ">value", "unit", "", "band", "quality", "alarm")
    for row in rows[:lines]:
        arrow = "" if row.trend is None else _ARROWS[row.trend]
        alarm = f"{row.alarm}{' !' if row.is_unacknowledged else ''}"
        cells = (
            row.tag,
            row.title,
            row.value,
            row.unit,
            arrow,
            bar(row.band),
            row.quality,
            alarm,
        )
        loud = Severity(row.alarm) if row.alarm in _PRIORITIES else row.severity
        _add(grid, cells, _STYLES[loud])
    return grid


_PRIORITIES = {Severity.LOW, Severity.MEDIUM, Severity.HIGH, Severity.TOP}


def event_table(model: Model, lines: int) -> RenderableType:
    """Show the newest *lines* events, the newest last."""
    grid = _grid("time", "event")
    for event in list(model.events)[-lines:]:
        line = event_line(event, model.index)
        _add(grid, (line.time, line.text), _STYLES[line.severity])
    return grid
