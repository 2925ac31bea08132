"""Pictures of the real window in every state, for people to look at.

xvfb-run -a -s "-screen 0 1920x1080x24" python -m tests.monitor.display.screenshots DIR
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from PySide6.QtGui import QFont
from PySide6.QtWidgets import QApplication

from monitor.display.feed import Address
from monitor.display.run import Display
from monitor.display.theme.sheet import BODY_PX
from tests.monitor.display.fake_engine import TOKEN, FakeEngine

SIZES = ((1280, 800), (1920, 1080))


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


def scenes(folder: Path) -> None:
    """Go through normal, alarm, stale, lost and empty."""
    for scene in ("calm", "alarm", "stale"):
        with FakeEngine(scene, speed=20.0 if scene == "alarm" else 1.0) as engine:
            address = Address("127.0.0.1", engine.port, TOKEN)
            display = Display(lambda address=address: address)  # type: ignore[misc]
            display.screen.show()
            wait(3.0)
            display.rounds.operator.looking = display.rounds.operator.looking.with_span(2)
            shoot(display, folder, scene)
            for page in ("events", "health"):
                display.screen.show_page(page)
                shoot(display, folder, f"{scene}_{page}")
            display.screen.show_page("charts")
            display.screen.channels.select_first()
            display.rounds.operator.looking = display.rounds.operator.looking.toggled_close()
            shoot(display, folder, f"{scene}_picked")
            if scene == "alarm":
                engine.is_silent = True
                wait(4.0)
                shoot(display, folder, "lost")
            display.screen.close()
            display.stop()
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
    scenes(folder)


if __name__ == "__main__":
    main()
