"""Tests for drivers.instruments.shown.

Source: hand-worked here.
"""

from __future__ import annotations

from drivers.instruments.shown import printable, text_of


def test_readable_bytes_are_shown_as_they_are() -> None:
    assert text_of(b"$1,2*3F ~") == "$1,2*3F ~"


def test_bytes_that_could_move_a_cursor_are_shown_as_numbers() -> None:
    assert text_of(b"\x1b[2J\r\xff\x7f") == "\\x1b[2J\\x0d\\xff\\x7f"


def test_long_examples_are_cut() -> None:
    assert len(text_of(b"x" * 1000)) == len(printable("x" * 1000)) == 160


def test_letters_of_any_language_are_shown_and_controls_are_not() -> None:
    assert printable("größe/\x1b[2J\n") == "größe/\\x1b[2J\\n"
