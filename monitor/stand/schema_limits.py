"""What may stand in the table of a limit, kind by kind."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from monitor.alarms.plan import Priority
from monitor.limits.plan import Kind
from monitor.stand.schema import AlarmBase, AlarmTable, Name, Seconds, Span

#: A number in the unit of what is compared, or a text such as ``"2 %"``.
Deadband = Annotated[float, Meta(ge=0)] | Annotated[str, Meta(max_length=40)]
#: (time in seconds, value).
Points = list[tuple[float, float]]


class WatchTable(AlarmBase, frozen=True, kw_only=True):
    """A limit that looks at values, its own delay aside."""

    priority: Priority
    on_bad: Literal["hold", "raise"] | None = None
    bridge_s: Seconds | None = None
    time_to_respond_s: Span | None = None


class DelayedTable(WatchTable, frozen=True, kw_only=True):
    """A limit that waits for some time, or for some samples."""

    on_delay_s: Seconds | None = None
    n_of_m: tuple[int, int] | None = None


class SetpointTable(DelayedTable, frozen=True, kw_only=True):
    """A limit with a setpoint of its own."""

    setpoint: float
    setpoint_in: dict[str, float] = msgspec.field(default_factory=dict)
    deadband: Deadband | None = None
    arm_by_s: Span | None = None


class LimitTable(SetpointTable, frozen=True, kw_only=True):
    """``high_high``, ``high``, ``low``, ``low_low``: the value itself."""


class RateTable(SetpointTable, frozen=True, kw_only=True):
    """``rate_of_rise``, ``rate_of_fall``: how fast it moves; the setpoint is positive."""

    per: Literal["s", "min", "h"]
    window_s: Span


class DeviationTable(SetpointTable, frozen=True, kw_only=True, rename={"origin": "from"}):
    """``deviation``: distance from a number, another channel, or a profile over the phase."""

    origin: float | Name | None = None
    profile: Points | None = None
    largest_skew_s: Span | None = None


class DisagreementTable(SetpointTable, frozen=True, kw_only=True):
    """``disagreement``: spread of the sensors of a voted channel."""


class BudgetTable(SetpointTable, frozen=True, kw_only=True):
    """``budget``: how much more than planned at this time of the run."""

    plan: Points


class StateTable(DelayedTable, frozen=True, kw_only=True, rename={"state": "is"}):
    """``state``: a discrete channel is in a state in which it must not be."""

    state: float


class TimeToTable(DelayedTable, frozen=True, kw_only=True):
    """``time_to_limit``: how soon another limit, or a number, will be reached."""

    reaches: float | Name
    toward: Literal["up", "down"] | None = None
    within_s: Span
    window_s: Span
    confidence: Annotated[float, Meta(ge=0.5, lt=1)] = 0.9
    deadband: Annotated[float, Meta(ge=0)] = 0.0


class StuckTable(WatchTable, frozen=True, kw_only=True):
    """``stuck``: no change by more than *band* for so long."""

    for_s: Span
    band: Annotated[float, Meta(ge=0)] = 0.0


class AfterTable(WatchTable, frozen=True, kw_only=True):
    """``late``, ``missed``: a periodic event that has not begun for so long."""

    after_s: Span


class LongestTable(WatchTable, frozen=True, kw_only=True):
    """``overlong``: a discrete channel that is on for longer than this."""

    longest_s: Span


class ExpectedTable(WatchTable, frozen=True, kw_only=True):
    """``expected``: what has to come, above or below a number, where it is watched."""

    above: float | None = None
    below: float | None = None
    within_s: Span


#: The table of each kind that a channel may have.
TABLES: dict[Kind, type[AlarmBase]] = {
    Kind.HIGH_HIGH: LimitTable,
    Kind.HIGH: LimitTable,
    Kind.LOW: LimitTable,
    Kind.LOW_LOW: LimitTable,
    Kind.RATE_OF_RISE: RateTable,
    Kind.RATE_OF_FALL: RateTable,
    Kind.DEVIATION: DeviationTable,
    Kind.DISAGREEMENT: DisagreementTable,
    Kind.STATE: StateTable,
    Kind.TIME_TO_LIMIT: TimeToTable,
    Kind.BUDGET: BudgetTable,
    Kind.STUCK: StuckTable,
    Kind.LATE: AfterTable,
    Kind.MISSED: AfterTable,
    Kind.OVERLONG: LongestTable,
    Kind.EXPECTED: ExpectedTable,
    Kind.STALE: AlarmTable,
    Kind.FAULT: AlarmTable,
}
#: Tables of limits that look at the channel as it is measured, whatever its filter.
AS_MEASURED = (StateTable, StuckTable, AfterTable, LongestTable)
