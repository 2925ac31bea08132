"""What the alarm figures are. Times in ns; a share of nothing is None."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.figures.rates import Flood


@dataclass(frozen=True, slots=True)
class AlarmCount:
    """How often something was so of one alarm."""

    subject: str
    count: int


@dataclass(frozen=True, slots=True)
class PriorityCount:
    """Activations of one priority, and their share of all."""

    priority: str
    activations: int
    share: float | None


@dataclass(frozen=True, slots=True)
class StandingAlarm:
    """An alarm that was shown for a time.

    Attributes:
        run: Name of the run.
        subject: The alarm's id.
        priority: Its priority.
        since_ns: Since when.
        lasted_ns: How long, within what is looked at.
        is_over: Whether it ended; else it was so to the end.
    """

    run: str
    subject: str
    priority: str
    since_ns: int
    lasted_ns: int
    is_over: bool


@dataclass(frozen=True, slots=True)
class Load:
    """How many alarms were shown.

    Attributes:
        activations: All; an alarm shown anew while it stood is not among them.
        realarms: Alarms shown anew while they stood.
        per_10_min: Activations in 10 min on average; None where no time went by, as the next.
        per_hour: In an hour.
        per_day: In a day.
        bins: Bins of 10 min from the start, the last of which may be shorter.
        bins_above: Bins with more than ten activations.
        share_above: Their share.
        most_in_bin: Activations in the fullest bin.
        most_in_window: Activations in the fullest 10 min wherever they begin.
    """

    activations: int
    realarms: int
    per_10_min: float | None
    per_hour: float | None
    per_day: float | None
    bins: int
    bins_above: int
    share_above: float | None
    most_in_bin: int
    most_in_window: int


@dataclass(frozen=True, slots=True)
class Floods:
    """Periods with more alarms than people can follow; how long in all, and of all time."""

    periods: tuple[Flood, ...]
    lasted_ns: int
    share: float | None


@dataclass(frozen=True, slots=True)
class Frequent:
    """The alarms that came most often.

    Attributes:
        ten: The ten most frequent, those of one count by id.
        share: Their share of all activations.
        different: How many different alarms were shown.
    """

    ten: tuple[AlarmCount, ...]
    share: float | None
    different: int


@dataclass(frozen=True, slots=True)
class Nuisance:
    """Alarms that tell nothing new.

    Attributes:
        chattering: Alarms that came three times or more in a minute, with how many of their
            activations did.
        fleeting: Alarms that went away within 10 s and nobody had answered, with how often.
        stale: Alarms annunciated for more than 24 h without a break.
        stale_on_worst_day: How many different ones were so on the day that had most of them;
            days are counted from the start.
    """

    chattering: tuple[AlarmCount, ...]
    fleeting: tuple[AlarmCount, ...]
    stale: tuple[StandingAlarm, ...]
    stale_on_worst_day: int


@dataclass(frozen=True, slots=True)
class Standing:
    """Alarms that were shown and whose condition stood.

    Attributes:
        at_end: Those that stood at the end, the longest first.
        longest: The one that stood longest without a break; None when none did.
        lasted_ns: How long all of them stood, added up.
    """

    at_end: tuple[StandingAlarm, ...]
    longest: StandingAlarm | None
    lasted_ns: int


@dataclass(frozen=True, slots=True)
class Answers:
    """How people answered.

    Attributes:
        acknowledged: How often an alarm that was shown was acknowledged.
        median_ns: Middle of the times from showing to acknowledging; of an even number, half
            way between the middle two.
        longest_ns: The longest of them.
        waiting_at_end: Alarms that were shown and not acknowledged at the end.
    """

    acknowledged: int
    median_ns: int | None
    longest_ns: int | None
    waiting_at_end: int


@dataclass(frozen=True, slots=True)
class Inhibited:
    """How often alarms were kept from being shown.

    Attributes:
        shelved: Shelves.
        out_of_service: Takings out of service.
        suppressed: Alarms that a suppression by design hid.
        hidden: Alarms that came while they were inhibited.
    """

    shelved: int
    out_of_service: int
    suppressed: int
    hidden: int


@dataclass(frozen=True, slots=True)
class Figures:
    """The alarm figures of one or several stretches of time.

    Attributes:
        name: Of the run or the phase; empty for all together.
        stretches: How many.
        lasted_ns: How long they lasted, added up.
        load: See the class, as for the others.
        priorities: From top to low.
    """

    name: str
    stretches: int
    lasted_ns: int
    load: Load
    floods: Floods
    priorities: tuple[PriorityCount, ...]
    frequent: Frequent
    nuisance: Nuisance
    standing: Standing
    answers: Answers
    inhibited: Inhibited
