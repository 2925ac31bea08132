"""Tests for drivers.instruments.mqtt_settings.

Source: hand-worked here.
"""

from __future__ import annotations

import msgspec
import pytest

from drivers.decoding.json_payload import PayloadLayout
from drivers.errors import SettingsError
from drivers.instruments.mqtt_settings import MqttSettings, check, signals

P = {"topic": "cabin/p", "signal": "p"}


def settings(*topics: dict[str, object], **given_settings: object) -> MqttSettings:
    """Make settings with these topics."""
    return msgspec.convert({"host": "h", "topics": topics, **given_settings}, MqttSettings)


@pytest.mark.parametrize(
    ("topic", "names"),
    [
        (P, ("p",)),
        ({"topic": "cabin", "pointers": {"p": "/p", "t": "/t"}}, ("p", "t")),
        ({"topic": "cabin", "pointers": {"p": "/p"}, "period_s": 1}, ("p",)),
        ({"topic": "n/+/t", "signals": ["n1", "n2"]}, ("n1", "n2")),
        ({"topic": "+/+", "signals": ["a/b"]}, ("a/b",)),
        ({"topic": "n/#", "signals": ["", "x"], "pointers": {"p": ""}}, ("/p", "x/p")),
        (
            {"topic": "n/+", "signals": ["n1", "n2"], "pointers": {"p": "/p", "t": "/t"}},
            ("n1/p", "n1/t", "n2/p", "n2/t"),
        ),
    ],
)
def test_signals_are_named_by_setting_wildcard_and_pointer(
    topic: dict[str, object], names: tuple[str, ...]
) -> None:
    made = settings(topic)

    check(made)

    assert signals(made) == names


def test_the_layout_of_a_payload_follows_the_settings() -> None:
    plain, one, several = settings(
        P,
        {"topic": "a", "signal": "a", "pointer": "", "times": "/t", "time_unit": "ms"},
        {"topic": "b", "pointers": {"x": "/x", "y": "/y"}},
    ).topics

    assert plain.layout(9) == PayloadLayout((), None, 1_000_000_000, 9)
    assert one.layout(9) == PayloadLayout(("",), "/t", 1_000_000, 9)
    assert several.layout(9) == PayloadLayout(("/x", "/y"), None, 1_000_000_000, 9)


@pytest.mark.parametrize(
    ("topics", "key", "problem"),
    [
        ([], "topics", "is empty"),
        ([{**P, "topic": ""}], "topics[0].topic", "is empty"),
        ([{**P, "topic": "a/#/b"}], "topics[0].topic", "last level"),
        ([{"topic": "a"}], "topics[0].signal", "give signal"),
        ([{**P, "pointers": {"x": "/x"}}], "topics[0].signal", "give signal, or pointers"),
        ([{**P, "signals": ["x"]}], "topics[0].signals", "for topics with wildcards"),
        ([{"topic": "a/+", "signal": "p"}], "topics[0].signal", "list the names"),
        ([{"topic": "a/+"}], "topics[0].signals", "is missing"),
        ([{**P, "pointer": "p"}], "topics[0].pointer", "must begin with '/'"),
        ([{**P, "pointer": "/p", "times": "~"}], "topics[0].times", "must begin"),
        ([{"topic": "a", "pointers": {"x": "/~x"}}], "topics[0].pointers.x", "written '~0'"),
        (
            [{"topic": "a", "pointer": "/a", "pointers": {"x": "/x"}}],
            "topics[0].pointer",
            "not both",
        ),
        ([{**P, "pointer": "/p", "period_s": -1}], "topics[0].period_s", "is not from"),
        (
            [{**P, "pointer": "/p", "times": "/t", "period_s": 1}],
            "topics[0].period_s",
            "leave it out",
        ),
        ([{**P, "period_s": 1}], "topics[0]", "need pointer"),
        ([{**P, "times": "/t"}], "topics[0]", "need pointer"),
        ([P, {**P, "signal": "q"}], "topics", "match the same topics"),
        ([P, {"topic": "cabin/#", "signals": ["x"]}], "topics", "match the same topics"),
        ([P, {**P, "topic": "cabin/q"}], "topics", "stands twice"),
        ([{"topic": "a/+", "signals": ["x", "x"]}], "topics", "stands twice"),
    ],
)
def test_topics_that_make_no_sense_are_refused(
    topics: list[dict[str, object]], key: str, problem: str
) -> None:
    with pytest.raises(SettingsError, match=problem) as refused:
        check(settings(*topics))

    assert refused.value.key == key


@pytest.mark.parametrize(
    ("given_settings", "key"), [({"port": 0}, "port"), ({"max_payload": 0}, "max_payload")]
)
def test_other_settings_that_make_no_sense_are_refused(
    given_settings: dict[str, object], key: str
) -> None:
    with pytest.raises(SettingsError) as refused:
        check(settings(P, **given_settings))

    assert refused.value.key == key


@pytest.mark.parametrize(
    "wrong", [{"qos": 3}, {"time_unit": "min"}, {"topics": "a"}, {"pointers": {"x": 1}}]
)
def test_ill_typed_settings_of_a_topic_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(msgspec.ValidationError):
        settings({**P, **wrong})
