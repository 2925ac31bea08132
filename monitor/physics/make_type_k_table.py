"""Make ``tables/type_k.csv`` from the reference function: ``python -m <this module>``."""

from __future__ import annotations

from pathlib import Path

from monitor.physics.thermocouple import HIGHEST_DEGC, LOWEST_DEGC, reference_mv_from_degc


def table_text() -> str:
    """Give the table's text: degC and mV to 1e-9 mV, one row a degree."""
    rows = [
        f"{degc},{reference_mv_from_degc(float(degc)):.9f}"
        for degc in range(int(LOWEST_DEGC), int(HIGHEST_DEGC) + 1)
    ]
    return "\n".join(["degC,mV", *rows]) + "\n"


if __name__ == "__main__":
    Path(__file__).with_name("tables").joinpath("type_k.csv").write_text(table_text())
