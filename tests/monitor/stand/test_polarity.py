"""Tests for monitor.stand.polarity.

Source: hand-worked here by the rules of De Morgan.
"""

from __future__ import annotations

from itertools import product

import pytest

from monitor.limits.condition import parse_condition
from monitor.stand.polarity import signed_names


@pytest.mark.parametrize(
    ("text", "signed"),
    [
        ("a", [("a", False)]),
        ("not a", [("a", True)]),
        ("not not a", [("a", False)]),
        ("b and not a", [("b", False), ("a", True)]),
        ("not (a and not b)", [("a", True), ("b", False)]),
        ("at_least(2, a, not b, c)", [("a", False), ("b", True), ("c", False)]),
        ("not at_least(1, a, b)", [("a", True), ("b", True)]),
        ("a or (b and a)", [("a", False), ("b", False)]),
        ("a or not a", [("a", False), ("a", True)]),
        (" a ", [("a", False)]),
    ],
)
def test_names_have_the_sign_with_which_they_count(
    text: str, signed: list[tuple[str, bool]]
) -> None:
    assert list(signed_names(text)) == signed


@pytest.mark.parametrize(
    "text",
    ["a and not b", "not (a or b) or c", "at_least(2, a, not b, not (c and a))", "not c"],
)
def test_a_name_that_counts_one_way_only_moves_the_condition_that_way(text: str) -> None:
    condition, signed = parse_condition(text), signed_names(text)
    wrong = []
    for values in product([False, True], repeat=len(condition.names)):
        stands = dict(zip(condition.names, values, strict=True))
        for name in condition.names:
            ways = {is_negated for one, is_negated in signed if one == name}
            when_up = condition.holds(stands | {name: True})
            when_down = condition.holds(stands | {name: False})
            if len(ways) == 1 and when_up != when_down and when_up == (True in ways):
                wrong.append((name, stands))

    assert wrong == []
