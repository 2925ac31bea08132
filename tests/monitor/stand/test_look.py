"""Tests for monitor.stand.look.

Source: hand-worked here.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Annotated, Any, Literal

import msgspec
import pytest
from msgspec import Meta

from monitor.stand.locate import locate
from monitor.stand.look import fields_of, look, note_unknown, said
from monitor.stand.report import Report


class Colour(StrEnum):
    RED = "red"
    GREEN = "green"


class Inner(msgspec.Struct, forbid_unknown_fields=True):
    size: int


class Round(msgspec.Struct, forbid_unknown_fields=True, tag_field="kind", tag="round"):
    radius: float


class Square(msgspec.Struct, forbid_unknown_fields=True, tag_field="kind", tag="square"):
    side: float


class All(msgspec.Struct, forbid_unknown_fields=True):
    flag: bool = False
    whole: Annotated[int, Meta(ge=1, le=9)] = 1
    number: Annotated[float, Meta(gt=0, lt=10)] = 1.0
    text: Annotated[str, Meta(min_length=1, max_length=5)] = "x"
    day: date = date(2026, 1, 1)
    word: Literal["a", "b"] = "a"
    level: Literal[1, 2] = 1
    colour: Colour = Colour.RED
    items: list[int] = []
    many: tuple[str, ...] = ()
    pair: tuple[float, float] = (0.0, 1.0)
    named: dict[str, float] = {}
    inner: Inner | None = None
    inners: list[Inner] = []
    shape: Round | Square | None = None
    either: int | str = 0
    or_inner: str | Inner = ""
    anything: Any = None


def problems(**table: Any) -> list[tuple[str, str]]:
    """Look at a table; give key and text of what is wrong."""
    report = Report("f", locate(""))
    look(fields_of(All), table, (), report)
    return [(problem.key, problem.text) for problem in report.problems]


def test_what_fits_is_not_mentioned() -> None:
    assert not problems(
        flag=True,
        whole=9,
        number=3,
        text="abcde",
        day=date(2026, 5, 1),
        word="b",
        level=2,
        colour="green",
        items=[1, 2],
        many=["a"],
        pair=[1, 2.5],
        named={"a": 1},
        inner={"size": 1},
        inners=[{"size": 1}, {"size": 2}],
        shape={"kind": "square", "side": 1},
        either="x",
        or_inner={"size": 1},
        anything=[{"x": 1}],
    )


@pytest.mark.parametrize(
    ("key", "value", "text"),
    [
        ("flag", 1, "must be true or false, is the number 1"),
        ("flag", "true", "must be true or false, is the text 'true'"),
        ("whole", 1.0, "must be a whole number, is the number 1.0"),
        ("whole", True, "must be a whole number, is true"),
        ("whole", 0, "must be at least 1, is 0"),
        ("whole", 10, "must be at most 9, is 10"),
        ("number", "1", "must be a number, is the text '1'"),
        ("number", False, "must be a number, is false"),
        ("number", 0, "must be more than 0, is 0"),
        ("number", 10, "must be less than 10, is 10"),
        ("number", float("nan"), "must be a finite number, is nan"),
        ("number", float("-inf"), "must be a finite number, is -inf"),
        ("number", 10**400, f"must be a finite number, is {10**400}"),
        ("text", 1, "must be a text in quotes, is the number 1"),
        ("text", "", "must not be empty"),
        ("text", "  ", "must not be empty"),
        ("text", "abcdef", "has 6 characters; at most 5 are allowed"),
        ("text", ["a"], "must be a text in quotes, is a list"),
        ("day", "2026-05-01", "must be a date such as 2026-05-01, without quotes, is the text"),
        (
            "day",
            datetime(2026, 5, 1, tzinfo=UTC),
            "must be a date such as 2026-05-01, without quotes, is the",
        ),
        ("word", "c", "unknown 'c'; known are a, b"),
        ("word", [], "unknown []; known are a, b"),
        ("level", 3, "unknown 3; known are 1, 2"),
        ("level", "1", "unknown '1'; did you mean '1'?; known are 1, 2"),
        ("colour", "gren", "unknown 'gren'; did you mean 'green'?; known are red, green"),
        ("items", 1, "must be a list, is the number 1"),
        ("pair", [1], "must be a list of 2, as in [0.0, 0.0], is a list of 1"),
        ("pair", 1, "must be a list of 2, as in [0.0, 0.0], is the number 1"),
        ("named", [1], "must be a table, is a list"),
        ("inner", 1, "must be a table, is the number 1"),
        ("shape", "round", "must be a table, is the text 'round'"),
        ("either", 1.5, "must be a whole number or a text in quotes, is the number 1.5"),
        ("or_inner", 1, "must be a text in quotes or a table, is the number 1"),
    ],
)
def test_what_does_not_fit_is_told_in_words(key: str, value: Any, text: str) -> None:
    ((got_key, got),) = problems(**{key: value})

    assert got_key == key
    assert got.startswith(text)


@pytest.mark.parametrize(
    ("table", "expected"),
    [
        ({"items": [1, "x", None]}, ["items[2]", "items[3]"]),
        ({"many": ["a", 1]}, ["many[2]"]),
        ({"pair": [1, "x"]}, ["pair[2]"]),
        ({"named": {"a": 1, "b c": "x"}}, ['named."b c"']),
        ({"inner": {}}, ["inner.size"]),
        ({"inner": {"size": "x", "more": 1}}, ["inner.more", "inner.size"]),
        ({"inners": [{"size": 1}, {"size": "x"}, 3]}, ["inners[2].size", "inners[3]"]),
        ({"shape": {"side": 1}}, ["shape.kind"]),
        ({"shape": {"kind": "rond"}}, ["shape.kind"]),
        ({"shape": {"kind": 1}}, ["shape.kind"]),
        ({"shape": {"kind": "round", "side": 1}}, ["shape.side", "shape.radius"]),
        ({"or_inner": {"size": "x"}}, ["or_inner.size"]),
        ({"flagg": True, "whole": "x"}, ["flagg", "whole"]),
    ],
)
def test_the_place_within_is_told(table: dict[str, Any], expected: list[str]) -> None:
    assert [key for key, _ in problems(**table)] == expected


def test_a_missing_key_is_told_with_something_to_write() -> None:
    assert problems(inner={}) == [("inner.size", "missing; write size = 0")]


def test_a_missing_key_of_several_types_is_told_with_the_first() -> None:
    class Either(msgspec.Struct):
        value: int | str

    report = Report("f", locate(""))
    look(fields_of(Either), {}, (), report)

    assert report.problems[0].text == "missing; write value = 0"


def test_a_misspelt_key_is_not_missing_besides() -> None:
    assert problems(inner={"sise": 1}) == [("inner.sise", "unknown key; did you mean 'size'?")]


def test_a_table_that_is_none_is_told() -> None:
    report = Report("f", locate(""))

    look(fields_of(All), [1], ("x",), report)

    assert report.problems[0].text == "must be a table with keys, is a list"


def test_every_unknown_key_is_told() -> None:
    report = Report("f", locate(""))

    note_unknown(report, ("a",), ["port", "prot", "zzz"], ["port", "baud"])

    assert [(problem.key, problem.text) for problem in report.problems] == [
        ("a.prot", "unknown key; did you mean 'port'?"),
        ("a.zzz", "unknown key; known are port, baud"),
    ]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "true"),
        (False, "false"),
        (1.5, "the number 1.5"),
        ("x" * 50, f"the text '{'x' * 37}...'"),
        ("x" * 40, f"the text '{'x' * 40}'"),
        (date(2026, 5, 1), "the date 2026-05-01"),
        ([], "a list"),
        ({}, "a table"),
    ],
)
def test_values_are_named_with_their_type(value: Any, text: str) -> None:
    assert said(value) == text
