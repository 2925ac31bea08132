"""Tests for monitor.physics.make_type_k_table.

Source: The shipped file itself: making it anew must give it again.
"""

from __future__ import annotations

import subprocess
import sys
from importlib.resources import files

import numpy as np

from monitor.physics.make_type_k_table import table_text

SHIPPED = files("monitor.physics").joinpath("tables/type_k.csv").read_text("ascii")


def numbers(text: str) -> np.ndarray:
    """Give the numbers of a table's text."""
    return np.array([line.split(",") for line in text.splitlines()[1:]], dtype=np.float64)


def test_the_shipped_table_is_what_the_script_makes() -> None:
    # exp() may differ in its last bit between machines, the table in its last digit.
    np.testing.assert_allclose(numbers(SHIPPED), numbers(table_text()), rtol=0, atol=1.5e-9)


def test_rows_stand_closer_where_the_curve_bends() -> None:
    steps_degc = np.diff(numbers(table_text())[:, 0])

    assert steps_degc[0] == np.float64(-269.9) + 270.0
    assert steps_degc[-1] == 1.0


def test_run_as_a_script_it_prints_the_table() -> None:
    command = [sys.executable, "-m", "monitor.physics.make_type_k_table"]
    printed = subprocess.run(command, capture_output=True, text=True, check=True).stdout

    assert printed == table_text()
