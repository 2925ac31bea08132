"""Leaves out what needs Qt where Qt is not installed; everything else runs without it."""

from __future__ import annotations

import importlib.util

collect_ignore_glob: list[str] = []
if importlib.util.find_spec("PySide6") is None:
    collect_ignore_glob = [
        "widgets",
        "plots",
        "theme/test_shapes.py",
        "theme/test_sheet.py",
        "test_operator.py",
        "test_rounds.py",
        "test_run.py",
        "test_screen.py",
    ]
