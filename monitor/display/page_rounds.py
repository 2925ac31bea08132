"""Brings the pages beside the charts up to date, each while it can be seen."""

from __future__ import annotations

from collections.abc import Callable

from monitor.display.screen import Screen
from monitor.display.state.aborts import abort_rows
from monitor.display.state.counters import counter_rows, link_rows
from monitor.display.state.desk import Desk
from monitor.display.state.event_book import EventBook
from monitor.display.state.model import Model
from monitor.display.state.register import register_rows


class PageRounds:
    """Shows events, register, abort criteria, links and counters.

    Args:
        screen: Where.
        desk: What is known.
        own_counts: The display's own counters.
    """

    def __init__(
        self, screen: Screen, desk: Desk, own_counts: Callable[[], tuple[tuple[str, int], ...]]
    ) -> None:
        """Show nothing yet."""
        self._screen, self._desk, self._own_counts = screen, desk, own_counts
        self._book = EventBook()

    def _run(self) -> Model:
        """Give the run; pages are only shown while there is one."""
        if self._desk.model is None:
            raise LookupError("no run")
        return self._desk.model

    def show_events(self, _mono_ns: int) -> None:
        """Show the event list."""
        if self._screen.is_page("events"):
            news = self._book.lines(self._run())
            if news is not None:
                self._screen.events.show_events(*news)

    def show_register(self, mono_ns: int) -> None:
        """Show what is inhibited."""
        if self._screen.is_page("register"):
            rows = register_rows(self._run(), self._desk.shown_ns(mono_ns))
            self._screen.register.show_register(rows)

    def show_aborts(self, mono_ns: int) -> None:
        """Show the abort criteria."""
        if self._screen.is_page("aborts"):
            rows = abort_rows(self._run(), self._desk.shown_ns(mono_ns))
            self._screen.aborts.show_aborts(rows)

    def show_health(self, mono_ns: int) -> None:
        """Show links and counters."""
        if not self._screen.is_page("health"):
            return
        model, page = self._run(), self._screen.health
        now_ns = self._desk.now_ns(mono_ns)
        page.show_links(link_rows(model, now_ns, self._desk.fresh(mono_ns)))
        page.show_counters(counter_rows(model, self._desk.connection, self._own_counts()))
