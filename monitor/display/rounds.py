"""The round that the timer makes: take what came, then bring each part up to date."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass, replace

from PySide6.QtWidgets import QApplication, QWidget

from monitor.display.feed import Feed
from monitor.display.operator import Operator
from monitor.display.page_rounds import PageRounds
from monitor.display.screen import Screen
from monitor.display.state.alarm_rows import AlarmRow, alarm_rows
from monitor.display.state.chart_view import ChartView
from monitor.display.state.charts import ChartPlan, chart_plans, plan_of
from monitor.display.state.desk import Desk
from monitor.display.state.empty import empty_page
from monitor.display.state.lamp import Lamps
from monitor.display.state.model import Model
from monitor.display.state.response import response
from monitor.display.state.rows import ChannelRow, channel_rows
from monitor.display.state.strip import strip, tone_fact
from monitor.display.state.trend import trend
from monitor.display.tone import Tone
from monitor.display.widgets.banner import Veil

_LOG = logging.getLogger(__name__)
_MS = 1_000_000
#: A round that takes longer than this is counted as slow, in ns.
_SLOW_NS = 100 * _MS


@dataclass(slots=True)
class _Part:
    """A part of the screen, how often it is brought up to date, and when it is due."""

    name: str
    every_ns: int
    show: Callable[[int], None]
    panel: QWidget | None = None
    due_ns: int = 0
    veil: Veil | None = None


class Rounds:
    """Brings the screen up to date. One part's fault does not stop the others.

    Attributes:
        faults: Faults of this display so far.
    """

    def __init__(
        self, screen: Screen, desk: Desk, make_feed: Callable[[], Feed], tone: Tone
    ) -> None:
        """Start the feed; :meth:`make` is called by the timer."""
        self._screen, self._desk, self._tone = screen, desk, tone
        self._make_feed = make_feed
        self._feed = make_feed()
        self._feed.start()
        self.operator = Operator(screen, desk)
        self.faults = 0
        self._made = self._slow = self._restarts = 0
        self._pages = PageRounds(screen, desk, self._own_counts)
        self._rows: tuple[ChannelRow, ...] = ()
        self._alarms: tuple[AlarmRow, ...] = ()
        self._lamps: Lamps | None = None
        self._trends: list[int | None] = []
        self._views: list[ChartView] = []
        self._planned: tuple[object, str] | None = None
        self._picked = self._alarm_chosen = ""
        screen.channels.chosen.connect(self._pick)
        screen.alarms.chosen.connect(self._choose_alarm)
        screen.page_turned.connect(self._hurry)
        self._parts = self._all_parts()

    def _all_parts(self) -> list[_Part]:
        """List the parts; what changes slowly or is read slowly is shown less often."""
        screen, pages = self._screen, self._pages
        return [
            _Part("tone", 30 * _MS, self._sound),
            _Part("alarm list", 60 * _MS, self._show_alarms, screen.alarms),
            _Part("title strip", 200 * _MS, self._show_strip, screen.strip),
            _Part("trends", 1000 * _MS, self._work_out_trends),
            _Part("channel table", 200 * _MS, self._show_channels, screen.channels),
            _Part("charts", 0, self._show_charts, screen.charts),
            _Part("event list", 250 * _MS, pages.show_events, screen.events),
            _Part("register", 1000 * _MS, pages.show_register, screen.register),
            _Part("abort criteria", 250 * _MS, pages.show_aborts, screen.aborts),
            _Part("links and counters", 1000 * _MS, pages.show_health, screen.health),
        ]

    def _hurry(self, _page: str) -> None:
        """Show a page at once when somebody turns to it."""
        for part in self._parts:
            part.due_ns = 0

    def stop(self) -> None:
        """End feed and tone."""
        self._feed.stop()
        self._tone.stop()

    def make(self, mono_ns: int, clock: Callable[[], int]) -> None:
        """Make one round at *mono_ns* of the monotonic *clock*."""
        self._made += 1
        self._exchange(mono_ns)
        model = self._desk.model
        self._screen.show_run(model is not None)
        self._screen.show_outcome(self._desk.acts.outcome)
        if model is None:
            self._screen.empty.show_page(empty_page(self._desk.connection))
            return
        fresh = self._desk.fresh(mono_ns)
        self._screen.lost.show_freshness(fresh)
        self._screen.veil.show_frozen(fresh.is_frozen)
        for part in self._parts:
            if mono_ns >= part.due_ns:
                part.due_ns = mono_ns + part.every_ns
                self._try(part, mono_ns)
        self._slow += clock() - mono_ns > _SLOW_NS

    def _exchange(self, mono_ns: int) -> None:
        """Take what came and send what is to say; a feed that broke is made anew."""
        if not self._feed.is_alive():
            self._restarts += 1
            self._feed = self._make_feed()
            self._feed.start()
        mail = self._feed.take()
        for message in self._desk.take(mail, self._feed.connection(), mono_ns):
            self._feed.send(message)

    def _try(self, part: _Part, mono_ns: int) -> None:
        """Bring one part up to date; if it fails, say so and stripe it."""
        try:
            part.show(mono_ns)
        except Exception as error:  # noqa: BLE001 - the one place: other parts must go on
            _LOG.exception("%s cannot be shown", part.name)
            self.tell_fault(f"{part.name}: {type(error).__name__}: {error}")
            part.due_ns = mono_ns + 1000 * _MS
            if part.panel is not None:
                part.veil = part.veil or Veil(part.panel)
                part.veil.show_frozen(True)
            return
        if part.veil is not None:
            part.veil.show_frozen(False)

    def tell_fault(self, what: str) -> None:
        """Tell the person that this display has a fault."""
        self.faults += 1
        self._screen.fault.show_banner(
            "FAULT IN THIS DISPLAY",
            f"{what}. The watch itself goes on. What is striped is not up to date; "
            "close this window and open it again.",
        )

    # Parts

    def _run(self) -> Model:
        """Give the run; parts are only shown while there is one."""
        if self._desk.model is None:
            raise LookupError("no run")
        return self._desk.model

    def _sound(self, mono_ns: int) -> None:
        """Sound what is to sound, and show the lamp test while there is one."""
        lamps = self._desk.lamps(mono_ns)
        self._tone.sound(self._desk.sounding(mono_ns) if lamps is None else lamps.sounding)
        self._screen.lamps.show_lamps(lamps)
        if lamps != self._lamps:
            self._lamps = lamps
            self._show_strip(mono_ns)
        if self._tone.is_beep_due(mono_ns / 1e9):
            QApplication.beep()

    def _show_alarms(self, mono_ns: int) -> None:
        """Show the alarm list and what to do."""
        model, panel = self._run(), self._screen.alarms
        self._alarms = alarm_rows(model, self._desk.now_ns(mono_ns), self.operator.opened)
        panel.show_alarms(self._alarms)
        panel.response.show_response(response(model, self._alarm_chosen))
        sounding = self._desk.sounding(mono_ns)
        is_silenced = self._desk.tone.is_silenced()
        panel.show_tone(tone_fact(sounding, self._tone.trouble, is_silenced=is_silenced))
        panel.show_person(self.operator.person)

    def _show_strip(self, mono_ns: int) -> None:
        """Show the title strip."""
        fresh, shown_ns = self._desk.fresh(mono_ns), self._desk.shown_ns(mono_ns)
        shown = strip(self._run(), self._alarms, shown_ns, fresh)
        if self._lamps is not None:
            shown = replace(shown, alarms=self._lamps.counts)
        self._screen.strip.show_strip(shown)

    def _work_out_trends(self, _mono_ns: int) -> None:
        """Work every trend out."""
        model = self._run()
        self._trends = [
            trend(series, model.until_ns, info.high - info.low)
            for series, info in zip(model.series, model.index.stand.channels, strict=True)
        ]

    def _show_channels(self, mono_ns: int) -> None:
        """Show the channel table."""
        model, is_frozen = self._run(), self._desk.fresh(mono_ns).is_frozen
        trends = self._trends
        if len(trends) != len(model.values):
            trends = [None] * len(model.values)
        now_ns = self._desk.now_ns(mono_ns)
        self._rows = channel_rows(model, trends, now_ns, is_frozen=is_frozen)
        self._screen.channels.show_channels(self._rows)

    def _show_charts(self, mono_ns: int) -> None:
        """Show the charts, while they can be seen."""
        model, screen = self._run(), self._screen
        if not screen.is_page("charts") or len(self._rows) != len(model.values):
            return
        self._plan_charts(model)
        looking, edge_ns = self.operator.looking, self._desk.edge_ns(mono_ns)
        is_frozen = self._desk.fresh(mono_ns).is_frozen
        text = looking.text(edge_ns, model.started_ns, is_frozen=is_frozen)
        screen.chart_bar.show_looking(looking, text)
        for view, chart in zip(self._views, screen.charts.charts, strict=True):
            width, height = chart.drawing_size()
            window = looking.window(edge_ns, model.started_ns, width)
            chart.show_frame(
                view.frame(
                    model,
                    window,
                    self._rows,
                    height_px=height,
                    is_close=looking.is_close,
                    is_held=looking.held_ns is not None,
                )
            )

    def _plan_charts(self, model: Model) -> None:
        """Lay the charts out anew when the stand or the picked channel is another one."""
        planned = (model, self._picked)
        if planned == self._planned:
            return
        self._planned = planned
        plans = chart_plans(model.index)
        number = model.index.channel.get(self._picked)
        if number is not None:
            plans = (self._picked_plan(model, number), *plans)
        self._screen.charts.show_plans(plans)
        self._views = [ChartView(plan) for plan in plans]

    @staticmethod
    def _picked_plan(model: Model, number: int) -> ChartPlan:
        """Lay out a chart of the picked channel alone."""
        info = model.index.stand.channels[number]
        return plan_of(model.index, f"Picked: {info.tag} {info.title}", (number,))

    def _own_counts(self) -> tuple[tuple[str, int], ...]:
        """Give the display's own counters."""
        return (
            ("rounds of the screen", self._made),
            ("rounds longer than 100 ms", self._slow),
            ("faults", self.faults),
            ("snapshots taken", self._desk.snapshots),
            ("messages not understood at their time", self._desk.unexpected),
            ("actions given up without an answer", self._desk.acts.given_up),
            ("feeds restarted", self._restarts),
        )

    def _pick(self, tag: str) -> None:
        """Note which channel is to have a chart of its own."""
        self._picked = tag

    def _choose_alarm(self, alarm_id: str) -> None:
        """Note whose response is wanted."""
        self._alarm_chosen = alarm_id
