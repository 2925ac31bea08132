"""Tests for monitor.stand.locate.

Source: lines counted by eye in the texts below; for generated files, the line in which each key
was written; TOML v1.0.0 for what a file may look like.
"""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.stand.locate import KeyPath, locate

TEXT = '''\
# a comment, [not.a.table] = 1
[stand]
name = "gondola"   # with "quotes" = in it
title = """
[[phases]] is no header in a string
name = 1 """

[instruments.gas_panel]
fields = [   # one a line
    "", "bottle_1",

    "bottle_2", # last
]
note = \'\'\'it's [x]\'\'\'\'\'

[channels."PT-101"]
unit = "kPa"
limits.high.setpoint = 3
convert = { kind = "linear", gain = 1.5, more = [1, { deep = 2 }] }
[channels.PT-102.limits.low]
setpoint = 1
[channels.'PT "3"']
unit = "a\\"b#"

[[phases]]
name = "ground"
[phases.extra]
x = 1

[[phases]]
 name = "climb"
[[phases.steps]]
a = 1
[[phases.steps]]
a = 2
[ charts . "a.b" ]
"c d" . e = 2026-05-01 07:30:00  # a date with a blank
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("stand",), 2),
        (("stand", "name"), 3),
        (("stand", "title"), 4),
        (("instruments",), 8),
        (("instruments", "gas_panel"), 8),
        (("instruments", "gas_panel", "fields"), 9),
        (("instruments", "gas_panel", "fields", 0), 10),
        (("instruments", "gas_panel", "fields", 2), 12),
        (("instruments", "gas_panel", "note"), 14),
        (("channels", "PT-101"), 16),
        (("channels", "PT-101", "limits", "high", "setpoint"), 18),
        (("channels", "PT-101", "limits"), 18),
        (("channels", "PT-101", "convert", "gain"), 19),
        (("channels", "PT-101", "convert", "more", 1, "deep"), 19),
        (("channels", "PT-102"), 20),
        (("channels", "PT-102", "limits", "low", "setpoint"), 21),
        (("channels", 'PT "3"', "unit"), 23),
        (("phases",), 25),
        (("phases", 0), 25),
        (("phases", 0, "name"), 26),
        (("phases", 0, "extra", "x"), 28),
        (("phases", 1), 30),
        (("phases", 1, "name"), 31),
        (("phases", 1, "steps", 0, "a"), 33),
        (("phases", 1, "steps", 1), 34),
        (("phases", 1, "steps", 1, "a"), 35),
        (("charts", "a.b"), 36),
        (("charts", "a.b", "c d", "e"), 37),
    ],
)
def test_each_key_is_found_in_its_line(path: KeyPath, line: int) -> None:
    assert locate(TEXT).line(path) == line


def test_the_text_above_is_toml() -> None:
    assert tomllib.loads(TEXT)["phases"][1]["steps"][1]["a"] == 2


def test_a_key_that_is_missing_has_the_line_of_its_table() -> None:
    places = locate(TEXT)

    assert places.line(("channels", "PT-101", "title")) == 16
    assert places.line(("phases", 1, "steps", 1, "b")) == 34


def test_a_table_that_is_missing_has_no_line() -> None:
    assert locate(TEXT).line(("nothing", "here")) == 0
    assert locate("").line(("stand",)) == 0


def test_lines_that_end_as_in_windows_count_once() -> None:
    assert locate("[a]\r\nb = [\r\n1,\r\n2]\r\nc = 1\r\n").line(("a", "c")) == 5


def test_the_first_place_counts_where_a_key_stands_twice() -> None:
    assert locate("a = 1\na = 2\n").line(("a",)) == 1


@pytest.mark.parametrize(
    "broken",
    [
        "[b",
        "b",
        "b =",
        "b = [1",
        "b = [1 2]",
        "b = { c = 1",
        "b = { c = 1 d = 2 }",
        'b = "never closed',
        '"\\q" = 1',
        "= 1",
        "[[b]",
        "b = " + "[" * 5000,
        ".",
    ],
)
def test_a_broken_file_is_located_up_to_the_break(broken: str) -> None:
    assert locate(f"a = 1\n{broken}\n").line(("a",)) == 1


@pytest.mark.parametrize(
    ("value", "line"),
    [
        ("[" * 41 + "]" * 41, 3),
        ("[" * 42 + "]" * 42, 1),
        ("{ x = " * 40 + "1" + " }" * 40, 3),
        ("{ x = " * 41 + "1" + " }" * 41, 1),
    ],
)
def test_values_are_followed_to_a_depth_that_no_stand_file_has(value: str, line: int) -> None:
    assert locate(f"[a]\nb = {value}\nc = 1\n").line(("a", "c")) == line


KEYS = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1, max_size=6
)


def quoted(key: str) -> str:
    return '"' + key.replace("\\", "\\\\").replace('"', '\\"') + '"'


@given(st.dictionaries(KEYS, st.lists(KEYS, max_size=3, unique=True), max_size=5))
def test_generated_tables_are_found_where_they_were_written(
    tables: dict[str, list[str]],
) -> None:
    lines: list[str] = []
    expected: dict[KeyPath, int] = {}
    for table, keys in tables.items():
        lines += ["", f"  [{quoted(table)}] # x"]
        expected[(table,)] = len(lines)
        for key in keys:
            lines.append(f"{quoted(key)} = [{quoted(key)},")
            expected[(table, key)] = expected[(table, key, 0)] = len(lines)
            lines.append(f"  {{ {quoted(key)} = 1 }} ]")
            expected[(table, key, 1, key)] = len(lines)
    text = "\n".join(lines)

    places = locate(text)

    assert {path: places.line(path) for path in expected} == expected
    assert set(tomllib.loads(text)) == set(tables)


def paths_of(value: Any, path: KeyPath = ()) -> list[KeyPath]:
    """Give the path of every key and list entry."""
    if isinstance(value, dict):
        inner = [(key, item) for key, item in value.items()]
    elif isinstance(value, list):
        inner = list(enumerate(value))
    else:
        inner = []
    found = [(*path, key) for key, _ in inner]
    return found + [deep for key, item in inner for deep in paths_of(item, (*path, key))]


def test_no_key_of_the_text_above_is_missed() -> None:
    places = locate(TEXT)

    for path in paths_of(tomllib.loads(TEXT)):
        assert path in places._lines
