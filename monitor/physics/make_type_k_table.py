"""Make the shipped table of type K: ``python -m monitor.physics.make_type_k_table > FILE``."""

from __future__ import annotations

import sys

from monitor.physics.type_k_reference import (
    HIGHEST_DEGC,
    LOWEST_DEGC,
    reference_mv_from_degc,
)

#: Below it the curve bends so much that rows stand closer, in degC.
_CLOSE_BELOW_DEGC = -100


def table_text() -> str:
    """Give the table: temperature in degC, voltage in mV to 1e-9, one row a line."""
    lowest, highest = round(LOWEST_DEGC), round(HIGHEST_DEGC)
    close = [lowest + tenth / 10 for tenth in range((_CLOSE_BELOW_DEGC - lowest) * 10)]
    temperatures_degc = [*close, *(float(t) for t in range(_CLOSE_BELOW_DEGC, highest + 1))]
    rows = [f"{t:g},{reference_mv_from_degc(t):.9f}\n" for t in temperatures_degc]
    return "degC,mV\n" + "".join(rows)


if __name__ == "__main__":
    sys.stdout.write(table_text())
