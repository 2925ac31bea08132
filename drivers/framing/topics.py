"""Matches MQTT topics against filters with wildcards."""

from __future__ import annotations

#: Longest topic that the protocol can carry, in bytes (MQTT 5.0, 4.7.3).
_MAX_BYTES = 65535


def filter_problem(topic_filter: str) -> str:
    """Say what is wrong with a topic filter; empty when nothing is.

    Source:
        MQTT Version 5.0 (OASIS), 4.7.1 and 4.7.3; the same rules hold in 3.1.1.
    """
    if not topic_filter:
        return "is empty"
    if "\0" in topic_filter or len(topic_filter.encode()) > _MAX_BYTES:
        return "holds a zero byte or is too long"
    levels = topic_filter.split("/")
    if "#" in levels[:-1]:
        return "must have '#' as its last level only"
    for level in levels:
        if level not in ("+", "#") and ("+" in level or "#" in level):
            return f"has a wildcard inside {level!r}; it must fill a level alone"
    return "must not be a shared subscription" if levels[0] == "$share" else ""


def wildcard_text(topic: str, topic_filter: str) -> str | None:
    """Match a topic.

    Returns:
        What stands in place of the wildcards, joined by ``/`` (empty where there are none);
        None when the topic does not match.

    Source:
        MQTT Version 5.0 (OASIS), 4.7.1 (``#`` matches the parent level too) and 4.7.2 (a
        wildcard in front does not match a topic that begins with ``$``).
    """
    if topic.startswith("$") and topic_filter[:1] in ("+", "#"):
        return None
    found: list[str] = []
    levels = topic.split("/")
    wanted = topic_filter.split("/")
    for place, want in enumerate(wanted):
        if want == "#":
            return "/".join([*found, *levels[place:]])
        if place >= len(levels) or want not in ("+", levels[place]):
            return None
        if want == "+":
            found.append(levels[place])
    return "/".join(found) if len(levels) == len(wanted) else None


def filters_overlap(first: str, second: str) -> bool:
    """Whether a topic exists that both filters match."""
    left, right = first.split("/"), second.split("/")
    # A wildcard in front matches no topic that begins with $.
    if "$" in (first[:1], second[:1]) and {left[0], right[0]} & {"+", "#"}:
        return False
    for place in range(max(len(left), len(right))):
        one = left[place] if place < len(left) else None
        other = right[place] if place < len(right) else None
        if "#" in (one, other):
            return True
        if one is None or other is None:
            return False
        if one != other and "+" not in (one, other):
            return False
    return True
