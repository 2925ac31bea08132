"""The limit for which something is suggested, and what is known of it from the stand."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass

from monitor.alarms.plan import Alarm, Priority
from monitor.channels.plan import Filtered
from monitor.errors import MonitorError, UnitError, did_you_mean
from monitor.limits.plan import FLAG_KINDS, Kind, Limit
from monitor.pipeline import Plan
from monitor.rehearse.choices import NO_SIEVE, Choice, Sieve
from monitor.stand.limit_values import STARTING_POINTS, UPWARDS, StartingPoint
from monitor.stand.model import Stand
from monitor.units import convert, parse_unit

#: A unit of each type of signal; a level can have any.
_TYPICAL = {"flow": ("kg/h", "L/min"), "pressure": ("kPa",), "temperature": ("K",)}
_NS_PER_S = 1_000_000_000


class SuggestError(MonitorError):
    """Nothing can be suggested for this limit; the text says why."""


@dataclass(frozen=True, slots=True)
class Subject:
    """The limit for which something is suggested.

    Attributes:
        limit: The limit, as the new stand has it.
        alarm: What it means.
        tag: Tag of the column that is followed: in front of the filter, if there is one.
        column: That column.
        sieve: The filter that it has.
        unit: Unit of what is compared.
        span: Range of the channel; 0 where the limit looks at a figure made of it.
        published: Published starting point; None where the type of the signal is not known.
        respond_ns: Time that a person has, less the sensor's own; infinite where not stated.
        shares: Other limits that look through the same filter.
    """

    limit: Limit
    alarm: Alarm
    tag: str
    column: int
    sieve: Sieve
    unit: str
    span: float
    published: StartingPoint | None
    respond_ns: float
    shares: tuple[str, ...]

    @property
    def may_filter(self) -> bool:
        """Whether a filter of its channel is one of what it compares."""
        return self.span > 0

    @property
    def may_delay(self) -> bool:
        """An alarm of top priority is never told to wait."""
        return self.alarm.priority is not Priority.TOP

    @property
    def present(self) -> Choice:
        """How it is set up."""
        limit = self.limit
        return Choice(limit.deadband, self.sieve, limit.on_delay_ns, limit.n_of_m)


def subject_of(stand: Stand, limit_id: str) -> Subject:
    """Find a limit in a stand.

    Raises:
        SuggestError: There is none of that name, or it compares nothing that has noise.
    """
    plan = stand.plan
    limit, alarm = _limit_of(plan, limit_id)
    filters = {plan.channels.column[row.tag]: row for row in plan.channels.filtered}
    filtered = filters.get(limit.column)
    tags = {column: tag for tag, column in plan.channels.column.items()}
    tag = filtered.source if filtered else tags[limit.column]
    entry = next((row for row in stand.channels if row.tag == alarm.tag), None)
    is_value = limit.kind in UPWARDS and entry is not None
    shares = [row.id for row in plan.limits if filtered and row.column == limit.column]
    unit = alarm.unit or (entry.unit if entry else "")
    return Subject(
        limit=limit,
        alarm=alarm,
        tag=tag,
        column=plan.channels.column[tag],
        sieve=_sieve(filtered),
        unit=unit,
        span=entry.high - entry.low if entry and is_value else 0.0,
        published=_published(stand, alarm.tag, unit) if is_value else None,
        respond_ns=_room_ns(stand, limit_id),
        shares=tuple(each for each in shares if each != limit_id),
    )


def _limit_of(plan: Plan, limit_id: str) -> tuple[Limit, Alarm]:
    """Give a limit with its alarm; refuse one that compares nothing that has noise."""
    ids = [limit.id for limit in plan.limits]
    if limit_id not in ids:
        near = did_you_mean(limit_id, ids)
        raise SuggestError(f"no limit {limit_id!r} in the new stand{near}")
    position = ids.index(limit_id)
    limit = plan.limits[position]
    if not limit.compares or limit.kind in FLAG_KINDS or limit.kind is Kind.EXPECTED:
        raise SuggestError(f"{limit_id} compares no value that could be noisy")
    return limit, plan.alarms.alarms[position]


def _sieve(row: Filtered | None) -> Sieve:
    """Give the settings of a filter."""
    return Sieve(row.median_of, row.lag_ns, row.mean_ns) if row else NO_SIEVE


def _published(stand: Stand, tag: str, unit: str) -> StartingPoint | None:
    """Give the starting point for the type of a signal: as stated, else by its unit."""
    table = tomllib.loads(stand.text).get("channels", {}).get(tag, {})
    stated = table.get("signal_type")
    if stated is not None:
        return STARTING_POINTS.get(stated)
    return next((STARTING_POINTS[name] for name in _TYPICAL if _is_of(unit, name)), None)


def _is_of(unit: str, name: str) -> bool:
    """Whether a unit measures what signals of a type measure."""
    for typical in _TYPICAL[name]:
        try:
            convert(parse_unit(unit or "1"), parse_unit(typical))
        except UnitError:
            continue
        return True
    return False


def _room_ns(stand: Stand, limit_id: str) -> float:
    """Give how late an alarm may be at most, its sensor taken off."""
    for row in stand.limit_times:
        if row.id == limit_id and row.respond_s is not None:
            return (row.respond_s - row.sensor_s) * _NS_PER_S
    return math.inf
