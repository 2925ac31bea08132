"""Tests for monitor.stand.sources.

Source: hand-worked here on the file of places_stand.
"""

from __future__ import annotations

import pytest

from monitor.stand.sources import everything_behind, inputs_of, measured_behind
from tests.monitor.stand.places_stand import PLACES, draft_of

COUPLE = """
[channels.TT-303]
unit = "degC"
source = "node.t3"
span = [0, 100]
convert = { kind = "type_k", cold_junction = "TT-302" }
[channels.PY-302]
unit = "kPa"
formula = "v * t + v"
inputs = { v = "PT-300", t = "TT-303" }
span = [0, 100]
"""


@pytest.mark.parametrize(
    ("tag", "inputs"),
    [
        ("PT-301", ()),
        ("PDY-301", ("PT-301", "PT-303")),
        ("PT-300", ("PT-301", "PT-302")),
        ("TT-303", ("TT-302",)),
        ("PY-302", ("PT-300", "TT-303")),
    ],
)
def test_a_channel_is_made_of_its_inputs(tag: str, inputs: tuple[str, ...]) -> None:
    assert inputs_of(draft_of(PLACES + COUPLE).channels[tag]) == inputs


def test_an_input_that_stands_twice_is_given_once() -> None:
    text = PLACES.replace('b = "PT-303"', 'b = "PT-301"')

    assert inputs_of(draft_of(text).channels["PDY-301"]) == ("PT-301",)


def test_what_lies_behind_is_found_through_vote_formula_and_cold_junction() -> None:
    assert measured_behind(draft_of(PLACES + COUPLE), "PY-302") == {
        "PT-301",
        "PT-302",
        "TT-303",
        "TT-302",
    }


def test_behind_a_measured_channel_is_itself() -> None:
    assert measured_behind(draft_of(PLACES), "PT-301") == {"PT-301"}


def test_computed_channels_lie_behind_too_but_are_not_measured() -> None:
    assert everything_behind(draft_of(PLACES + COUPLE), "PY-302") - measured_behind(
        draft_of(PLACES + COUPLE), "PY-302"
    ) == {"PY-302", "PT-300"}


def test_behind_a_channel_that_is_not_there_is_nothing_measured() -> None:
    assert measured_behind(draft_of(PLACES), "PT-999") == frozenset()


def test_channels_that_are_made_of_each_other_end_the_search() -> None:
    text = PLACES.replace('b = "PT-303"', 'b = "PDY-301"')

    assert measured_behind(draft_of(text), "PDY-301") == {"PT-301"}
