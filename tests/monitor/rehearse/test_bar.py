"""Tests for monitor.rehearse.bar.

Source: hand-worked here.
"""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from monitor.rehearse.bar import progress_bar


def test_on_a_terminal_there_is_a_bar() -> None:
    written = io.StringIO()
    with progress_bar(Console(file=written, force_terminal=True, width=80)) as tell:
        tell(0.5)

    assert "rehearsing" in written.getvalue()


def test_where_there_is_no_terminal_there_is_none(capfd: pytest.CaptureFixture[str]) -> None:
    with progress_bar() as tell:
        tell(0.5)
        tell(1.0)

    assert capfd.readouterr() == ("", "")
