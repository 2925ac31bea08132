"""A recorded run through the same pipeline again: compare its journal, rebuild its tables."""

from __future__ import annotations

from monitor.replay.compare import ReplayResult, replay_run
from monitor.replay.rebuild import rebuild

__all__ = ["ReplayResult", "rebuild", "replay_run"]
