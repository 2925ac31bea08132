"""Tests for monitor.display.state.waves.

Source: common practice, no source: more, faster and higher pulses are more urgent.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.display.state.severity import PRIORITIES
from monitor.display.state.waves import PATTERNS, RATE_HZ, samples_of


def test_each_priority_that_sounds_has_a_pattern() -> None:
    assert tuple(PATTERNS) == PRIORITIES


@pytest.mark.parametrize("name", PATTERNS)
def test_a_pattern_fits_its_repetition_and_begins_and_ends_in_silence(name: str) -> None:
    pattern = PATTERNS[name]

    sound = samples_of(pattern)

    assert sound.dtype == np.int16
    assert sound.size == round(pattern.every_s * RATE_HZ)
    assert sound[0] == 0
    assert sound[-1] == 0


@pytest.mark.parametrize("name", PATTERNS)
def test_a_pattern_is_loud_enough_and_never_clips(name: str) -> None:
    peak = np.abs(samples_of(PATTERNS[name]).astype(int)).max() / 32767

    assert 0.5 * PATTERNS[name].level < peak <= PATTERNS[name].level


def test_no_sample_jumps_so_that_no_loudspeaker_clicks() -> None:
    sound = samples_of(PATTERNS["top"]).astype(int)
    steepest = 0.5 * 32767 * PATTERNS["top"].level

    assert np.abs(np.diff(sound)).max() < steepest


def test_the_more_urgent_the_more_sound_and_the_higher_the_pitch() -> None:
    share = [np.mean(samples_of(PATTERNS[name]) != 0) for name in PRIORITIES]
    pitch = [max(PATTERNS[name].pitch_hz) for name in PRIORITIES]

    assert share == sorted(share, reverse=True)
    assert pitch == sorted(pitch, reverse=True)
