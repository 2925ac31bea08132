r"""Tests for drivers.decoding.json_pointer.

Source: RFC 6901, section 5: the document and the table of pointers, copied.
"""

from __future__ import annotations

import json

import pytest

from drivers.decoding.json_pointer import MISSING, parse_pointer, value_at

DOCUMENT = json.loads(
    r"""
    {
      "foo": ["bar", "baz"],
      "": 0,
      "a/b": 1,
      "c%d": 2,
      "e^f": 3,
      "g|h": 4,
      "i\\j": 5,
      "k\"l": 6,
      " ": 7,
      "m~n": 8
    }
    """
)
RFC_6901_SECTION_5 = [
    ("", DOCUMENT),
    ("/foo", ["bar", "baz"]),
    ("/foo/0", "bar"),
    ("/", 0),
    ("/a~1b", 1),
    ("/c%d", 2),
    ("/e^f", 3),
    ("/g|h", 4),
    ("/i\\j", 5),
    ('/k"l', 6),
    ("/ ", 7),
    ("/m~0n", 8),
]


@pytest.mark.parametrize(("pointer", "value"), RFC_6901_SECTION_5)
def test_agrees_with_the_table_of_the_rfc(pointer: str, value: object) -> None:
    assert value_at(DOCUMENT, parse_pointer(pointer)) == value


@pytest.mark.parametrize(
    "pointer",
    [
        "/nothing",
        "/foo/2",
        "/foo/-",
        "/foo/00",
        "/foo/01",
        "/foo/-1",
        "/foo/x",
        "/foo/0/0",
        "/a~1b/0",
        "/foo/" + "9" * 5000,
        "/foo/\u0661",
    ],
)
def test_a_pointer_that_leads_nowhere_says_so(pointer: str) -> None:
    assert value_at(DOCUMENT, parse_pointer(pointer)) is MISSING


def test_an_escaped_tilde_before_a_one_is_no_slash() -> None:
    assert parse_pointer("/~01") == ("~1",)


@pytest.mark.parametrize("pointer", ["foo", "#/foo", "/a~", "/a~2b"])
def test_a_malformed_pointer_is_refused(pointer: str) -> None:
    with pytest.raises(ValueError, match="must b"):
        parse_pointer(pointer)
