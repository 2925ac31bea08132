"""Tests for monitor.display.theme.palette.

Source: WCAG 2.2, 'relative luminance' and 'contrast ratio' (formula), success criterion 1.4.3
(4.5 to 1 for text) and 1.4.11 (3 to 1 for what is not text). From memory, checked with the
recommendation's own ends: black on white is 21 to 1.
"""

from __future__ import annotations

import itertools

import pytest

from monitor.display.state.severity import PRIORITIES, Severity
from monitor.display.theme.palette import PALETTE

TEXT = 4.5
SHAPE = 3.0


def linear(byte: int) -> float:
    """Give the linear share of one sRGB component."""
    share = byte / 255
    return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4


def luminance(colour: str) -> float:
    """Give the relative luminance of ``#rrggbb``."""
    red, green, blue = (linear(int(colour[at : at + 2], 16)) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Give the contrast ratio of two colours."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


WRITTEN = [PALETTE.text, PALETTE.quiet, *(PALETTE.of(one) for one in Severity), *PALETTE.lines]
LOUD = [PALETTE.of(Severity(name)) for name in PRIORITIES] + [PALETTE.bad]


def test_the_formula_gives_the_ends_that_the_recommendation_states() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == 1.0


@pytest.mark.parametrize("behind", [PALETTE.ground, PALETTE.panel])
@pytest.mark.parametrize("colour", WRITTEN)
def test_everything_written_can_be_read(colour: str, behind: str) -> None:
    assert contrast(colour, behind) >= TEXT


@pytest.mark.parametrize("colour", [PALETTE.text, PALETTE.quiet, *LOUD])
def test_everything_written_on_a_selected_row_can_be_read(colour: str) -> None:
    assert contrast(colour, PALETTE.raised) >= TEXT


@pytest.mark.parametrize("colour", LOUD)
def test_text_on_a_filled_colour_can_be_read(colour: str) -> None:
    assert contrast(PALETTE.ink, colour) >= TEXT


@pytest.mark.parametrize("colour", [PALETTE.focus, PALETTE.pointer, PALETTE.hatch])
def test_frames_pointers_and_stripes_can_be_seen(colour: str) -> None:
    assert contrast(colour, PALETTE.panel) >= SHAPE


def test_a_pointer_can_be_told_from_the_band_behind_it() -> None:
    assert contrast(PALETTE.pointer, PALETTE.normal) >= SHAPE


def test_no_two_severities_look_alike() -> None:
    # What stands back is written as captions are, and never beside a value that is frozen.
    colours = [PALETTE.of(one) for one in Severity if one is not Severity.QUIET]

    assert all(one != other for one, other in itertools.combinations(colours, 2))


def test_all_is_grey_while_all_is_well() -> None:
    quiet = (
        PALETTE.ground, PALETTE.panel, PALETTE.raised, PALETTE.edge, PALETTE.text,
        PALETTE.quiet, PALETTE.normal, PALETTE.pointer,
    )  # fmt: skip
    for colour in quiet:
        parts = [int(colour[at : at + 2], 16) for at in (1, 3, 5)]

        assert max(parts) - min(parts) <= 20


def test_a_priority_has_its_colour_and_an_unknown_word_a_quiet_one() -> None:
    assert PALETTE.of_priority("top") == PALETTE.top
    assert PALETTE.of_priority("journal") == PALETTE.quiet
