"""Tests for monitor.cli.

Source: hand-worked here. Whole watches are in tests/end_to_end; here is what comes before one:
what is refused, with which words and which exit code.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import monitor.attended
import monitor.demo
import monitor.logs
import monitor.stand.load
from drivers.registry import InstrumentKind
from monitor.alarms.plan import AlarmsPlan
from monitor.channels.plan import ChannelsPlan
from monitor.cli import address_of, main, prepare_view
from monitor.companions import View
from monitor.engine.run import WatchSettings
from monitor.errors import LinkError, Problem, RecordError, StandError
from monitor.link.endpoint import ENDPOINT_FILE, Endpoint, encode_endpoint
from monitor.options import Common, Overrides
from monitor.pipeline import Plan
from monitor.rig import RigError
from monitor.stand.model import Stand

COMMANDS = ("demo", "watch", "display", "check", "runs", "replay", "figures", "rehearse")
ERROR = Problem(
    "bench.toml", 7, "channels.PT-1.unit", "unknown unit 'baar'; did you mean 'bar'?"
)
WARNING = Problem("bench.toml", 9, "channels.PT-2.limits", "slow", is_warning=True)
PLAN = Plan(ChannelsPlan(()), (), AlarmsPlan((), ()))
Loaded = dict[str, Mapping[str, Mapping[str, str]]]


def run(*arguments: str) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(main, arguments)


@pytest.fixture
def stand_file(tmp_path: Path) -> str:
    """Give a file that exists; what is in it does not matter."""
    path = tmp_path / "bench.toml"
    path.write_text("", encoding="utf-8")
    return str(path)


@pytest.fixture
def loading(monkeypatch: pytest.MonkeyPatch) -> Callable[[Stand | StandError], Loaded]:
    """Have stand files load as something prepared; note with which overrides."""

    def prepare(result: Stand | StandError) -> Loaded:
        asked: Loaded = {}

        def load_stand(
            path: Path,
            kinds: Mapping[str, InstrumentKind],
            overrides: Mapping[str, Mapping[str, str]],
            today: date,
        ) -> Stand:
            asked[path.name] = overrides
            if isinstance(result, StandError):
                raise result
            return result

        monkeypatch.setattr(monitor.stand.load, "load_stand", load_stand)
        return asked

    return prepare


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_explains_itself_and_its_exit_codes(command: str) -> None:
    done = run(command, "--help")

    assert done.exit_code == 0
    assert "Exit codes:" in done.output


def test_the_caution_stands_at_the_top() -> None:
    assert "not a safety device" in run("--help").output


def test_help_comes_at_once() -> None:
    started = time.monotonic()
    subprocess.run(
        [sys.executable, "-m", "monitor.cli", "--help"], check=True, capture_output=True
    )

    # Qt, pyarrow and pint together take well over a second to import.
    assert time.monotonic() - started < 1.0


@pytest.mark.parametrize("command", ["check", "watch"])
def test_a_bad_stand_file_is_told_whole_and_nothing_is_started(
    command: str,
    stand_file: str,
    tmp_path: Path,
    loading: Callable[[Stand | StandError], Loaded],
) -> None:
    loading(StandError([ERROR, WARNING]))
    extra = ["--run-dir", str(tmp_path / "runs")] if command == "watch" else []
    done = run(command, stand_file, *extra)

    assert done.exit_code == 2
    assert "bench.toml:7: error: channels.PT-1.unit: unknown unit 'baar'" in done.output
    assert "bench.toml:9: warning: channels.PT-2.limits" in done.output
    assert f"1 to mend in {stand_file}; nothing was started." in done.output
    assert not (tmp_path / "runs").exists()


def test_a_fit_stand_file_is_told_with_its_warnings(
    stand_file: str, loading: Callable[[Stand | StandError], Loaded]
) -> None:
    loading(Stand("bench", "", 0, (), (), (), (), PLAN, "", (WARNING,)))
    done = run("check", stand_file)

    assert done.exit_code == 0
    assert "bench.toml:9: warning" in done.output
    assert (
        "fit to watch (0 instruments, 0 channels, 0 limits, 0 phases, 1 warnings)"
        in done.output
    )


def test_a_setting_given_by_hand_reaches_the_stand_file(
    stand_file: str, loading: Callable[[Stand | StandError], Loaded]
) -> None:
    asked = loading(Stand("bench", "", 0, (), (), (), (), PLAN, "", ()))
    run("check", stand_file, "--set", "panel.port=/dev/ttyUSB1")

    assert asked == {"bench.toml": {"panel": {"port": "/dev/ttyUSB1"}}}


def test_a_stand_file_that_does_not_exist_is_a_mistake_on_the_command_line() -> None:
    done = run("check", "there-is-none.toml")

    assert done.exit_code == 2
    assert "there-is-none.toml" in done.output


@dataclass
class Watching:
    """What a watch was asked, and how it ends."""

    ends_with: int | BaseException = 0
    asked: list[tuple[WatchSettings, View]] = field(default_factory=list)
    rig: list[str] = field(default_factory=list)

    async def watch(self, stand: Stand, settings: WatchSettings, view: View) -> int:
        """Stand in for a whole watch."""
        self.asked.append((settings, view))
        if isinstance(self.ends_with, BaseException):
            raise self.ends_with
        return self.ends_with

    async def demo(
        self,
        stand_with: Callable[[Overrides], Stand],
        settings: WatchSettings,
        view: View,
        command: list[str],
    ) -> int:
        """Stand in for a whole demo, whose rig has moved a port."""
        self.rig = command[1:]
        stand = stand_with({"panel": {"port": "/dev/pts/9", "baud": "1"}})
        return await self.watch(stand, settings, view)


@pytest.fixture
def watching(
    monkeypatch: pytest.MonkeyPatch,
    loading: Callable[[Stand | StandError], Loaded],
) -> Watching:
    """Have watch and demo start nothing."""
    made = Watching()
    loading(Stand("bench", "", 0, (), (), (), (), PLAN, "", ()))
    monkeypatch.setattr(monitor.attended, "watch_attended", made.watch)
    monkeypatch.setattr(monitor.demo, "run_demo", made.demo)
    monkeypatch.setattr(monitor.logs, "keep_log", keep_nothing)
    return made


@pytest.mark.parametrize(
    ("options", "may_resume", "for_s"),
    [([], True, None), (["--new-run", "--for", "9"], False, 9.0)],
)
def test_a_watch_is_started_as_it_was_asked_for(
    options: list[str],
    may_resume: bool,
    for_s: float | None,
    stand_file: str,
    tmp_path: Path,
    watching: Watching,
) -> None:
    where = ["--run-dir", str(tmp_path / "runs"), "--state-dir", str(tmp_path)]
    done = run("watch", stand_file, "--headless", *where, *options)

    settings = WatchSettings(tmp_path / "runs", tmp_path, 1.0, for_s, resume=may_resume)
    assert (done.exit_code, watching.asked) == (0, [(settings, View.TERMINAL)])


@pytest.mark.parametrize(
    ("ends_with", "code", "said"),
    [
        (0, 0, ""),
        (1, 1, ""),
        (KeyboardInterrupt(), 0, ""),
        (LinkError("the stand is being watched already"), 1, "being watched already"),
        (RecordError("run-a", "cannot be gone on with"), 1, "cannot be gone on with"),
        (OSError(28, "No space left on device"), 1, "No space left"),
    ],
)
def test_how_a_watch_ended_is_told_by_the_exit_code(
    ends_with: int | BaseException,
    code: int,
    said: str,
    stand_file: str,
    tmp_path: Path,
    watching: Watching,
) -> None:
    watching.ends_with = ends_with
    done = run("watch", stand_file, "--headless", "--state-dir", str(tmp_path))

    assert done.exit_code == code
    assert said in done.output


def test_the_demo_never_goes_on_with_an_old_run_and_tells_the_rig_its_speed(
    tmp_path: Path, watching: Watching
) -> None:
    options = ["--headless", "--speed", "20", "--seed", "7", "--state-dir", str(tmp_path)]
    done = run("demo", *options)

    settings, view = watching.asked[0]
    assert (done.exit_code, settings.resume, settings.speed) == (0, False, 20.0)
    assert view is View.TERMINAL
    assert watching.rig == ["-m", "drivers.virtual", "--speed", "20", "--seed", "7"]


def test_in_the_demo_a_setting_given_by_hand_counts_before_the_rigs(
    tmp_path: Path,
    watching: Watching,
    loading: Callable[[Stand | StandError], Loaded],
) -> None:
    asked = loading(Stand("bench", "", 0, (), (), (), (), PLAN, "", ()))
    run("demo", "--headless", "--state-dir", str(tmp_path), "--set", "panel.baud=9600")

    assert asked == {"gondola.toml": {"panel": {"port": "/dev/pts/9", "baud": "9600"}}}


def test_a_rig_that_fails_is_told(tmp_path: Path, watching: Watching) -> None:
    watching.ends_with = RigError("the virtual rig ended with exit code 3")
    done = run("demo", "--headless", "--state-dir", str(tmp_path))

    assert done.exit_code == 1
    assert "the virtual rig ended with exit code 3" in done.output


def test_a_demo_without_its_stand_file_says_where_it_should_be(
    tmp_path: Path, watching: Watching, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(monitor.demo, "STAND_FILE", tmp_path / "gone.toml")
    done = run("demo", "--headless", "--state-dir", str(tmp_path))

    assert (done.exit_code, watching.asked) == (1, [])
    assert "run the demo from a copy of the whole project" in done.output


@pytest.mark.parametrize("options", [[], ["--headless"]])
def test_a_display_without_a_watch_says_how_to_start_one(
    options: list[str], tmp_path: Path
) -> None:
    done = run("display", "--state-dir", str(tmp_path), *options)

    assert done.exit_code == 3
    assert "standwatch watch STANDFILE" in done.output


def test_a_display_that_nobody_answers_ends_with_the_same_code(tmp_path: Path) -> None:
    endpoint = Endpoint("ws://127.0.0.1:9", "secret", os.getpid(), "run", "bench", 0)
    (tmp_path / ENDPOINT_FILE).write_bytes(encode_endpoint(endpoint))
    done = run("display", "--headless", "--state-dir", str(tmp_path))

    assert done.exit_code == 3
    assert "no watch answers at ws://127.0.0.1:9" in done.output


def test_the_address_is_taken_apart() -> None:
    endpoint = Endpoint("ws://127.0.0.1:4321", "secret", 1, "run", "bench", 0)

    assert address_of(endpoint) == ("127.0.0.1", 4321, "secret")


def keep_nothing(folder: Path, *, is_told: bool) -> Path:
    """Stand in for the log, which would change the loggers of the whole test run."""
    return folder


@pytest.mark.parametrize(
    ("is_headless", "display", "view", "said"),
    [
        (True, ":0", View.TERMINAL, ""),
        (False, ":0", View.WINDOW, ""),
        (False, "", View.TERMINAL, "no screen found: running headless\n"),
    ],
)
@pytest.mark.skipif(sys.platform in ("darwin", "win32"), reason="always has a screen")
def test_without_a_screen_a_watch_is_headless_and_says_so(
    is_headless: bool,
    display: str,
    view: View,
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(monitor.logs, "keep_log", keep_nothing)
    for name in ("WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("DISPLAY", display)

    assert prepare_view(Common(is_headless, None, tmp_path, tmp_path, {})) is view
    assert capsys.readouterr().err == said


def test_the_installed_command_gives_the_same_exit_code(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "monitor.cli", "display", "--state-dir", str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)

    assert done.returncode == 3
    assert done.stdout == ""
