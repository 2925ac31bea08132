"""Tests for monitor.stand.read.

Source: hand-worked here.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from monitor.errors import StandError
from monitor.stand.read import LARGEST, read_source


def refused(path: Path) -> str:
    """Give what is said about a file that cannot be used."""
    with pytest.raises(StandError) as caught:
        read_source(path)
    (problem,) = caught.value.problems
    assert problem.file == str(path)
    return f"{problem.line}: {problem.key}: {problem.text}"


def test_a_file_gives_its_text_its_values_and_its_lines(tmp_path: Path) -> None:
    path = tmp_path / "stand.toml"
    path.write_bytes("\n[stand]\r\nname = 'µ'\r\n".encode())

    source = read_source(path)

    assert source.text == "\n[stand]\r\nname = 'µ'\r\n"
    assert source.tables == {"stand": {"name": "µ"}}
    assert source.places.line(("stand", "name")) == 3
    assert source.problems == ()


def test_the_mark_that_some_editors_put_in_front_is_no_mistake(tmp_path: Path) -> None:
    path = tmp_path / "stand.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\n")

    assert read_source(path).tables == {"a": 1}


def test_what_stands_twice_is_handed_on(tmp_path: Path) -> None:
    path = tmp_path / "stand.toml"
    path.write_text("a = 1\na = 2\n")

    source = read_source(path)

    assert source.tables == {"a": 1}
    assert [problem.line for problem in source.problems] == [2]


def test_a_file_that_is_no_toml_names_its_mistakes(tmp_path: Path) -> None:
    path = tmp_path / "stand.toml"
    path.write_text("a = x\n[b]\nc = y\n")

    with pytest.raises(StandError) as caught:
        read_source(path)

    assert [(p.file, p.line) for p in caught.value.problems] == [(str(path), 1), (str(path), 3)]


def test_a_missing_file_is_told_with_the_nearest_one(tmp_path: Path) -> None:
    (tmp_path / "gondola.toml").touch()

    assert refused(tmp_path / "gondla.toml") == (
        "0: file: not found; did you mean 'gondola.toml'?"
    )
    assert refused(tmp_path / "x.toml") == "0: file: not found; there are gondola.toml"
    assert refused(tmp_path / "no" / "x.toml") == "0: file: not found"


def test_a_folder_is_told_with_what_it_holds(tmp_path: Path) -> None:
    assert refused(tmp_path) == "0: file: is a folder; name a stand file"

    (tmp_path / "b.toml").touch()
    (tmp_path / "a.toml").touch()

    assert (
        refused(tmp_path) == "0: file: is a folder; name a stand file; it holds a.toml, b.toml"
    )


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)

    assert refused(path) == "0: file: is no ordinary file"


def test_a_file_below_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.toml").touch()

    assert refused(tmp_path / "a.toml" / "b.toml") == (
        "0: file: cannot be read: Not a directory"
    )


def test_a_file_without_permission_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    path.touch()

    def denied(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    # Changing the file's mode would not stop a test that is run by root.
    monkeypatch.setattr(Path, "read_bytes", denied)

    assert refused(path) == "0: file: may not be read; ask its owner for permission"


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    with path.open("wb") as file:
        file.truncate(LARGEST + 1)

    assert refused(path) == f"0: file: has {LARGEST + 1} bytes; at most {LARGEST} are read"


def test_a_file_just_small_enough_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n" + "#" * (LARGEST - 6))

    assert LARGEST == 4_000_000
    assert read_source(path).tables == {"a": 1}


def test_no_more_than_five_other_files_are_named(tmp_path: Path) -> None:
    for name in "abcdefg":
        (tmp_path / f"{name}.toml").touch()
    five = "a.toml, b.toml, c.toml, d.toml, e.toml"

    assert refused(tmp_path) == f"0: file: is a folder; name a stand file; it holds {five}"
    assert refused(tmp_path / "unlike") == f"0: file: not found; there are {five}"


def test_other_text_than_utf_8_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b'\na = 1\nunit = "\xb0C"\n')

    assert refused(path) == "3: file: byte 16 is not UTF-8; save the file as UTF-8"
