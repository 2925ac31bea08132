"""Checks voted channels: which sensors vote, in which unit, and how many are needed."""

from __future__ import annotations

from monitor.errors import did_you_mean
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.locate import KeyPath
from monitor.stand.sources import everything_behind, measured_behind
from monitor.units import is_same

#: How many may be needed, by how many vote.
_NEEDED = {2: (1, 2), 3: (2,)}


def check_votes(draft: Draft) -> None:
    """Note what is wrong with voted channels."""
    for channel in draft.channels.values():
        if channel.table.vote is not None:
            _check_vote(draft, channel, channel.table.vote)


def _check_vote(draft: Draft, channel: ChannelDraft, tags: list[str]) -> None:
    """Two or three different sensors vote."""
    path: KeyPath = (*channel.path, "vote")
    if len(tags) not in _NEEDED:
        draft.report.error(path, f"names {len(tags)} channels; two or three vote")
    elif channel.table.needed not in (None, *_NEEDED[len(tags)]):
        allowed = " or ".join(map(str, _NEEDED[len(tags)]))
        draft.report.error(
            (*channel.path, "needed"),
            f"of {len(tags)} sensors {allowed} decide, not {channel.table.needed}; "
            f"write needed = {_NEEDED[len(tags)][-1]}",
        )
    for number, tag in enumerate(tags):
        if tag in tags[:number]:
            draft.report.error((*path, number), f"{tag} votes already")
            continue
        _check_voter(draft, channel, (*path, number), tag)
        for other in () if channel.tag in everything_behind(draft, tag) else tags[:number]:
            _check_apart(draft, (*path, number), tag, other)


def _check_apart(draft: Draft, path: KeyPath, tag: str, other: str) -> None:
    """Two votes out of the very same signals are one sensor that is counted twice."""
    signals = _signals_behind(draft, tag)
    if signals and signals == _signals_behind(draft, other):
        draft.report.error(
            path,
            f"{tag} and {other} read the same signal, {' and '.join(sorted(signals))}: "
            "one sensor would vote twice; give each a source of its own",
        )


def _signals_behind(draft: Draft, tag: str) -> frozenset[str]:
    """Give the signals of instruments that a channel is made of."""
    measured = (draft.channels[one].table.source for one in measured_behind(draft, tag))
    return frozenset(source for source in measured if source is not None)


def _check_voter(draft: Draft, channel: ChannelDraft, path: KeyPath, tag: str) -> None:
    """A sensor that votes exists and is in the unit of the voted channel."""
    if tag not in draft.tags:
        draft.report.error(path, f"unknown channel {tag!r}{did_you_mean(tag, draft.tags)}")
        return
    other = draft.channels.get(tag)
    if other is None or other.unit is None or channel.unit is None:
        return
    if not is_same(other.unit, channel.unit):
        draft.report.error(
            path,
            f"{tag} is in {other.unit.text or '1'!r} but the voted channel in "
            f"{channel.unit.text or '1'!r}; a vote is in one unit",
        )
