"""What may stand in a stand file, table by table."""

from __future__ import annotations

import datetime
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

from monitor.alarms.plan import Priority

#: Longest time that a stand file may state, in seconds: ten days.
LONGEST_S = 864_000

Line = Annotated[str, Meta(max_length=200)]
Text = Annotated[str, Meta(max_length=4000)]
Name = Annotated[str, Meta(min_length=1, max_length=120)]
Seconds = Annotated[float, Meta(ge=0, le=LONGEST_S)]
Span = Annotated[float, Meta(gt=0, le=LONGEST_S)]


class Table(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A table that allows no other keys than its own."""


class StandTable(Table, frozen=True):
    """``[stand]``."""

    name: Name
    title: Line = ""
    lag_s: float = 0.1


class ChartTable(Table, frozen=True):
    """``[[charts]]``."""

    tags: list[Name]
    title: Line = ""


class AlarmBase(Table, frozen=True, kw_only=True):
    """What every alarm has, whatever it looks at."""

    priority: Priority | None = None
    off_delay_s: Seconds | None = None
    message: Line = ""
    response: Text = ""
    latch: bool = False
    suppressed_in: list[Name] = []
    suppressed_by: list[Name] = []
    watched_in: list[Name] = []
    realarm_s: Span | None = None
    clears_by_itself: bool = False
    first_out: Line = ""
    safety: bool | None = None


class AlarmTable(AlarmBase, frozen=True, kw_only=True):
    """An alarm with an on-delay; alone: of a lost link, a stale or a faulty sensor."""

    on_delay_s: Seconds | None = None


class LinearTable(Table, frozen=True, tag_field="kind", tag="linear"):
    """``value = gain * raw + offset``."""

    gain: float = 1.0
    offset: float = 0.0


class PolynomialTable(Table, frozen=True, tag_field="kind", tag="polynomial"):
    """``value = c[0] + c[1] * raw + ...``."""

    coefficients: list[float]


class CurrentLoopTable(
    Table,
    frozen=True,
    tag_field="kind",
    tag="current_loop",
    rename={"at_4ma": "at_4mA", "at_20ma": "at_20mA"},
):
    """4-20 mA."""

    at_4ma: float
    at_20ma: float


class PlatinumTable(Table, frozen=True, tag_field="kind", tag="pt100"):
    """Platinum thermometer."""

    r0_ohm: Annotated[float, Meta(gt=0)] = 100.0


class ThermocoupleTable(
    Table,
    frozen=True,
    tag_field="kind",
    tag="type_k",
    rename={"cold_junction_degc": "cold_junction_degC"},
):
    """Thermocouple of type K."""

    cold_junction_degc: Annotated[float, Meta(ge=-50, le=150)] | None = None
    cold_junction: Name | None = None


Conversion = (
    LinearTable | PolynomialTable | CurrentLoopTable | PlatinumTable | ThermocoupleTable
)


class FilterTable(Table, frozen=True):
    """What limits look at instead of the channel's value: one of the three."""

    median_of: int | None = None
    lag_s: Span | None = None
    mean_s: Span | None = None


class CalibrationTable(Table, frozen=True):
    """When and by whom a sensor was calibrated, and until when that holds."""

    date: datetime.date
    due: datetime.date
    by: Line = ""


class InputTable(Table, frozen=True):
    """An input of a formula, taken in another unit than the channel's own."""

    tag: Name
    unit: Name


class ChannelTable(Table, frozen=True):
    """``[channels.TAG]``; each of its limits is decoded apart, by its kind."""

    signal_type: Literal["flow", "level", "pressure", "temperature"] | None = None

    title: Line = ""
    unit: str | None = None
    range: tuple[float, float] | None = None
    span: tuple[float, float] | None = None
    decimals: Annotated[int, Meta(ge=0, le=9)] | None = None
    group: Line = ""
    period_s: Span | None = None
    time_constant_s: Seconds = 0.0
    filter: FilterTable | None = None
    # Measured:
    source: Name | None = None
    convert: Conversion | None = None
    stale_after_s: Span | None = None
    calibration: CalibrationTable | None = None
    # Computed:
    formula: Text | None = None
    inputs: dict[str, str | InputTable] = {}
    constants: dict[str, str] = {}
    clock: Name | None = None
    # Voted:
    vote: list[Name] | None = None
    needed: Annotated[int, Meta(ge=1)] | None = None
    # Computed and voted:
    largest_skew_s: Span | None = None
    limits: dict[str, Any] = {}


#: Keys that belong to one sort of channel, by the key that tells the sort.
SORT_KEYS = {
    "source": ("source", "convert", "range", "stale_after_s", "calibration"),
    "formula": ("formula", "inputs", "constants", "clock", "largest_skew_s"),
    "vote": ("vote", "needed", "largest_skew_s"),
}
