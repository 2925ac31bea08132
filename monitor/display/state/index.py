"""Finding channels and limits of a stand by their names."""

from __future__ import annotations

from dataclasses import dataclass

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

    def phase_title(self, name: str) -> str:
        """Give a phase's title, or its name where the stand has no such phase."""
        known = self.phase.get(name)
        return known.title if known is not None and known.title else name


def setpoint_now(limit: LimitInfo, phase: str) -> float | None:
    """Give the setpoint that holds in *phase*; None for kinds that judge quality."""
    return limit.setpoint_in.get(phase, limit.setpoint)
