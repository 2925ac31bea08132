"""What the screen says while there is no engine to show."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.connection import Connection, Stage
from monitor.display.state.text import sentence


@dataclass(frozen=True, slots=True)
class EmptyPage:
    """A page instead of a run. *steps* are pairs of what one wants and what to type."""

    headline: str
    says: str
    steps: tuple[tuple[str, str], ...]
    status: str


_STEPS = (
    ("Watch a stand that a file describes", "standwatch watch STANDFILE"),
    ("See it all with a simulated rig", "standwatch demo"),
    ("Find out what is wrong with a stand file", "standwatch check STANDFILE"),
)


def empty_page(connection: Connection) -> EmptyPage:
    """Say what is the matter, what to do, and what this window is doing about it."""
    if connection.stage is Stage.REFUSED:
        return EmptyPage(
            "The watch does not accept this display",
            sentence(connection.why),
            _STEPS,
            f"Trying again at {connection.where}, attempt {connection.attempts}.",
        )
    if connection.stage is Stage.CONNECTED:
        return EmptyPage(
            "Connected", "Waiting for the watch to send the run.", (), connection.where
        )
    where = f" at {connection.where}" if connection.where else ""
    why = f" {sentence(connection.why)}" if connection.why else ""
    return EmptyPage(
        "No run to show",
        "No watch is running that this window can reach. "
        "Start one in a terminal; this window connects by itself.",
        _STEPS,
        f"Looking for a watch{where}, attempt {connection.attempts}.{why}",
    )
