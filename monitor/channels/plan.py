"""What the channel stage needs to know: compiled from a stand file, checked there."""

from __future__ import annotations

from dataclasses import dataclass, field

from monitor.channels.formula import Formula


@dataclass(frozen=True, slots=True)
class Linear:
    """``value = gain * raw + offset``."""

    gain: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Polynomial:
    """``value = c[0] + c[1] * raw + c[2] * raw**2 ...``, by Horner's rule."""

    coefficients: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class CurrentLoop:
    """4-20 mA, raw in mA. Fault bands and saturation after NAMUR NE 43.

    Attributes:
        at_4ma: Value at 4 mA, in the channel's unit.
        at_20ma: Value at 20 mA, in the channel's unit.
    """

    at_4ma: float
    at_20ma: float


@dataclass(frozen=True, slots=True)
class PlatinumRtd:
    """Platinum thermometer, raw in ohm, value in degC (IEC 60751)."""

    r0_ohm: float = 100.0


@dataclass(frozen=True, slots=True)
class ThermocoupleK:
    """Type K, raw in mV, value in degC (ITS-90).

    Attributes:
        cold_junction_degc: Fixed temperature of the cold junction, where no channel gives it.
        cold_junction_tag: Measured channel in degC that gives it; empty when fixed.
        largest_skew_ns: Age beyond which the cold junction's held value makes the result bad.
    """

    cold_junction_degc: float = 0.0
    cold_junction_tag: str = ""
    largest_skew_ns: int = 10_000_000_000


Conversion = Linear | Polynomial | CurrentLoop | PlatinumRtd | ThermocoupleK


@dataclass(frozen=True, slots=True)
class Measured:
    """A channel read from an instrument.

    Attributes:
        tag: Instrument tag, for example ``PT-101``.
        instrument: Name of the instrument in the stand file.
        signal: Name of the raw number within it.
        conversion: Raw to the channel's unit.
        stale_after_ns: Without a reading for longer than this the value is stale.
        low: Lowest value the sensor can give, in the channel's unit; below it is out of range.
        high: Highest value the sensor can give.
        is_calibration_overdue: Whether every good value is uncertain for that reason.
    """

    tag: str
    instrument: str
    signal: str
    conversion: Conversion
    stale_after_ns: int
    low: float = float("-inf")
    high: float = float("inf")
    is_calibration_overdue: bool = False


@dataclass(frozen=True, slots=True)
class System:
    """A channel of 0 and 1 that controls write: 1 while something is wrong.

    Tags are ``link:<instrument>`` (1 while the link is down) and ``host:recording``
    (1 while nothing can be written).
    """

    tag: str


@dataclass(frozen=True, slots=True)
class Computed:
    """A channel computed by formula on the clock of one input, the others held.

    Attributes:
        tag: Instrument tag of the result.
        formula: Compiled expression over the names in *inputs*.
        inputs: (name in the formula, tag), every name the formula uses.
        clock: The tag among *inputs* whose rows the result follows.
        largest_skew_ns: Held inputs older than this make the result bad.
    """

    tag: str
    formula: Formula
    inputs: tuple[tuple[str, str], ...]
    clock: str
    largest_skew_ns: int


@dataclass(frozen=True, slots=True)
class Filtered:
    """A hidden channel that only limits look at. Exactly one of the two filters is set.

    Attributes:
        tag: Hidden tag, the source's tag with ``~filter`` behind it.
        source: Tag of the measured or computed channel.
        median_of: Window length in samples, odd; 0 when unused.
        lag_ns: Time constant of a first-order lag; 0 when unused.
    """

    tag: str
    source: str
    median_of: int = 0
    lag_ns: int = 0


@dataclass(frozen=True, slots=True)
class ChannelsPlan:
    """All channels in column order: measured, system, computed (inputs first), filtered."""

    measured: tuple[Measured, ...]
    system: tuple[System, ...] = ()
    computed: tuple[Computed, ...] = ()
    filtered: tuple[Filtered, ...] = ()
    column: dict[str, int] = field(init=False)

    def __post_init__(self) -> None:
        """Number the columns."""
        tags = [row.tag for row in self.measured]
        tags += [row.tag for row in self.system]
        tags += [row.tag for row in self.computed]
        tags += [row.tag for row in self.filtered]
        numbers = {tag: number for number, tag in enumerate(tags)}
        object.__setattr__(self, "column", numbers)
