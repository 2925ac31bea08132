"""The alarm figures beside their targets, each with whether it is met.

A target is for one person's console over at least 30 days; over less it is an indication.

Source:
    ANSI/ISA-18.2-2016, 16.4 and Tables 5 and 6, and EEMUA 191, by secondary texts. The figures
    for a day were in the edition of 2009; they are the ones for an hour times 24.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from monitor.alarms.plan import Priority
from monitor.figures.figures import Figures, Floods, Frequent, Load, Nuisance, PriorityCount
from monitor.figures.rates import FLOOD_ABOVE, NS_PER_S

#: Over less than this, figures are an indication.
ENOUGH_NS = 30 * 24 * 3600 * NS_PER_S
_DAY_NS = 24 * 3600 * NS_PER_S
#: Below this many activations one more or less moves a share by more than 5 %: our choice.
_FEW = 20
_MOST_FREQUENT = 10
#: To which side each share is bounded is our reading: urgent alarms are to be rare.
_PRIORITY_TARGETS: dict[str, str] = {
    Priority.TOP: "below 1 %",
    Priority.HIGH: "about 5 %, not more",
    Priority.MEDIUM: "about 15 %, not more",
    Priority.LOW: "about 80 %, not less",
}


class Verdict(StrEnum):
    """Whether a figure meets its target."""

    MET = "met"
    MANAGEABLE = "over, manageable"
    MISSED = "NOT MET"
    FEW = "too few to say"
    UNKNOWABLE = "cannot be known"


@dataclass(frozen=True, slots=True)
class Row:
    """One figure.

    Attributes:
        figure: What it is.
        value: The number; None where there is none. Shares from 0 to 1.
        text: The same for a person.
        target: What it should be.
        verdict: Whether it is.
        note: What must be known beside it; empty for nothing.
    """

    figure: str
    value: float | None
    text: str
    target: str
    verdict: Verdict
    note: str = ""


def assess(figures: Figures) -> tuple[Row, ...]:
    """Put every figure that has a target beside it."""
    return (
        *_averages(figures.load, figures.lasted_ns),
        *_peaks(figures.load),
        _flood(figures.floods),
        *_nuisances(figures.nuisance),
        _frequent(figures.frequent, figures.load.activations),
        *_priorities(figures.priorities, figures.load.activations),
        _UNAUTHORISED,
    )


_UNAUTHORISED = Row(
    "unauthorised suppression",
    None,
    "---",
    "0",
    Verdict.UNKNOWABLE,
    "the journal has who and why",
)


def _averages(load: Load, lasted_ns: int) -> list[Row]:
    """How many alarms came on average."""
    return [
        _average("10 min", load.per_10_min, (1, 2), lasted_ns < _DAY_NS // 144),
        _average("hour", load.per_hour, (6, 12), lasted_ns < _DAY_NS // 24),
        _average("day", load.per_day, (144, 288), lasted_ns < _DAY_NS),
    ]


def _average(
    span: str, value: float | None, targets: tuple[int, int], is_scaled_up: bool
) -> Row:
    """How many alarms came in *span* on average."""
    target, most = targets
    note = "scaled up from less time" if is_scaled_up and value is not None else ""
    wanted = f"about {target}, at most {most}"
    name = f"alarms per {span}, average"
    return Row(name, value, _number(value), wanted, _up_to(value, target, most), note)


def _peaks(load: Load) -> list[Row]:
    """How many came at once."""
    most = load.most_in_window
    return [
        Row(
            "most in any 10 min",
            most,
            str(most),
            f"at most {FLOOD_ABOVE}",
            _up_to(most, FLOOD_ABOVE),
        ),
        Row(
            f"10 min with more than {FLOOD_ABOVE}",
            load.share_above,
            _percent(load.share_above),
            "below 1 %",
            _below(load.share_above, 0.01),
            f"{load.bins_above} of {load.bins}; the fullest has {load.most_in_bin}",
        ),
    ]


def _flood(floods: Floods) -> Row:
    """How long there was a flood."""
    count = len(floods.periods)
    return Row(
        "time in flood",
        floods.share,
        _percent(floods.share),
        "below 1 %",
        _below(floods.share, 0.01),
        f"{count} flood{'' if count == 1 else 's'}",
    )


def _nuisances(nuisance: Nuisance) -> list[Row]:
    """How many alarms told nothing new."""
    chattering, fleeting = len(nuisance.chattering), len(nuisance.fleeting)
    stale = nuisance.stale_on_worst_day
    wanted = "fewer than 5 on any day"
    return [
        Row("chattering alarms", chattering, str(chattering), "0", _up_to(chattering, 0)),
        Row("fleeting alarms", fleeting, str(fleeting), "0", _up_to(fleeting, 0)),
        Row("stale alarms, worst day", stale, str(stale), wanted, _below(stale, 5)),
    ]


def _frequent(frequent: Frequent, activations: int) -> Row:
    """What the ten most frequent alarms make up."""
    is_known = frequent.different > _MOST_FREQUENT and activations >= _FEW
    note = f"{frequent.different} different alarms"
    return Row(
        "share of the ten most frequent",
        frequent.share,
        _percent(frequent.share),
        "1 to 5 % at most",
        _up_to(frequent.share, 0.05) if is_known else Verdict.FEW,
        note,
    )


def _priorities(rows: Sequence[PriorityCount], activations: int) -> list[Row]:
    """How the alarms are spread over the priorities."""
    return [
        Row(
            f"priority {row.priority}",
            row.share,
            _percent(row.share),
            _PRIORITY_TARGETS[row.priority],
            _priority(row) if activations >= _FEW else Verdict.FEW,
            f"{row.activations} of {activations}",
        )
        for row in rows
    ]


def _priority(row: PriorityCount) -> Verdict:
    """Judge a priority's share."""
    if row.priority == Priority.TOP:
        return _below(row.share, 0.01)
    if row.priority == Priority.LOW:
        return Verdict.MET if row.share is not None and row.share >= 0.80 else Verdict.MISSED
    return _up_to(row.share, 0.05 if row.priority == Priority.HIGH else 0.15)


def _up_to(value: float | None, target: float, most: float | None = None) -> Verdict:
    """Judge a figure that may be as large as its target."""
    if value is None:
        return Verdict.FEW
    if value <= target:
        return Verdict.MET
    return Verdict.MANAGEABLE if most is not None and value <= most else Verdict.MISSED


def _below(value: float | None, target: float) -> Verdict:
    """Judge a figure that must be smaller than its target."""
    if value is None:
        return Verdict.FEW
    return Verdict.MET if value < target else Verdict.MISSED


def _number(value: float | None) -> str:
    """Write an average: whole from 100 up, else with one place or two."""
    if value is None:
        return "---"
    return f"{value:.{0 if value >= 100 else 1 if value >= 10 else 2}f}"


def _percent(value: float | None) -> str:
    """Write a share in per cent."""
    return "---" if value is None else f"{100 * value:.1f} %"
