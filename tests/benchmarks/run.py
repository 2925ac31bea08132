"""Runs every benchmark of this folder and prints one table.

    python -m tests.benchmarks.run            measure (minutes)
    python -m tests.benchmarks.run --quick    check that the results are right (seconds)
    python -m tests.benchmarks.run limits     only modules with that word in their name

A benchmark is a module ``bench_<name>.py`` with ``run(quick: bool) -> list[Row]``. It asserts
that what it measures is right; in quick mode that is the point, and its figures mean little.
A missed aim is printed, never an error: figures depend on the machine, correctness does not.
"""

from __future__ import annotations

import argparse
import importlib
import sys
import time
from pathlib import Path

from rich.console import Console
from rich.table import Table

from tests.benchmarks.row import Row


def names(folder: Path, words: list[str]) -> list[str]:
    """Give the benchmarks in *folder*, those with one of *words* in their name if any."""
    found = sorted(path.stem for path in folder.glob("bench_*.py"))
    return [name for name in found if not words or any(word in name for word in words)]


def table_of(rows: list[Row]) -> Table:
    """Lay the rows out for people."""
    table = Table("what", "ours", "limit", "ratio", "aim", "", "note")
    for row in rows:
        mark = "met" if row.is_met else "MISSED"
        table.add_row(
            row.name, row.ours, row.limit, f"{row.ratio:.3g}", row.aim, mark, row.note
        )
    return table


def main(arguments: list[str]) -> int:
    """Run the benchmarks; give 0, or 2 when there is none to run."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.run")
    parser.add_argument("--quick", action="store_true", help="check correctness only")
    parser.add_argument("words", nargs="*", help="run only benchmarks with such a name")
    options = parser.parse_args(arguments)
    found = names(Path(__file__).parent, options.words)
    if not found:
        print("no benchmark found", file=sys.stderr)
        return 2
    rows: list[Row] = []
    for name in found:
        started = time.perf_counter()
        rows += importlib.import_module(f"tests.benchmarks.{name}").run(options.quick)
        print(f"{name}: {time.perf_counter() - started:.1f} s", file=sys.stderr)
    Console(width=160).print(table_of(rows))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
