"""What a screen in the terminal must be able to do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from monitor.display.state.model import Model
from monitor.events import Event


class Screen(Protocol):
    """Shows a run. Called in one thread; never waits."""

    def news(self, model: Model, events: Sequence[Event]) -> None:
        """Take what is new; *events* are lines of the journal not given before."""

    def tick(self, model: Model | None, mono_ns: int, trouble: str) -> None:
        """Show the present, a few times a second.

        Args:
            model: The run as it is known; None before the first word of a watch.
            mono_ns: Reading of the monotonic clock.
            trouble: Why nothing is heard from the watch; empty while it is.
        """
