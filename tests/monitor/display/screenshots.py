"""Pictures of the real window in every state, for people to look at.

xvfb-run -a -s "-screen 0 1920x1080x24" python -m tests.monitor.display.screenshots DIR
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from monitor.display.feed import Address
from monitor.display.run import Display
from monitor.display.theme.sheet import BODY_PX
from tests.monitor.display.fake_engine import TOKEN, FakeEngine

SIZES = ((1280, 800), (1920, 1080))
PAGES = {
    "calm": ("aborts", "register"),
    "alarm": ("events", "aborts", "health"),
    "inhibited": ("register", "events"),
    "stale": ("events", "health"),
}


def wait(seconds: float) -> None:
    """Let the window live."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        QApplication.processEvents()
        time.sleep(0.005)


def shoot(display: Display, folder: Path, name: str) -> None:
    """Take a picture at both sizes."""
    for width, height in SIZES:
        display.screen.resize(width, height)
        wait(1.2)
        display.screen.grab().save(str(folder / f"{name}_{width}.png"))


def scenes(folder: Path, names: list[str]) -> None:
    """Go through the scenes of these names."""
    for scene in (name for name in PAGES if name in names):
        with FakeEngine(scene, speed=20.0 if scene == "alarm" else 1.0) as engine:
            address = Address("127.0.0.1", engine.port, TOKEN)
            display = Display(lambda address=address: address)  # type: ignore[misc]
            display.screen.show()
            wait(3.0)
            display.rounds.operator.looking = display.rounds.operator.looking.with_span(2)
            shoot(display, folder, scene)
            for page in PAGES[scene]:
                display.screen.show_page(page)
                shoot(display, folder, f"{scene}_{page}")
            display.screen.show_page("charts")
            display.screen.channels.select_first()
            display.rounds.operator.looking = display.rounds.operator.looking.toggled_close()
            shoot(display, folder, f"{scene}_picked")
            if scene == "inhibited":
                dialogs(display, folder)
            if scene == "alarm":
                lamps(display, folder)
                engine.is_silent = True
                wait(4.0)
                shoot(display, folder, "lost")
            display.screen.close()
            display.stop()
    if "empty" in names:
        empty(folder)


def dialogs(display: Display, folder: Path) -> None:
    """Take a picture of each question."""
    display.screen.resize(*SIZES[0])
    display.rounds.operator.acting.person = "K. Vale"
    for name in ("phase", "mode", "help"):
        _ask(display, folder, name)
    display.screen.alarms.table.setFocus()
    for name in ("shelve", "out_of_service", "edit"):
        display.screen.alarms.table.select_key("PT-401.low")
        _ask(display, folder, name)
    display.screen.channels.setFocus()
    display.screen.channels.select_key("PT-301")
    _ask(display, folder, "edit", "edit_choice")


def _ask(display: Display, folder: Path, name: str, shot: str = "") -> None:
    """Press a key, take a picture of what it asks, and say no."""

    def look() -> None:
        dialog = QApplication.activeModalWidget()
        if dialog is not None:
            dialog.grab().save(str(folder / f"dialog_{shot or name}.png"))
            dialog.close()

    QTimer.singleShot(500, look)
    display.screen.actions_by_key[name].trigger()


def lamps(display: Display, folder: Path) -> None:
    """Take a picture of the lamp test."""
    display.rounds.operator.acting.person = "K. Vale"
    display.screen.resize(*SIZES[0])
    display.screen.actions_by_key["unfold"].trigger()
    display.screen.alarms.table.select_key("PT-401.low")
    display.screen.actions_by_key["unfold"].trigger()
    display.screen.actions_by_key["lamp_test"].trigger()
    wait(0.3)
    display.screen.grab().save(str(folder / "lamp_test_1280.png"))
    wait(3.2)
    display.screen.grab().save(str(folder / "unfolded_1280.png"))


def empty(folder: Path) -> None:
    """Show the page without an engine."""
    display = Display(lambda: Address("127.0.0.1", 9, ""))
    display.screen.show()
    wait(1.5)
    shoot(display, folder, "empty")
    display.stop()


def main() -> None:
    """Take every picture."""
    application = QApplication([])
    font = QFont(application.font())
    font.setPixelSize(BODY_PX)
    application.setFont(font)
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "shots")
    folder.mkdir(parents=True, exist_ok=True)
    scenes(folder, sys.argv[2:] or [*PAGES, "empty"])


if __name__ == "__main__":
    main()
