"""How the display stands with the engine, and whether what it shows can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from monitor.display.state.text import NS, duration_text, sentence

#: Without a word from the engine for longer than this, what is shown is no longer the present.
SILENT_AFTER_NS = 2_500_000_000


class Stage(StrEnum):
    """Where the connection stands."""

    SEARCHING = "searching"
    CONNECTED = "connected"
    LOST = "lost"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Connection:
    """What the feed knows. Times are readings of the display's monotonic clock in ns.

    Attributes:
        stage: See :class:`Stage`.
        since_ns: When that began.
        heard_ns: When the newest message came; 0 when none ever did.
        where: Address that is tried.
        why: What happened last, for a person to read.
        attempts: Tries since the last connection.
        counts: What came, was sent, dropped or not understood, in plain words.
    """

    stage: Stage = Stage.SEARCHING
    since_ns: int = 0
    heard_ns: int = 0
    where: str = ""
    why: str = ""
    attempts: int = 0
    counts: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Freshness:
    """Whether the screen shows the present.

    Attributes:
        is_frozen: What is shown is the past, *age_ns* old (real time).
        headline: What to say across the screen; empty while all is well.
        detail: Why, and what is being done about it.
    """

    is_frozen: bool = False
    age_ns: int = 0
    headline: str = ""
    detail: str = ""


def freshness(connection: Connection, now_ns: int) -> Freshness:
    """Decide whether the screen shows the present, at *now_ns* of the monotonic clock."""
    age_ns = max(0, now_ns - connection.heard_ns) if connection.heard_ns else 0
    age = duration_text(age_ns)
    if connection.stage is Stage.CONNECTED:
        if age_ns <= SILENT_AFTER_NS:
            return Freshness()
        why = "The connection is open, but the watch does not say anything."
        return Freshness(True, age_ns, f"WATCH SILENT for {age}", why)
    if connection.stage is Stage.REFUSED:
        return Freshness(True, age_ns, "WATCH REFUSES THIS DISPLAY", sentence(connection.why))
    tries = f"Trying again, attempt {connection.attempts}." if connection.attempts else ""
    detail = " ".join(part for part in (sentence(connection.why), tries) if part)
    return Freshness(True, age_ns, f"LINK TO THE WATCH LOST {age} ago", detail)


def retry_s(attempts: int) -> float:
    """Give the seconds to wait before try number *attempts* + 1: quickly first, then calmly."""
    return min(5.0, 0.25 * 2.0 ** min(attempts, 10))


def is_recent(then_ns: int, now_ns: int, seconds: float) -> bool:
    """Tell whether *then_ns* was at most *seconds* before *now_ns*."""
    return now_ns - then_ns <= seconds * NS
