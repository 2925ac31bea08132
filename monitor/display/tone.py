"""Sounds the alarm tone on whatever sound device there is. None is never an error."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Generator
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from monitor.display.state.waves import PATTERNS, RATE_HZ, samples_of

#: Without a device, look for one again after this long, in s.
_LOOK_AGAIN_S = 30.0
_BUFFER_MS = 80

Sound = NDArray[np.int16]


class Device(Protocol):
    """An open sound device."""

    def start(self, frames: Generator[Sound, int, None]) -> None:
        """Begin to fetch frames."""

    def close(self) -> None:
        """Give the device back."""


class NoSoundError(Exception):
    """There is no sound device; the text says what was tried."""


def open_device() -> Device:
    """Open the machine's sound device.

    Raises:
        NoSoundError: There is none; fall back to the window system's beep.
    """
    import miniaudio  # Imported late: it loads a library of the system.

    names = usable_backends(sys.platform, any(Path("/dev/snd").glob("pcm*p")))
    backends = [one for one in miniaudio.Backend if one.name in names]
    try:
        device: Device = miniaudio.PlaybackDevice(
            output_format=miniaudio.SampleFormat.SIGNED16,
            nchannels=1,
            sample_rate=RATE_HZ,
            buffersize_msec=_BUFFER_MS,
            backends=backends,
            app_name="standwatch",
        )
    except miniaudio.MiniaudioError as error:
        raise NoSoundError(f"no sound device: {error.args[0]}") from error
    return device


def usable_backends(platform: str, has_sound_card: bool) -> tuple[str, ...]:
    """Choose the ways to a sound device on *platform*, never the one that only pretends.

    On Linux without a card only a sound server can help, and asking ALSA all the same would
    fill the terminal with its complaints.
    """
    if platform.startswith("linux"):
        return ("PULSEAUDIO", "ALSA") if has_sound_card else ("PULSEAUDIO",)
    if platform == "darwin":
        return ("COREAUDIO",)
    return ("WASAPI", "DSOUND", "WINMM", "SNDIO", "AUDIO4", "OSS")


class Player:
    """Gives frames of the pattern that is to sound now; silence otherwise."""

    def __init__(self) -> None:
        self._sounds = {name: samples_of(pattern) for name, pattern in PATTERNS.items()}
        self._priority = ""
        self._at = 0

    def play(self, priority: str) -> None:
        """Sound *priority* from its beginning; empty: silence, at once."""
        if priority != self._priority:
            self._at = 0
            self._priority = priority

    def frames(self, count: int) -> Sound:
        """Give the next *count* samples."""
        sound = self._sounds.get(self._priority)
        if sound is None:
            return np.zeros(count, np.int16)
        places = (self._at + np.arange(count)) % sound.size
        self._at = (self._at + count) % sound.size
        return sound[places]

    def generator(self) -> Generator[Sound, int, None]:
        """Serve a device, which sends how many samples it wants next."""
        count = yield np.zeros(0, np.int16)
        while True:
            count = yield self.frames(count)


class Tone:
    """Keeps a sound device in a thread of its own, so that opening it never stops the window.

    Args:
        opener: Opens the device; replaced in tests.

    Attributes:
        trouble: Why there is no sound device; empty while there is one or none was needed.
    """

    def __init__(self, opener: Callable[[], Device] = open_device) -> None:
        """Prepare; the device is opened with the first sound."""
        self.player = Player()
        self.trouble = ""
        self._opener = opener
        self._wake = threading.Condition()
        self._priority = ""
        self._is_stopping = False
        self._beeped_s = float("-inf")
        self._thread = threading.Thread(target=self._run, name="tone", daemon=True)
        self._thread.start()

    def sound(self, priority: str) -> None:
        """Sound this priority from now on; empty stops at once. Cheap to repeat."""
        self.player.play(priority)
        if priority == self._priority:
            return
        with self._wake:
            self._priority = priority
            self._wake.notify()

    def is_beep_due(self, mono_s: float) -> bool:
        """Tell whether to beep now for want of a device; counts on being asked often."""
        pattern = PATTERNS.get(self._priority)
        if not self.trouble or pattern is None:
            return False
        if mono_s - self._beeped_s < pattern.every_s:
            return False
        self._beeped_s = mono_s
        return True

    def stop(self) -> None:
        """Fall silent and give the device back."""
        self.player.play("")
        with self._wake:
            self._is_stopping = True
            self._wake.notify()
        self._thread.join(timeout=5.0)

    def _run(self) -> None:
        """Be the thread: open a device with the first sound; look again if there is none."""
        while not self._wait(lambda: bool(self._priority), None):
            device = self._try_open()
            if device is None:
                self._wait(lambda: False, _LOOK_AGAIN_S)
                continue
            self._wait(lambda: False, None)
            device.close()

    def _wait(self, until: Callable[[], bool], timeout_s: float | None) -> bool:
        """Wait for a reason to go on; tell whether that is the end."""
        with self._wake:
            self._wake.wait_for(lambda: self._is_stopping or until(), timeout_s)
            return self._is_stopping

    def _try_open(self) -> Device | None:
        """Open the device, or note why not."""
        try:
            device = self._opener()
        except NoSoundError as error:
            self.trouble = str(error)
            return None
        frames = self.player.generator()
        next(frames)
        device.start(frames)
        self.trouble = ""
        return device
