"""An instrument that publishes over MQTT: kind ``mqtt``."""

from __future__ import annotations

from dataclasses import dataclass

from drivers.decoding.json_payload import PayloadDecoder, Samples
from drivers.framing.stamps import NEVER_NS, Ints, evenly_before_ns, rising_stamps
from drivers.framing.topics import wildcard_text
from drivers.instruments.mqtt_settings import MqttSettings, TopicSettings, signals
from drivers.instruments.shown import printable, text_of
from drivers.reading import Block, Clock, Sink

#: Topics whose way is remembered. Others are looked up each time.
_MOST_KNOWN = 4096


@dataclass(slots=True)
class _Route:
    """Where the messages of one topic go."""

    columns: tuple[str, ...]
    decoder: PayloadDecoder
    period_ns: int
    last_ns: int = NEVER_NS


class MqttCore:
    """The instrument without its broker: messages in, blocks out. Knows no clock.

    Args:
        name: The instrument's name in the stand file.
        settings: Its settings.
    """

    def __init__(self, name: str, settings: MqttSettings) -> None:
        """Lay a way for each topic that may come."""
        self._name = name
        self._entries = [
            (entry.topic, _routes(entry, settings.max_payload)) for entry in settings.topics
        ]
        self._known: dict[str, _Route | None] = {}

    def message(
        self, topic: str, payload: bytes, t_ns: int, is_retained: bool, sink: Sink
    ) -> list[Block]:
        """Take a message that arrived at *t_ns*, in ns of data time.

        Args:
            topic: Its topic.
            payload: Its payload.
            t_ns: When it arrived.
            is_retained: Whether the broker had kept it; its block is marked as old.
            sink: Where to count what is not good.

        Returns:
            No block, or one with a row for each value.
        """
        route = self._known.get(topic) or self._look_up(topic)
        if route is None:
            sink.count("topic not listed", example=printable(topic))
            return []
        samples = route.decoder.decode(payload)
        for what, number in samples.faults.items():
            sink.count(what, number, f"{printable(topic)} {text_of(payload)}")
        rows = len(samples.values)
        if rows == 0:
            return []
        if rows > 1 and samples.device_ns is None and not route.period_ns:
            sink.count("array without times or period_s", example=printable(topic))
            return []
        stamps = rising_stamps(t_ns, route.last_ns, _before_ns(samples, route.period_ns))
        route.last_ns = int(stamps[-1])
        return [
            Block(
                self._name,
                route.columns,
                stamps,
                samples.values,
                device_ns=samples.device_ns,
                is_old=is_retained,
            )
        ]

    def _look_up(self, topic: str) -> _Route | None:
        """Find the way of a topic, and remember it."""
        for topic_filter, routes in self._entries:
            text = wildcard_text(topic, topic_filter)
            if text is not None:
                route = routes.get(text)
                break
        else:
            route = None
        if route is not None and len(self._known) < _MOST_KNOWN:
            self._known[topic] = route
        return route


def _routes(entry: TopicSettings, max_payload: int) -> dict[str, _Route]:
    """Lay the ways of one entry, by what stands in place of the wildcards."""
    layout = entry.layout(max_payload)
    period_ns = round(entry.period_s * 1e9)
    return {
        text: _Route(entry.columns_for(text), PayloadDecoder(layout), period_ns)
        for text in (entry.signals if entry.has_wildcard else ("",))
    }


def _before_ns(samples: Samples, period_ns: int) -> Ints:
    """Give how long before the message each of its values was taken, in ns."""
    if samples.device_ns is not None:
        before_ns: Ints = samples.device_ns[-1] - samples.device_ns
        return before_ns
    return evenly_before_ns(len(samples.values), period_ns)


class Mqtt:
    """The instrument behind its broker."""

    def __init__(self, name: str, settings: MqttSettings) -> None:
        """Connect to nothing yet."""
        # A stand without MQTT does not load its library; one with it loads it before the watch
        # begins, where loading would hold up the loop.
        from drivers.transports.mqtt_session import MqttSession

        self._session_with = MqttSession
        self._settings = settings
        self._core = MqttCore(name, settings)

    @property
    def signals(self) -> tuple[str, ...]:
        """Names of every signal, in the order of topics, wildcards and pointers."""
        return signals(self._settings)

    async def run(self, sink: Sink, clock: Clock) -> None:
        """Connect, subscribe and deliver until the broker is lost.

        Raises:
            PortLostError: The broker is not there, said no, or is gone.
        """
        settings = self._settings
        async with self._session_with(settings, clock) as session:
            await session.subscribe([(entry.topic, entry.qos) for entry in settings.topics])
            sink.opened(f"connected to {settings.host}:{settings.port} and subscribed")
            async for batch in session.batches():
                if batch.dropped:
                    sink.count("unread messages dropped", batch.dropped)
                for row in batch.messages:
                    for block in self._core.message(
                        row.topic, row.payload, row.t_ns, row.is_retained, sink
                    ):
                        sink.take(block)
