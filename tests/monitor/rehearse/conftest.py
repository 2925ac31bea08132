"""What the tests of rehearsal share: runs recorded as the tests of replay do, and stands."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from monitor.pipeline import Plan
from monitor.stand.load import load_stand
from tests.monitor.replay.conftest import KIND, STAND, Bench

#: Gives the path of a stand file that differs from the recorded one in some texts.
NewStand = Callable[..., Path]


@pytest.fixture(autouse=True)
def known_kinds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let both stands be loaded with the kind of instrument that they name."""
    for where in ("monitor.replay.rerun", "monitor.rehearse.run"):
        monkeypatch.setattr(f"{where}.instrument_kinds", lambda: {"pretended": KIND})


@pytest.fixture
def known_stand() -> Callable[[Path], Plan]:
    """Give what compiles a stand file, as of the day of the run."""
    return lambda path: load_stand(path, {"pretended": KIND}, today=date(2020, 5, 1)).plan


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """Begin a run."""
    made = Bench(tmp_path)
    yield made
    made.writer.abandon()


@pytest.fixture
def new_stand(tmp_path: Path) -> NewStand:
    """Give what writes a stand file: pairs of texts, what is there and what is to be."""

    def write(*changes: tuple[str, str]) -> Path:
        text = STAND
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        path = tmp_path / "new.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write
