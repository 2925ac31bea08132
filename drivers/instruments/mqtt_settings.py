"""Settings of an instrument that publishes over MQTT."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Literal

import msgspec

from drivers.decoding.json_payload import NS_OF_UNIT, PayloadLayout
from drivers.decoding.json_pointer import parse_pointer
from drivers.errors import SettingsError
from drivers.framing.topics import filter_problem, filters_overlap
from drivers.instruments.checks import check_names, check_range
from drivers.transports.broker_settings import BrokerSettings, check_broker


class TopicSettings(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One topic, or several by wildcard, and the numbers in its payload.

    The payload is a plain number (``12.5``) unless ``pointer`` or ``pointers`` is given; then
    it is JSON.

    Attributes:
        topic: Topic filter. ``+`` stands for one level, ``#`` at the end for all the rest.
        signal: Name of the signal, for a topic without wildcards and with one value.
        signals: For a topic with wildcards: the texts that may stand in their places, each
            the name of a signal; several wildcards are joined by ``/``. A topic with another
            text there is counted, not taken.
        pointer: Pointer (RFC 6901, for example ``/value`` or ``/values``; ``""`` is the whole
            payload) to the value or to an array of values.
        pointers: Signal name to pointer, for several values in one payload. With wildcards
            each signal is named ``<text>/<name>``.
        times: Pointer to the device's own time of the value, or to the array of times. Times
            space the values of an array; they are recorded beside the time of arrival.
        time_unit: Unit of those times since the Unix epoch.
        period_s: Time between two values of an array without times, in s of data time; the
            last one is as old as the message. With arrays, or times, that span more than the
            stand's ``lag_s``, raise that.
        qos: Quality of service of the subscription.
    """

    topic: str
    signal: str = ""
    signals: tuple[str, ...] = ()
    pointer: str | None = None
    pointers: dict[str, str] = {}
    times: str | None = None
    time_unit: Literal["s", "ms", "us", "ns"] = "s"
    period_s: float = 0.0
    qos: Literal[0, 1, 2] = 0

    @property
    def has_wildcard(self) -> bool:
        """Whether more than one topic can match."""
        return "+" in self.topic or "#" in self.topic

    def columns_for(self, text: str) -> tuple[str, ...]:
        """Give the signals of a message; *text* is what stands in place of the wildcards."""
        if not self.has_wildcard:
            return tuple(self.pointers) or (self.signal,)
        return tuple(f"{text}/{name}" for name in self.pointers) or (text,)

    def columns(self) -> Iterator[str]:
        """Give every signal of this entry, in the order of the settings."""
        for text in self.signals if self.has_wildcard else ("",):
            yield from self.columns_for(text)

    def layout(self, max_len: int) -> PayloadLayout:
        """Say how the payload is read; *max_len* is its greatest length in bytes."""
        one = () if self.pointer is None else (self.pointer,)
        pointers = tuple(self.pointers.values()) or one
        return PayloadLayout(pointers, self.times, NS_OF_UNIT[self.time_unit], max_len)


class MqttSettings(BrokerSettings, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An instrument, or several behind one broker, whose values come as MQTT messages.

    Attributes:
        topics: What to subscribe to.
        max_payload: Longest payload to look at, in bytes.
    """

    topics: tuple[TopicSettings, ...]
    max_payload: int = 1_000_000


def check(settings: MqttSettings) -> None:
    """Look at the settings as a whole.

    Raises:
        SettingsError: They make no sense.
    """
    check_broker(settings)
    check_range("max_payload", settings.max_payload, (1, 100_000_000), "bytes")
    if not settings.topics:
        raise SettingsError("topics", 'is empty; write { topic = "cabin/p", signal = "p" }')
    for place, topic in enumerate(settings.topics):
        _check_topic(topic, f"topics[{place}]")
    for first, second in combinations(settings.topics, 2):
        if filters_overlap(first.topic, second.topic):
            problem = f"{first.topic!r} and {second.topic!r} match the same topics"
            raise SettingsError("topics", f"{problem}; for several values use pointers")
    check_names(signals(settings), "topics")


def signals(settings: MqttSettings) -> tuple[str, ...]:
    """Give the signals, in the order of topics, wildcards and pointers."""
    return tuple(name for topic in settings.topics for name in topic.columns())


def _check_topic(topic: TopicSettings, key: str) -> None:
    """Refuse one entry that makes no sense."""
    if problem := filter_problem(topic.topic):
        raise SettingsError(f"{key}.topic", f"{topic.topic!r} {problem}")
    _check_naming(topic, key)
    given = [("pointer", topic.pointer or ""), ("times", topic.times or "")]
    given += [(f"pointers.{name}", pointer) for name, pointer in topic.pointers.items()]
    for name, pointer in given:
        try:
            parse_pointer(pointer)
        except ValueError as error:
            raise SettingsError(f"{key}.{name}", str(error)) from error
    check_range(f"{key}.period_s", topic.period_s, (0, 3600), "s")
    if topic.times is not None and topic.period_s:
        raise SettingsError(f"{key}.period_s", "leave it out: times say when each value was")
    is_plain = topic.pointer is None and not topic.pointers
    if is_plain and (topic.times is not None or topic.period_s):
        raise SettingsError(key, "times and period_s need pointer or pointers to JSON values")


def _check_naming(topic: TopicSettings, key: str) -> None:
    """Refuse an entry whose signals cannot be named."""
    if topic.pointers and topic.pointer is not None:
        raise SettingsError(f"{key}.pointer", "give pointer or pointers, not both")
    if topic.has_wildcard:
        if topic.signal:
            raise SettingsError(f"{key}.signal", "with wildcards list the names in signals")
        if not topic.signals:
            problem = "is missing: list the texts that stand in place of the wildcards"
            raise SettingsError(f"{key}.signals", problem)
        return
    if topic.signals:
        raise SettingsError(f"{key}.signals", "is for topics with wildcards; use signal")
    if bool(topic.signal) == bool(topic.pointers):
        raise SettingsError(f"{key}.signal", "give signal, or pointers with a name for each")
