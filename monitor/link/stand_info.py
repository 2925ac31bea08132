"""A stand as its displays need it: the parts of a snapshot that do not change in a run."""

from __future__ import annotations

import msgspec


class LimitInfo(msgspec.Struct, frozen=True, omit_defaults=True):
    """A limit and its alarm, for people. Kinds and priorities are the words of the stand file.

    Attributes:
        id: ``<tag>.<kind>``.
        kind: What it looks at.
        priority: How urgent its alarm is.
        message: One line, what is wrong.
        response: What to do about it.
        setpoint: As the stand file has it; None for kinds that compare nothing a person knows.
        setpoint_in: Setpoint in phases and modes where it differs.
        deadband: In the unit of what is compared.
        on_delay_s: How long the condition must hold.
        off_delay_s: How long the return must hold.
        is_latching: Stays until reset after the condition is gone.
        suppressed_in: Phases and modes in which it is suppressed by design.
        unit: Unit of what is compared where it is not the channel's (a rate, a time).
        watched_in: Phases and modes in which it is watched; empty for always.
        suppressed_by: Ids of the alarms whose consequence it is.
        realarm_s: Acknowledged and standing for so long, it is annunciated anew; 0 for never.
        group: First-out group; empty for none.
        safe_state: The safe state that this abort criterion calls for; empty for others.
        n_of_m: (n, m): n of the last m samples must be beyond; (0, 0) where a delay is used.
        is_arming: It sleeps until its value was once inside the band.
    """

    id: str
    kind: str
    priority: str
    message: str
    response: str
    setpoint: float | None
    setpoint_in: dict[str, float]
    deadband: float
    on_delay_s: float
    off_delay_s: float
    is_latching: bool
    suppressed_in: list[str]
    unit: str = ""
    watched_in: list[str] = []
    suppressed_by: list[str] = []
    realarm_s: float = 0.0
    group: str = ""
    safe_state: str = ""
    n_of_m: tuple[int, int] = (0, 0)
    is_arming: bool = False


class ChannelInfo(msgspec.Struct, frozen=True):
    """A channel, for people. *low* and *high* are the span of its bar and chart."""

    tag: str
    title: str
    unit: str
    decimals: int
    low: float
    high: float
    group: str
    instrument: str
    formula: str
    limits: list[LimitInfo]


class PhaseInfo(msgspec.Struct, frozen=True):
    """A phase of the test.

    Attributes:
        name: Word of the stand file.
        title: For people.
        note: What is normal in it.
        sort: ``test``, ``hold`` or ``abort``.
        planned_s: How long it is meant to last; 0 where nobody said.
        longest_s: How long it may last before that is an alarm; 0 for no bound.
        is_quiet: Only alarms that concern safety speak in it.
        entry: What enters it by itself, in words; empty where only a person does.
    """

    name: str
    title: str
    note: str
    sort: str = "test"
    planned_s: float = 0.0
    longest_s: float = 0.0
    is_quiet: bool = False
    entry: str = ""


class ModeInfo(msgspec.Struct, frozen=True):
    """A mode beside the phase. *note* says what differs in it."""

    name: str
    title: str
    note: str


class AbortInfo(msgspec.Struct, frozen=True):
    """An abort criterion.

    Attributes:
        limit: Id of its limit.
        title: For people.
        when: What must stand together, in ids of limits.
        inputs: Those ids.
        safe_state: What it calls for.
    """

    limit: str
    title: str
    when: str
    inputs: list[str]
    safe_state: str


class ChartInfo(msgspec.Struct, frozen=True):
    """A strip chart: channels of one unit on one axis."""

    title: str
    tags: list[str]


class StandInfo(msgspec.Struct, frozen=True):
    """The stand as a display needs it. Values come in the order of *channels*.

    *system_limits* are the alarms that belong to no channel (links, recording, combinations).
    The first of *phases* and of *modes* start; a stand may have no modes.
    """

    name: str
    title: str
    channels: list[ChannelInfo]
    phases: list[PhaseInfo]
    charts: list[ChartInfo]
    instruments: list[str]
    system_limits: list[LimitInfo]
    lag_s: float
    modes: list[ModeInfo] = []
    aborts: list[AbortInfo] = []
    #: Limits that take two names to edit, and tags that take two to force: an alarm of top
    #: priority goes by them.
    behind_top: list[str] = []
