"""A stand file, loaded and checked: what every other part of the product starts from."""

from __future__ import annotations

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
class ChannelEntry:
    """A channel as people see it, in the order of the file (measured and computed mixed).

    *column* is its column in the grid; *low* and *high* are the span of its bar and chart.
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


@dataclass(frozen=True, slots=True)
class PhaseEntry:
    """A phase of the test and what is normal in it."""

    name: str
    title: str
    note: str


@dataclass(frozen=True, slots=True)
class ChartEntry:
    """A strip chart: channels of one unit on one axis."""

    title: str
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stand:
    """A stand. *text* is the file as it was read, *warnings* what check has to say.

    *lag_ns* is the longest span of a pack or a poll: how far W stays behind the clock.
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
