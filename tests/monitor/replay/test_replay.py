"""Tests for monitor.replay.

Source: hand-worked here.
"""

from __future__ import annotations

from typing import Any

import monitor.replay


def test_what_the_commands_need_is_at_hand(lived: Any) -> None:
    compared = monitor.replay.replay_run(lived.folder)
    rebuilt = monitor.replay.rebuild(lived.folder)

    assert isinstance(compared, monitor.replay.ReplayResult)
    assert rebuilt == compared
