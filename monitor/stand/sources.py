"""What a channel comes from, and whom it feeds, through computing, voting and filtering."""

from __future__ import annotations

from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.schema import ThermocoupleTable


def inputs_of(channel: ChannelDraft) -> tuple[str, ...]:
    """Give the tags that a channel is made of: inputs, voters, a cold junction."""
    table = channel.table
    tags = [*channel.input_tags().values(), *(table.vote or ())]
    if isinstance(table.convert, ThermocoupleTable) and table.convert.cold_junction:
        tags.append(table.convert.cold_junction)
    return tuple(dict.fromkeys(tags))


def everything_behind(draft: Draft, tag: str) -> frozenset[str]:
    """Give *tag* and every channel that it comes from, however far behind."""
    found: set[str] = set()
    waiting = [tag]
    while waiting:
        one = waiting.pop()
        channel = draft.channels.get(one)
        if one not in found and channel is not None:
            waiting += inputs_of(channel)
        found.add(one)
    return frozenset(found)


def measured_behind(draft: Draft, tag: str) -> frozenset[str]:
    """Give the measured channels that *tag* comes from; itself where it is measured."""
    behind = everything_behind(draft, tag)
    return frozenset(
        one
        for one in behind
        if one in draft.channels and draft.channels[one].table.source is not None
    )
