"""Tests for monitor.engine.health.

Source: hand-worked here; memory is compared with another file of the same system.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from monitor.engine.health import StepTimes, memory_mb


def test_no_steps_are_no_times() -> None:
    assert StepTimes().gauges() == {
        "steps": 0.0,
        "step, half within (ms)": 0.0,
        "step, 99 % within (ms)": 0.0,
    }


def test_median_and_tail_of_a_known_set() -> None:
    times = StepTimes()
    for ms in range(1, 102):
        times.add(ms / 1e3)

    assert times.gauges() == {
        "steps": 101.0,
        "step, half within (ms)": 51.0,
        "step, 99 % within (ms)": 100.0,
    }


def test_only_the_newest_steps_count() -> None:
    times = StepTimes()
    for _ in range(1_024):
        times.add(1.0)
    for _ in range(1_024):
        times.add(0.002)

    assert times.gauges()["step, 99 % within (ms)"] == 2.0
    assert times.gauges()["steps"] == 2_048.0


def test_memory_is_what_the_system_says() -> None:
    status = Path("/proc/self/status")
    if not status.exists():
        pytest.skip("no /proc on this system to compare with")
    kib = re.search(r"VmRSS:\s+(\d+) kB", status.read_text())

    assert kib is not None
    assert memory_mb() == pytest.approx(int(kib[1]) * 1024 / 1e6, rel=0.2)


def test_without_proc_the_greatest_so_far_stands_in(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "exists", lambda _: False)

    assert memory_mb() > 10
