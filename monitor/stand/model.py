"""A stand file, loaded and checked: what every other part of the product starts from."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import msgspec

from monitor.errors import Problem
from monitor.pipeline import Plan


@dataclass(frozen=True, slots=True)
class InstrumentEntry:
    """An instrument to start: its name, its kind in the registry and its decoded settings."""

    name: str
    kind: str
    settings: msgspec.Struct


@dataclass(frozen=True, slots=True)
class CalibrationEntry:
    """When a sensor was calibrated, until when that holds, and who did it."""

    date: datetime.date
    due: datetime.date
    by: str


@dataclass(frozen=True, slots=True)
class ChannelEntry:
    """A channel as people see it, in the order of the file (measured and computed mixed).

    *column* is its column in the grid; *low* and *high* are the span of its bar and chart.
    *instrument* and *signal* are empty for a computed channel, *formula* for a measured one.
    """

    tag: str
    title: str
    unit: str
    decimals: int
    low: float
    high: float
    group: str
    instrument: str
    formula: str
    column: int
    signal: str = ""
    calibration: CalibrationEntry | None = None


@dataclass(frozen=True, slots=True)
class PhaseEntry:
    """A phase of the test and what is normal in it.

    Attributes:
        name: Name in actions and events.
        title: Name for people.
        note: What is normal in it.
        sort: ``test``, ``hold`` or ``abort``.
        planned_s: How long it is planned to last; None where the file does not state it.
        longest_s: After so long what it suppresses is suppressed no more; None for never.
        is_quiet: Only alarms that matter to safety speak in it.
        automatic: What enters it by itself, in words; empty for a phase entered by hand only.
    """

    name: str
    title: str
    note: str
    sort: str = "test"
    planned_s: float | None = None
    longest_s: float | None = None
    is_quiet: bool = False
    automatic: str = ""


@dataclass(frozen=True, slots=True)
class ModeEntry:
    """A mode of the stand, apart from the phase."""

    name: str
    title: str
    note: str


@dataclass(frozen=True, slots=True)
class AbortEntry:
    """A criterion at which the test is broken off.

    Attributes:
        limit: Id of its limit, for example ``UA-901.abort``.
        title: What it is about.
        when: The condition, with the ids of limits in place of names.
        safe_state: What state of the rig it calls for.
        looks_at: Ids of the limits that it looks at, through other combinations too.
    """

    limit: str
    title: str
    when: str
    safe_state: str
    looks_at: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChartEntry:
    """A strip chart: channels of one unit on one axis."""

    title: str
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LimitTime:
    """How late a limit on a value is, at worst, in seconds.

    Attributes:
        id: The limit's id.
        sensor_s: Time constant of the sensor, as the file states it.
        filter_s: Delay of the alarm filter; None where the file leaves it open.
        delay_s: On-delay, or the time of the samples that are counted; None where open.
        respond_s: Time that a person has to respond; None where the file does not state it.
        window_s: Window over which a rate or a trend is formed; 0 without.
        figure: What is compared with what, in words: ``150 kPa``, ``2 kPa/min``, ``is 1``.
    """

    id: str
    sensor_s: float
    filter_s: float | None
    delay_s: float | None
    respond_s: float | None
    window_s: float = 0.0
    figure: str = ""


@dataclass(frozen=True, slots=True)
class Stand:
    """A stand. *text* is the file as it was read, *warnings* what check has to say.

    *lag_ns* is the longest span of a pack or a poll: how far W stays behind the clock.
    *limit_times* tells of each limit on a value how late it is. *modes* are empty where a stand
    has none.
    """

    name: str
    title: str
    lag_ns: int
    instruments: tuple[InstrumentEntry, ...]
    channels: tuple[ChannelEntry, ...]
    phases: tuple[PhaseEntry, ...]
    charts: tuple[ChartEntry, ...]
    plan: Plan
    text: str
    warnings: tuple[Problem, ...]
    limit_times: tuple[LimitTime, ...] = ()
    modes: tuple[ModeEntry, ...] = ()
    aborts: tuple[AbortEntry, ...] = ()
