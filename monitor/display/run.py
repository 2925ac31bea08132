"""The display process: application, window, timer, and what happens when something breaks."""

from __future__ import annotations

import contextlib
import logging
import signal
import sys
import threading
import time
import traceback
import uuid
from collections.abc import Callable, Iterator
from types import TracebackType

from PySide6.QtCore import QTimer
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from monitor.display.feed import Address, Feed
from monitor.display.rounds import Rounds
from monitor.display.screen import Screen
from monitor.display.state.desk import Desk
from monitor.display.theme.sheet import BODY_PX
from monitor.display.tone import Tone

_LOG = logging.getLogger(__name__)
#: About thirty rounds a second.
ROUND_MS = 33
_WIDTH_PX, _HEIGHT_PX = 1280, 800

Find = Callable[[], Address]


class Display:
    """Window, rounds and timer, made and ended together."""

    def __init__(self, find: Find, tone: Tone | None = None) -> None:
        """Open the window and begin. *find* gives the engine's address before each try."""
        prefix = uuid.uuid4().hex[:12]
        self.screen = Screen()
        self.desk = Desk(prefix)
        self.rounds = Rounds(
            self.screen, self.desk, lambda: Feed(find, f"display {prefix}"), tone or Tone()
        )
        self._timer = QTimer(self.screen)
        self._timer.setInterval(ROUND_MS)
        self._timer.timeout.connect(self._round)
        self.screen.resize(_WIDTH_PX, _HEIGHT_PX)
        self.screen.channels.setFocus()
        self._timer.start()

    def _round(self) -> None:
        """Make one round."""
        self.rounds.make(time.monotonic_ns(), time.monotonic_ns)

    def stop(self) -> None:
        """End everything that runs."""
        self._timer.stop()
        self.rounds.stop()

    def unhandled(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        """Log what nobody caught, tell the person, and keep painting."""
        told = "".join(traceback.format_exception(kind, error, trace))
        _LOG.error("unhandled in the display:\n%s", told)
        self.rounds.tell_fault(f"{kind.__name__}: {error}")


def run_display(host: str, port: int, token: str, find: Find | None = None) -> int:
    """Show the engine at *host*:*port* until the window is closed.

    Args:
        host: Host of the engine.
        port: Its port.
        token: The word that lets a display in.
        find: Gives the address anew before each try, or raises a LinkError that says why
            there is none: an engine that was started again has another port and token.
            Without it the first three stay as they are.

    Returns:
        0 when the window was closed.
    """
    application = QApplication.instance() or QApplication(sys.argv[:1])
    if isinstance(application, QApplication):
        font = QFont(application.font())
        font.setPixelSize(BODY_PX)
        application.setFont(font)
        application.setApplicationDisplayName("Standwatch")
    fixed = Address(host, port, token)
    display = Display(find or (lambda: fixed))
    display.screen.show()
    with _hooks(display):
        return application.exec()


@contextlib.contextmanager
def _hooks(display: Display) -> Iterator[None]:
    """Watch over a display: what nobody catches is told, Ctrl-C closes; all is put back."""
    signals = (signal.SIGINT, signal.SIGTERM)
    before = [signal.signal(one, lambda *_: QApplication.quit()) for one in signals]
    sys.excepthook = display.unhandled
    threading.excepthook = _thread_hook
    try:
        yield
    finally:
        display.stop()
        sys.excepthook = sys.__excepthook__
        threading.excepthook = threading.__excepthook__
        for one, handler in zip(signals, before, strict=True):
            signal.signal(one, handler)


def _thread_hook(what: threading.ExceptHookArgs) -> None:
    """Log what a thread did not catch; the rounds see that the feed is gone and tell of it."""
    name = what.thread.name if what.thread is not None else "?"
    trace = (what.exc_type, what.exc_value or what.exc_type(), what.exc_traceback)
    _LOG.error("unhandled in thread %s", name, exc_info=trace)
