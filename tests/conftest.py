"""What every test gets: no screen, nothing left behind, hypothesis profiles, switches."""

from __future__ import annotations

import asyncio
import contextlib
import gc
import inspect
import logging
import os
import threading
import time
from collections.abc import AsyncIterator, Callable, Iterator

import psutil
import pytest
from hypothesis import HealthCheck, settings

# Before anything imports Qt: without it and without a screen, Qt aborts the whole test run.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

settings.register_profile("dev", deadline=None)
settings.register_profile(
    "ci",
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("dev")

#: How long things may take to go away by themselves after a test, in seconds.
GRACE_S = 2.0

#: Loggers whose warnings fail a test: ours, and asyncio's about what was forgotten.
WATCHED_LOGGERS = ("monitor", "drivers", "asyncio")


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the switches for tests that need more than this machine or more time."""
    parser.addoption("--port", default=None, help="serial port for tests/hardware")
    parser.addoption("--soak", action="store_true", help="run tests that take minutes to hours")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip what was not asked for, and say the switch."""
    for item in items:
        if item.get_closest_marker("hardware") and not config.getoption("--port"):
            item.add_marker(pytest.mark.skip(reason="needs --port=/dev/..."))
        if item.get_closest_marker("soak") and not config.getoption("--soak"):
            item.add_marker(pytest.mark.skip(reason="needs --soak"))


@pytest.fixture
def port(request: pytest.FixtureRequest) -> str:
    """Give the serial port named by ``--port``."""
    return str(request.config.getoption("--port"))


def threads() -> set[str]:
    """Name every live thread of this process but the main one."""
    main = threading.main_thread()
    return {f"thread {row.name}" for row in threading.enumerate() if row is not main}


def children() -> set[str]:
    """Name every child process that has not ended."""
    found = set()
    for child in psutil.Process().children(recursive=True):
        with contextlib.suppress(psutil.NoSuchProcess):
            if child.status() != psutil.STATUS_ZOMBIE:
                found.add(f"process {child.pid} {' '.join(child.cmdline())[:80]}")
    return found


def handles() -> set[str]:
    """Name every open terminal and network socket."""
    found = set()
    for number in os.listdir("/proc/self/fd") if os.path.isdir("/proc/self/fd") else ():
        with contextlib.suppress(OSError):
            target = os.readlink(f"/proc/self/fd/{number}")
            if target.startswith(("/dev/pts/", "/dev/ptmx")) and int(number) > 2:
                found.add(f"terminal {target} (fd {number})")
    for row in psutil.Process().net_connections(kind="inet"):
        found.add(f"socket {row.laddr} (fd {row.fd})")
    return found


def everything() -> set[str]:
    """Name all that a test must not leave behind, tasks aside."""
    return threads() | children() | handles()


def left_behind(before: set[str], look: Callable[[], set[str]] = everything) -> set[str]:
    """Give what is there now and was not before; wait a little for it to go."""
    until = time.monotonic() + GRACE_S
    while left := look() - before:
        if time.monotonic() > until:
            return left
        gc.collect()
        time.sleep(0.02)
    return set()


@pytest.fixture(autouse=True)
def nothing_left_behind(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test that leaves a task, thread, process, terminal or socket open."""
    before = everything()
    if inspect.iscoroutinefunction(getattr(request, "function", None)):
        request.getfixturevalue("no_task_left_behind")
    yield
    left = left_behind(before)
    assert not left, f"left behind: {sorted(left)}"


@pytest.fixture
async def no_task_left_behind() -> AsyncIterator[None]:
    """Fail a test that leaves a task running in its loop."""
    before = asyncio.all_tasks()
    yield
    left = asyncio.all_tasks() - before - {asyncio.current_task()}
    if left:
        _, left = await asyncio.wait(left, timeout=GRACE_S)
    names = sorted(f"{task.get_name()} {task.get_coro()}" for task in left)
    assert not names, f"tasks left behind: {names}"


class Warnings(logging.Handler):
    """Keeps what was logged at WARNING and above by a watched logger."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the record as a line."""
        if record.name.split(".")[0] in WATCHED_LOGGERS:
            self.lines.append(f"{record.name}: {record.getMessage()}")


@pytest.fixture(autouse=True)
def no_unexpected_warning(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test in which a warning was logged that it does not look at."""
    handler = Warnings()
    logging.getLogger().addHandler(handler)
    yield
    logging.getLogger().removeHandler(handler)
    is_expected = request.node.get_closest_marker("expects_warnings") is not None
    if not is_expected and "caplog" not in request.fixturenames:
        assert not handler.lines, f"logged unexpectedly: {handler.lines}"
