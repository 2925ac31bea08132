"""Tests for drivers.virtual.truth.

Source: hand-worked here: what each name means is read from the rig itself.
"""

from __future__ import annotations

import math

from drivers.virtual.rig import Rig
from drivers.virtual.truth import reader, truth_of


def test_every_name_reads_a_finite_number() -> None:
    truth = truth_of(Rig())

    assert all(math.isfinite(value) for value in truth.values())


def test_a_reader_keeps_up_with_the_rig() -> None:
    rig = Rig()
    read = reader("chamber_pa")
    before = read(rig)
    rig.controls.chamber_target_pa = 1000.0
    for _ in range(100):
        rig.step(0.1)

    assert read(rig) < before
    assert read(rig) == truth_of(rig)["chamber_pa"]


def test_the_secondary_feeds_from_a_tenth_of_a_gram_a_minute() -> None:
    rig = Rig()
    rig.supply.secondary_kg_s = 0.09e-3 / 60
    assert truth_of(rig)["secondary_feeds"] == 0.0
    rig.supply.secondary_kg_s = 0.11e-3 / 60
    assert truth_of(rig)["secondary_feeds"] == 1.0
