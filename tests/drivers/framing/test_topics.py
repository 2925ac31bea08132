"""Tests for drivers.framing.topics.

Source: MQTT Version 5.0 (OASIS standard), 4.7.1 and 4.7.2: the examples there are copied.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.framing.topics import filter_problem, filters_overlap, wildcard_text

# Filter, topic, what stands in place of the wildcards. Examples of the standard.
MATCHES = [
    ("sport/tennis/player1/#", "sport/tennis/player1", ""),
    ("sport/tennis/player1/#", "sport/tennis/player1/ranking", "ranking"),
    ("sport/tennis/player1/#", "sport/tennis/player1/score/wimbledon", "score/wimbledon"),
    ("sport/#", "sport", ""),
    ("#", "sport/tennis", "sport/tennis"),
    ("sport/tennis/+", "sport/tennis/player1", "player1"),
    ("sport/+", "sport/", ""),
    ("+/+", "/finance", "/finance"),
    ("/+", "/finance", "finance"),
    ("$SYS/#", "$SYS/broker", "broker"),
    ("$SYS/monitor/+", "$SYS/monitor/Clients", "Clients"),
    ("a/+/c/#", "a/b/c/d/e", "b/d/e"),
    ("a/b", "a/b", ""),
]
NO_MATCHES = [
    ("sport/tennis/+", "sport/tennis/player1/ranking"),
    ("sport/+", "sport"),
    ("+", "/finance"),
    ("#", "$SYS/broker"),
    ("+/monitor/Clients", "$SYS/monitor/Clients"),
    ("a/b", "a"),
    ("a/b", "a/b/c"),
    ("a/b", "A/b"),
]
TOPICS = st.lists(st.sampled_from(["a", "b", ""]), min_size=1, max_size=4).map("/".join)
FILTERS = st.tuples(
    st.lists(st.sampled_from(["a", "b", "", "+"]), min_size=1, max_size=4), st.booleans()
).map(lambda made: "/".join([*made[0], *["#"] * made[1]]))


@pytest.mark.parametrize(("topic_filter", "topic", "text"), MATCHES)
def test_a_match_tells_what_stands_in_place(topic_filter: str, topic: str, text: str) -> None:
    assert wildcard_text(topic, topic_filter) == text


@pytest.mark.parametrize(("topic_filter", "topic"), NO_MATCHES)
def test_other_topics_do_not_match(topic_filter: str, topic: str) -> None:
    assert wildcard_text(topic, topic_filter) is None


@pytest.mark.parametrize("topic_filter", [*(row[0] for row in MATCHES), "x" * 65535])
def test_good_filters_have_no_problem(topic_filter: str) -> None:
    assert filter_problem(topic_filter) == ""


@pytest.mark.parametrize(
    ("topic_filter", "problem"),
    [
        ("", "is empty"),
        ("sport/tennis#", "inside 'tennis#'"),
        ("sport/tennis/#/ranking", "last level"),
        ("sport+", "inside 'sport+'"),
        ("a\0b", "zero byte"),
        ("x" * 65536, "too long"),
        ("$share/us/a", "shared"),
    ],
)
def test_bad_filters_are_refused(topic_filter: str, problem: str) -> None:
    assert problem in filter_problem(topic_filter)


@pytest.mark.parametrize(
    ("first", "second", "overlap"),
    [
        ("a/b", "a/b", True),
        ("a/+", "a/b", True),
        ("a/+", "+/b", True),
        ("a/#", "a", True),
        ("#", "a/b/c", True),
        ("a/+", "a/b/c", False),
        ("a/b", "a/c", False),
        ("a/+/c", "a/b/d", False),
        ("a", "a/+", False),
        ("#", "$SYS/x", False),
        ("+/x", "$SYS/x", False),
        ("$SYS/#", "$SYS/x", True),
    ],
)
def test_overlap_is_seen_both_ways(first: str, second: str, overlap: bool) -> None:
    assert filters_overlap(first, second) == filters_overlap(second, first) == overlap


@given(first=FILTERS, second=FILTERS, topic=TOPICS)
def test_filters_that_match_one_topic_overlap(first: str, second: str, topic: str) -> None:
    both = wildcard_text(topic, first) is not None and wildcard_text(topic, second) is not None

    assert filters_overlap(first, second) or not both
