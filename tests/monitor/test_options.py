"""Tests for monitor.options.

Source: hand-worked here.
"""

from __future__ import annotations

from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from monitor.client import default_state_dir
from monitor.options import Common, common_options, fail, merged, speed_option


def given(*arguments: str) -> tuple[Result, list[tuple[Common, object]]]:
    """Run a command with the common options; give what it was told."""
    told: list[tuple[Common, object]] = []

    @click.command()
    @common_options
    @speed_option("How fast.")
    def command(common: Common, speed: float) -> None:
        told.append((common, speed))

    return CliRunner().invoke(command, arguments), told


def test_without_options_a_watch_has_a_window_no_end_and_the_folder_runs() -> None:
    _, told = given()

    assert told == [(Common(False, None, Path("runs"), default_state_dir(), {}), 1.0)]


def test_each_option_arrives_where_it_belongs(tmp_path: Path) -> None:
    state = tmp_path / "state"
    options = [
        "--headless",
        "--for",
        "90",
        "--run-dir",
        str(tmp_path),
        "--state-dir",
        str(state),
    ]
    _, told = given(*options, "--speed", "20")

    assert told == [(Common(True, 90.0, tmp_path, state, {}), 20.0)]


def test_settings_are_gathered_by_instrument() -> None:
    options = ["--set", "a.port=/dev/x", "--set", "a.baud=9600", "--set", "b.topic=x/y=z.w"]
    _, told = given(*options)

    assert told[0][0].overrides == {
        "a": {"port": "/dev/x", "baud": "9600"},
        "b": {"topic": "x/y=z.w"},
    }


def test_a_key_may_hold_dots() -> None:
    assert given("--set", "a.tls.ca=/x")[1][0][0].overrides == {"a": {"tls.ca": "/x"}}


def test_an_empty_value_is_a_value() -> None:
    assert given("--set", "a.user=")[1][0][0].overrides == {"a": {"user": ""}}


@pytest.mark.parametrize("text", ["port=/dev/x", "a.port", "a.=x", ".port=x", "=x", "a=b.c"])
def test_a_setting_of_another_shape_is_refused_with_an_example(text: str) -> None:
    done, told = given("--set", text)

    assert (done.exit_code, told) == (2, [])
    assert "gas_panel.port=/dev/ttyUSB1" in done.output


@pytest.mark.parametrize("options", [("--for", "0"), ("--speed", "-1"), ("--speed", "fast")])
def test_a_number_that_makes_no_sense_is_refused(options: tuple[str, str]) -> None:
    assert given(*options)[0].exit_code == 2


def test_the_second_set_of_overrides_counts_where_both_speak() -> None:
    first = {"a": {"port": "1", "baud": "2"}, "b": {"x": "3"}}
    second = {"a": {"port": "9"}, "c": {"y": "4"}}

    assert merged(first, second) == {
        "a": {"port": "9", "baud": "2"},
        "b": {"x": "3"},
        "c": {"y": "4"},
    }


def test_what_is_wrong_goes_to_standard_error_with_its_exit_code(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(SystemExit) as ended:
        fail(3, "no watch")

    assert ended.value.code == 3
    assert capsys.readouterr() == ("", "no watch\n")
