"""Tests for monitor.physics.make_type_k_table.

Source: The shipped file itself: making it anew must give it again.
"""

from __future__ import annotations

from importlib.resources import files

import numpy as np

from monitor.physics.make_type_k_table import table_text


def numbers(text: str) -> np.ndarray:
    """Give the numbers of a table's text."""
    return np.array([line.split(",") for line in text.splitlines()[1:]], dtype=np.float64)


def test_the_shipped_table_is_what_the_script_makes() -> None:
    shipped = files("monitor.physics").joinpath("tables/type_k.csv").read_text("ascii")

    # exp() may differ in its last bit between machines, the table in its last digit.
    np.testing.assert_allclose(numbers(shipped), numbers(table_text()), atol=1.5e-9)
