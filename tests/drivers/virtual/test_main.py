"""Tests for drivers.virtual.__main__.

Source: hand-worked here; the rig runs as a process of its own, as the demo starts it.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from drivers.virtual.__main__ import main

COMMAND = [sys.executable, "-m", "drivers.virtual"]


@contextmanager
def running(*options: str) -> Iterator[subprocess.Popen[str]]:
    process = subprocess.Popen(
        [*COMMAND, *options],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        yield process
    finally:
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout, process.stderr):
            if pipe is not None:
                pipe.close()


def test_it_plays_and_ends_when_nobody_talks_to_it_any_more() -> None:
    with running("--speed", "100", "--seed", "3", "--until", "35") as process:
        assert process.stdin is not None
        assert process.stdout is not None
        ready = json.loads(process.stdout.readline())
        process.stdin.write("go\n")
        process.stdin.flush()
        scene = json.loads(process.stdout.readline())
        end = json.loads(process.stdout.readline())
        process.stdin.close()
        code = process.wait(timeout=10)

    assert ready["ready"]["overrides"]["gas_panel"]["port"].startswith("/dev/")
    assert scene["scenario"]["at_s"] == 30.0
    assert end == {"end": True}
    assert code == 0


def test_a_signal_ends_it() -> None:
    with running() as process:
        assert process.stdout is not None
        process.stdout.readline()
        process.send_signal(signal.SIGTERM)
        assert process.wait(timeout=10) == 0


@pytest.mark.parametrize(
    "options",
    [["--speed", "0"], ["--speed", "1000"], ["--speed", "fast"], ["--scenario", "moon"]],
)
def test_wrong_options_are_refused(
    options: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(options)

    assert ended.value.code == 2
    assert options[0] in capsys.readouterr().err
