"""How far from normal something is: one word that the style sheet and the painters know."""

from __future__ import annotations

from enum import StrEnum

from monitor.samples import FIRST_BAD, FIRST_UNCERTAIN


class Severity(StrEnum):
    """From quiet to loud. The last four are the priorities of alarms."""

    CALM = "calm"
    #: Stands back: of no concern to anybody just now.
    QUIET = "quiet"
    #: Valid with a doubt, or something a person should know of.
    DOUBT = "doubt"
    #: Not valid: never shown as a number.
    BAD = "bad"
    #: The number is the last one known and nobody knows what it is now.
    FROZEN = "frozen"
    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"
    TOP = "top"


#: Priorities that are shown and sound, most urgent first, as the stand file spells them.
PRIORITIES: tuple[str, ...] = ("top", "high", "medium", "low")

#: Most urgent first; anything unknown comes behind.
PRIORITY_RANK: dict[str, int] = {name: rank for rank, name in enumerate(PRIORITIES)}


def rank_of(priority: str) -> int:
    """Give 0 for the most urgent priority; ``journal`` and unknown words come last."""
    return PRIORITY_RANK.get(priority, len(PRIORITIES))


def severity_of_quality(quality: int) -> Severity:
    """Say how far from normal a quality byte is."""
    if quality >= FIRST_BAD:
        return Severity.BAD
    return Severity.DOUBT if quality >= FIRST_UNCERTAIN else Severity.CALM
