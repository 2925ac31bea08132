"""Tests for monitor.display.run.

Source: hand-worked here; the window is the real one, in this process and in one of its own.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QLabel
from pytestqt.qtbot import QtBot

from monitor.display.feed import Address
from monitor.display.run import Display, run_display
from monitor.display.screen import Screen
from monitor.display.tone import NoSoundError, Tone
from tests.monitor.display.fake_engine import TOKEN, FakeEngine

ROOT = Path(__file__).parents[3]
PROGRAM = """
import sys
from monitor.display.run import run_display
sys.exit(run_display("127.0.0.1", int(sys.argv[1]), "let me in"))
"""


def no_device() -> None:
    """Find no sound device."""
    raise NoSoundError("no sound device: none here")


@pytest.fixture
def display(qtbot: QtBot) -> Iterator[tuple[Display, FakeEngine]]:
    """Show a small engine."""
    with FakeEngine() as engine:
        address = Address("127.0.0.1", engine.port, TOKEN)
        made = Display(lambda: address, Tone(no_device))  # type: ignore[arg-type]
        qtbot.addWidget(made.screen)
        made.screen.show()
        yield made, engine
        made.stop()


def test_the_timer_brings_the_run_onto_the_screen(
    qtbot: QtBot, display: tuple[Display, FakeEngine]
) -> None:
    made, _ = display

    qtbot.waitUntil(lambda: bool(made.screen.channels.rows.rows), timeout=10_000)

    assert not made.screen.is_empty()


@pytest.mark.expects_warnings
def test_what_nobody_caught_is_told_in_the_window_which_goes_on(
    qtbot: QtBot, display: tuple[Display, FakeEngine]
) -> None:
    made, _ = display
    qtbot.waitUntil(lambda: bool(made.screen.channels.rows.rows), timeout=10_000)

    made.unhandled(ValueError, ValueError("broken on purpose"), None)

    detail = made.screen.findChild(QLabel, "fault_banner_detail")
    assert detail is not None
    assert "ValueError: broken on purpose" in detail.text()
    clock = made.screen.findChild(QLabel, "clock")
    assert clock is not None
    before = clock.text()
    qtbot.waitUntil(lambda: clock.text() != before, timeout=5000)


def test_closing_the_window_ends_it_and_puts_the_hooks_back(qtbot: QtBot) -> None:
    before = signal.getsignal(signal.SIGINT)
    seen: list[bool] = []

    def close() -> None:
        seen.append(sys.excepthook is not sys.__excepthook__)
        for widget in QApplication.topLevelWidgets():
            if isinstance(widget, Screen):
                widget.close()

    QTimer.singleShot(300, close)

    code = run_display("127.0.0.1", 9, "")

    assert code == 0
    assert seen == [True]
    assert sys.excepthook is sys.__excepthook__
    assert threading.excepthook is threading.__excepthook__
    assert signal.getsignal(signal.SIGINT) is before


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_a_display_in_a_process_of_its_own_ends_cleanly_when_told(how: signal.Signals) -> None:
    with FakeEngine() as engine:
        child = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(engine.port)],
            cwd=ROOT,
            env=os.environ | {"QT_QPA_PLATFORM": "offscreen"},
            stderr=subprocess.PIPE,
        )
        try:
            _wait_for_talk(child, engine)
            child.send_signal(how)
            _, err = child.communicate(timeout=15)
        finally:
            child.kill()
            child.wait()

    assert child.returncode == 0
    assert b"Traceback" not in err


def test_an_engine_does_not_notice_a_display_that_is_killed() -> None:
    with FakeEngine() as engine:
        child = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, str(engine.port)],
            cwd=ROOT,
            env=os.environ | {"QT_QPA_PLATFORM": "offscreen"},
            stderr=subprocess.DEVNULL,
        )
        _wait_for_talk(child, engine)
        child.kill()
        child.wait()

        engine.raise_alarm("PT-301.low", 33.0)
        time.sleep(0.2)

        assert engine.displays() == 0


def _wait_for_talk(child: subprocess.Popen[bytes], engine: FakeEngine) -> None:
    """Wait until a display in another process has the run."""
    end = time.monotonic() + 20
    while engine.displays() == 0 or engine.readies == 0:
        assert time.monotonic() < end, "the display never came"
        assert psutil.pid_exists(child.pid)
        time.sleep(0.05)
