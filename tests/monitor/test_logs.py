"""Tests for monitor.logs.

Source: hand-worked here.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.logs import LARGEST_LOG, keep_log


@pytest.fixture(autouse=True)
def _root_logger() -> Iterator[None]:
    """Put the root logger back as it was."""
    root = logging.getLogger()
    handlers, level = list(root.handlers), root.level
    yield
    for handler in root.handlers:
        if handler not in handlers:
            handler.close()
    root.handlers[:] = handlers
    root.setLevel(level)


@pytest.mark.expects_warnings
def test_warnings_go_to_the_file_and_only_if_told_to_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = keep_log(tmp_path, is_told=False)
    logging.getLogger("monitor.x").warning("first")
    keep_log(tmp_path, is_told=True)
    logging.getLogger("monitor.x").warning("second")
    logging.getLogger("monitor.x").info("third")

    kept = path.read_text(encoding="utf-8")
    assert [word in kept for word in ("first", "second", "third")] == [True] * 3
    told = capsys.readouterr().err
    assert [word in told for word in ("first", "second", "third")] == [False, True, False]


def test_the_file_is_bounded(tmp_path: Path) -> None:
    path = keep_log(tmp_path / "new", is_told=False)
    for _ in range(40):
        logging.getLogger("monitor.x").info("x" * (LARGEST_LOG // 10))

    files = list(path.parent.iterdir())
    assert len(files) == 2
    assert sum(file.stat().st_size for file in files) <= 2 * LARGEST_LOG
