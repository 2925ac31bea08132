"""What the channel stage needs to know: compiled from a stand file, checked there."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

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


class Take(StrEnum):
    """What a vote gives."""

    #: The voted value: the middle one of three, the mean of two, the only one.
    VALUE = "value"
    #: What a limit on the high side looks at: enough sensors are at least so high.
    UPPER = "upper"
    #: What a limit on the low side looks at.
    LOWER = "lower"
    #: Highest minus lowest.
    SPREAD = "spread"


@dataclass(frozen=True, slots=True)
class Voted:
    """A channel out of redundant ones; a row for each instant at which one of them has one.

    An input votes while it is not bad, not forced by hand and not older than the largest skew.
    With all there, *needed* of them decide. Of three with one lost, one of two decides; a last
    one decides alone and the result is uncertain; with none the result is bad. A spread of
    fewer than two is bad.

    Attributes:
        tag: Instrument tag of the voted value; with ``~upper``, ``~lower``, ``~spread`` behind
            it for the hidden ones.
        inputs: Tags of two or three channels of one unit.
        needed: How many must be beyond a limit: 2 of 3, 1 of 2 or 2 of 2.
        largest_skew_ns: A held input older than this does not vote.
        take: What of it.
    """

    tag: str
    inputs: tuple[str, ...]
    needed: int
    largest_skew_ns: int
    take: Take = Take.VALUE


@dataclass(frozen=True, slots=True)
class Filtered:
    """A hidden channel that only limits look at. Exactly one of the filters is set.

    Attributes:
        tag: Hidden tag, the source's tag with ``~filter`` behind it.
        source: Tag of the measured or computed channel.
        median_of: Window length in samples, odd; 0 when unused.
        lag_ns: Time constant of a first-order lag; 0 when unused.
        mean_ns: Window of a moving average, (t - window, t]; 0 when unused.
    """

    tag: str
    source: str
    median_of: int = 0
    lag_ns: int = 0
    mean_ns: int = 0


@dataclass(frozen=True, slots=True)
class Slope:
    """Slope of a least-squares line over (t - window, t], on the rows of its source.

    Never over held values; FILLING until 80 % of the window is covered; afresh after a bad row.

    Attributes:
        tag: Hidden tag.
        source: Tag of a channel, filtered or not.
        window_ns: Length of the window.
        per_ns: The slope is in the source's unit in so long a time.
    """

    tag: str
    source: str
    window_ns: int
    per_ns: int


@dataclass(frozen=True, slots=True)
class TimeTo:
    """Time in seconds until a line through the last window reaches a bound.

    The line is the slowest one that is still likely: its slope is the least-squares slope less
    *confidence*'s one-sided quantile of Student's t times its standard error.
    :data:`NO_TREND_S` where that does not lead to the bound, 0 where the line has reached it.

    Attributes:
        tag: Hidden tag.
        source: Tag of a channel, filtered or not.
        window_ns: Length of the window.
        bound: What must not be reached, in the source's unit.
        is_upper: Whether the bound is reached from below.
        normal_quantile: One-sided quantile of the normal distribution for the confidence.
    """

    tag: str
    source: str
    window_ns: int
    bound: float
    is_upper: bool
    normal_quantile: float


#: What a time to a bound is where nothing leads there, in seconds: some thirty years.
NO_TREND_S = 1e9


@dataclass(frozen=True, slots=True)
class Unchanged:
    """1 while its source stays within *band* of where it last changed, 0 in a row that changes.

    The first row, and the first good one after a bad one, count as a change.
    """

    tag: str
    source: str
    band: float


@dataclass(frozen=True, slots=True)
class NoStart:
    """1 but in a row in which its source, a discrete channel, comes on (0.5 and above): 0.

    A first row that is on is a start. Bad rows stay bad; on behind them and off before is a
    start.
    """

    tag: str
    source: str


@dataclass(frozen=True, slots=True)
class OffProfile:
    """Its source less a profile over the time since the phase or the run began.

    Linear between the points, and the end values beyond them. Filled after the phases are
    known, so nothing that a phase waits for may look at it.

    Attributes:
        tag: Hidden tag.
        source: Tag of a channel, filtered or not.
        points: (time in ns, value), rising in time.
        is_over_run: Counts from the beginning of the run, not of the phase.
        is_absolute: Gives the distance without its sign.
    """

    tag: str
    source: str
    points: tuple[tuple[int, float], ...]
    is_over_run: bool = False
    is_absolute: bool = False


Derived = Slope | TimeTo | Unchanged | NoStart | OffProfile


@dataclass(frozen=True, slots=True)
class ChannelsPlan:
    """All channels in column order: measured, system, computed, filtered, derived.

    Computed ones come behind their inputs. Derived ones have the rows of their source, which
    is no derived one.
    """

    measured: tuple[Measured, ...]
    system: tuple[System, ...] = ()
    computed: tuple[Computed | Voted, ...] = ()
    filtered: tuple[Filtered, ...] = ()
    derived: tuple[Derived, ...] = ()
    column: dict[str, int] = field(init=False)

    def __post_init__(self) -> None:
        """Number the columns."""
        tags = [row.tag for row in self.measured]
        tags += [row.tag for row in self.system]
        tags += [row.tag for row in self.computed]
        tags += [row.tag for row in self.filtered]
        tags += [row.tag for row in self.derived]
        numbers = {tag: number for number, tag in enumerate(tags)}
        object.__setattr__(self, "column", numbers)
