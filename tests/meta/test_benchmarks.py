"""Tests for tests.benchmarks.

Source: hand-worked here.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.console import Console

from tests.benchmarks.row import Row
from tests.benchmarks.run import main, names, table_of


@pytest.mark.parametrize(
    ("ratio", "aim", "is_met"),
    [
        (3.0, "<= 3", True),
        (3.01, "<= 3", False),
        (0.8, ">= 0.8", True),
        (0.79, ">= 0.8", False),
    ],
)
def test_an_aim_is_met_up_to_its_bound(ratio: float, aim: str, is_met: bool) -> None:
    assert Row("x", "1 ms", "1 ms", ratio, aim).is_met is is_met


def test_an_aim_without_a_sign_is_an_error() -> None:
    with pytest.raises(ValueError, match="must begin with"):
        _ = Row("x", "1 ms", "1 ms", 1.0, "3").is_met


def test_only_benchmarks_with_the_word_are_run(tmp_path: Path) -> None:
    for name in ("bench_limits.py", "bench_serial.py", "other.py"):
        (tmp_path / name).touch()

    assert names(tmp_path, []) == ["bench_limits", "bench_serial"]
    assert names(tmp_path, ["lim"]) == ["bench_limits"]


def test_no_benchmark_to_run_is_not_a_success(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--quick", "there-is-no-such-benchmark"]) == 2
    assert "no benchmark found" in capsys.readouterr().err


def test_the_table_says_which_aim_was_missed() -> None:
    console = Console(width=160)
    rows = [Row("fast", "1 ms", "1 ms", 1.0, "<= 2"), Row("slow", "9 ms", "1 ms", 9.0, "<= 2")]
    with console.capture() as capture:
        console.print(table_of(rows))
    lines = capture.get().splitlines()

    assert any("fast" in line and "met" in line for line in lines)
    assert any("slow" in line and "MISSED" in line for line in lines)
