"""Tests for monitor.display.tone.

Source: hand-worked here; that no device is never an error is the issue's rule.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Generator

import numpy as np
import pytest

from monitor.display.state.waves import PATTERNS, samples_of
from monitor.display.tone import NoSoundError, Player, Sound, Tone, open_device, usable_backends


class MemoryDevice:
    """A sound device that keeps what it is told."""

    def __init__(self) -> None:
        self.frames: Generator[Sound, int, None] | None = None
        self.is_closed = False

    def start(self, frames: Generator[Sound, int, None]) -> None:
        self.frames = frames

    def close(self) -> None:
        self.is_closed = True


def no_device() -> MemoryDevice:
    """Find no device."""
    raise NoSoundError("no sound device: none here")


def until(is_so: Callable[[], bool]) -> bool:
    """Wait a little for something to become so."""
    end = time.monotonic() + 5
    while time.monotonic() < end:
        if is_so():
            return True
        time.sleep(0.005)
    return False


def test_the_player_gives_the_pattern_again_and_again_in_whatever_pieces() -> None:
    player, whole = Player(), samples_of(PATTERNS["high"])
    player.play("high")

    given = np.concatenate([player.frames(size) for size in (1, 999, whole.size, 5000)])

    assert np.array_equal(given, np.resize(whole, given.size))


def test_silence_is_at_once_and_a_new_sound_begins_at_its_beginning() -> None:
    player = Player()
    player.play("top")
    player.frames(5000)
    player.play("")
    assert not player.frames(5000).any()

    player.play("top")

    assert np.array_equal(player.frames(3000), samples_of(PATTERNS["top"])[:3000])


def test_the_same_sound_again_does_not_begin_anew() -> None:
    player = Player()
    player.play("top")
    first = player.frames(3000)
    player.play("top")

    assert not np.array_equal(player.frames(3000), first)


def test_the_device_is_opened_with_the_first_sound_and_given_back() -> None:
    devices: list[MemoryDevice] = []

    def opener() -> MemoryDevice:
        devices.append(MemoryDevice())
        return devices[-1]

    tone = Tone(opener)
    assert devices == []
    tone.sound("top")
    assert until(lambda: bool(devices) and devices[0].frames is not None)
    frames = devices[0].frames
    assert frames is not None

    assert frames.send(20_000).any()
    tone.sound("")
    assert not frames.send(20_000).any()
    tone.sound("low")
    assert frames.send(20_000).any()
    tone.stop()

    assert len(devices) == 1
    assert devices[0].is_closed
    assert not frames.send(20_000).any()


def test_opening_a_slow_device_does_not_keep_the_window_waiting() -> None:
    go = threading.Event()

    def opener() -> MemoryDevice:
        go.wait(5)
        return MemoryDevice()

    tone = Tone(opener)
    started = time.monotonic()
    tone.sound("top")
    tone.sound("")
    took_s = time.monotonic() - started
    go.set()
    tone.stop()

    assert took_s < 1.0


def test_without_a_device_it_beeps_at_the_patterns_pace() -> None:
    tone = Tone(no_device)
    tone.sound("top")
    assert until(lambda: tone.trouble != "")

    beeps = [tone.is_beep_due(second) for second in (0.0, 0.5, 1.3, 1.4)]
    tone.sound("")
    silent = tone.is_beep_due(100.0)
    tone.stop()

    assert tone.trouble == "no sound device: none here"
    assert beeps == [True, False, True, False]
    assert not silent


def test_with_a_device_it_does_not_beep() -> None:
    tone = Tone(MemoryDevice)
    tone.sound("top")

    due = tone.is_beep_due(0.0)
    tone.stop()

    assert not due


@pytest.mark.parametrize(
    ("platform", "has_card", "expected"),
    [
        ("linux", True, ("PULSEAUDIO", "ALSA")),
        ("linux", False, ("PULSEAUDIO",)),
        ("darwin", False, ("COREAUDIO",)),
    ],
)
def test_only_ways_that_can_sound_are_tried(
    platform: str, has_card: bool, expected: tuple[str, ...]
) -> None:
    assert usable_backends(platform, has_card) == expected
    assert "NULL" not in usable_backends("win32", has_card)


def test_this_machine_has_a_device_or_says_plainly_that_it_has_none() -> None:
    said = "a device"
    try:
        open_device().close()
    except NoSoundError as error:
        said = str(error)

    assert said.startswith(("a device", "no sound device: "))
