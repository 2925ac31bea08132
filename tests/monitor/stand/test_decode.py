"""Tests for monitor.stand.decode.

Source: hand-worked here.
"""

from __future__ import annotations

from typing import Annotated

import msgspec
from msgspec import Meta

from monitor.stand.decode import decode, decode_sound
from monitor.stand.locate import locate
from monitor.stand.report import Report


class Table(msgspec.Struct, forbid_unknown_fields=True, rename={"at_4ma": "at_4mA"}):
    name: str
    at_4ma: float = 4.0
    code: Annotated[str, Meta(pattern="^[a-z]+$")] = "a"


def report() -> Report:
    return Report("f", locate("[x]\nname = 1\n"))


def test_a_sound_table_is_decoded() -> None:
    found = report()

    assert decode(found, ("x",), {"name": "n", "at_4mA": 1}, Table) == Table("n", 1.0)
    assert found.problems == ()


def test_a_table_with_a_mistake_is_not_decoded() -> None:
    found = report()

    assert decode(found, ("x",), {"name": 1}, Table) is None
    assert [(problem.line, problem.key) for problem in found.problems] == [(2, "x.name")]


def test_a_mistake_elsewhere_is_no_hindrance() -> None:
    found = report()
    found.error(("x",), "something about its name")

    assert decode(found, ("x",), {"name": "n"}, Table) == Table("n")


def test_what_only_msgspec_knows_is_told_too() -> None:
    found = report()

    assert decode(found, ("x",), {"name": "n", "code": "A"}, Table) is None
    assert "regex" in found.problems[0].text


def test_the_sound_part_of_a_table_is_decoded() -> None:
    found = report()

    got = decode_sound(found, ("x",), {"name": "n", "at_4mA": "x", "more": 1}, Table)

    assert got == Table("n", 4.0)
    assert [problem.key for problem in found.problems] == ["x.at_4mA", "x.more"] or [
        problem.key for problem in found.problems
    ] == ["x.more", "x.at_4mA"]


def test_a_table_without_a_key_that_it_needs_has_no_sound_part() -> None:
    found = report()

    assert decode_sound(found, ("x",), {"at_4mA": 1}, Table) is None
    assert decode_sound(found, ("x",), {"name": 1}, Table) is None
    assert decode_sound(found, ("x",), [1], Table) is None
    assert found.errors == 3
