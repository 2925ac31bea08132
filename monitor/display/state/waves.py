"""The sound of each priority: short pulses, more and higher the more urgent it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 44_100
_FULL = 32_767
#: Rise and fall of each pulse, in s, so that the loudspeaker does not click.
_EDGE_S = 0.01


@dataclass(frozen=True, slots=True)
class Pattern:
    """Pulses of one pitch (with an octave and a fifth above it), repeated for ever.

    Attributes:
        pitch_hz: Fundamental of each pulse, in turn.
        pulse_s: Length of a pulse.
        gap_s: Silence between pulses.
        every_s: Time from the start of one burst to the next.
        level: Loudness as a share of full scale.
    """

    pitch_hz: tuple[float, ...]
    pulse_s: float
    gap_s: float
    every_s: float
    level: float


#: From memory of common practice: urgency is told by pulse rate, number and pitch together,
#: fundamentals between 300 and 1000 Hz with overtones, so that ageing ears hear them too.
PATTERNS: dict[str, Pattern] = {
    "top": Pattern((784.0, 988.0, 784.0, 988.0), 0.14, 0.06, 1.2, 0.8),
    "high": Pattern((659.0, 784.0), 0.18, 0.10, 1.8, 0.6),
    "medium": Pattern((523.0, 523.0), 0.20, 0.15, 4.0, 0.45),
    "low": Pattern((392.0,), 0.25, 0.0, 10.0, 0.35),
}


def samples_of(pattern: Pattern) -> NDArray[np.int16]:
    """Make one whole repetition, 16-bit mono at :data:`RATE_HZ`."""
    sound = np.zeros(round(pattern.every_s * RATE_HZ))
    start = 0
    for pitch_hz in pattern.pitch_hz:
        pulse = _pulse(pitch_hz, pattern.pulse_s)
        sound[start : start + pulse.size] = pulse
        start += pulse.size + round(pattern.gap_s * RATE_HZ)
    return np.round(sound * pattern.level * _FULL).astype(np.int16)


def _pulse(pitch_hz: float, length_s: float) -> NDArray[np.float64]:
    """Make one pulse with soft edges, within -1 to 1."""
    t_s = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    turn = 2 * np.pi * pitch_hz * t_s
    tone = (np.sin(turn) + 0.5 * np.sin(2 * turn) + 0.3 * np.sin(3 * turn)) / 1.8
    edge = np.minimum(1.0, np.minimum(t_s, t_s[-1] - t_s) / _EDGE_S)
    return np.asarray(tone * edge, np.float64)
