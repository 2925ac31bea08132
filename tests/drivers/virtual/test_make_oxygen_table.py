"""Tests for drivers.virtual.make_oxygen_table.

Source: the table shipped; made anew it must be the same to its last digit.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from drivers.virtual import make_oxygen_table as maker


def test_the_shipped_table_is_what_the_script_makes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("CoolProp.CoolProp", reason="needs the test extra CoolProp")
    shipped = maker.TABLE.read_text(encoding="ascii").splitlines()
    monkeypatch.setattr(maker, "TABLE", tmp_path / "table.csv")

    assert maker.main() == 0
    made = maker.TABLE.read_text(encoding="ascii").splitlines()
    assert made[0] == shipped[0]
    assert len(made) == len(shipped) == 1 + 22 * 19
    for one, two in zip(made[1:], shipped[1:], strict=True):
        new, old = (list(map(float, row.split(","))) for row in (one, two))
        assert new[:2] == old[:2]
        assert new[2] == pytest.approx(old[2], abs=2e-5)
        assert new[3] == pytest.approx(old[3], abs=1.0)
