"""Finding channels and limits of a stand by their names."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.display.state.kinds import kind_text
from monitor.link.messages import ChannelInfo, LimitInfo, StandInfo


@dataclass(frozen=True, slots=True)
class Place:
    """A limit and where it belongs. *channel* is None for links and recording."""

    limit: LimitInfo
    channel: ChannelInfo | None
    order: int

    @property
    def tag(self) -> str:
        """Give the tag as people see it."""
        if self.channel is not None:
            return self.channel.tag
        return system_name(self.limit.id.rpartition(".")[0])


def system_name(tag: str) -> str:
    """Give the name for people of ``link:gas_panel``: the part behind the colon."""
    return tag.partition(":")[2] or tag


class StandIndex:
    """The stand's parts by name. *limits* are in the order of the stand file."""

    def __init__(self, stand: StandInfo) -> None:
        """Number channels and limits."""
        self.stand = stand
        self.channel = {info.tag: number for number, info in enumerate(stand.channels)}
        self.limits: dict[str, Place] = {}
        for info in stand.channels:
            for limit in info.limits:
                self.limits[limit.id] = Place(limit, info, len(self.limits))
        for limit in stand.system_limits:
            self.limits[limit.id] = Place(limit, None, len(self.limits))
        self.phase = {phase.name: phase for phase in stand.phases}
        self.mode = {mode.name: mode for mode in stand.modes}

    def phase_title(self, name: str) -> str:
        """Give a phase's title, or its name where the stand has no such phase."""
        known = self.phase.get(name)
        return known.title if known is not None and known.title else name

    def mode_title(self, name: str) -> str:
        """Give a mode's title, or its name where the stand has no such mode."""
        known = self.mode.get(name)
        return known.title if known is not None and known.title else name

    def place_title(self, name: str) -> str:
        """Give the title of a phase or mode; no name is both."""
        return self.mode_title(name) if name in self.mode else self.phase_title(name)

    def limit_name(self, limit_id: str) -> str:
        """Name a limit for people by its tag and kind; by its id where it is unknown."""
        place = self.limits.get(limit_id)
        return f"{place.tag} {kind_text(place.limit)}" if place is not None else limit_id
