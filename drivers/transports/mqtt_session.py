"""Holds a connection to an MQTT broker: connects, subscribes, gives messages in batches."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import ssl
from collections.abc import AsyncIterator, Sequence
from pathlib import Path
from types import TracebackType

import aiomqtt
from paho.mqtt.client import MQTT_CLEAN_START_FIRST_ONLY
from paho.mqtt.reasoncodes import ReasonCode

from drivers.errors import RefusedError
from drivers.reading import Clock
from drivers.transports.broker_settings import BrokerSettings
from drivers.transports.broker_trouble import gone_error, lost_error, unreadable_error
from drivers.transports.inbox import Arrived, Batch, Inbox

_VERSIONS = {"3.1.1": aiomqtt.ProtocolVersion.V311, "5": aiomqtt.ProtocolVersion.V5}
#: How long the broker may take to answer, in s of real time.
_ANSWER_S = 10.0
#: How long breaking off waits for an attempt to connect to end, in s of real time.
_PATIENCE_S = 0.45
#: How long a goodbye may take where the broker never said hello, in s of real time.
_GOODBYE_S = 0.1
#: First reason code that means no (MQTT 5.0, 2.4; 3.1.1 knows only 128).
_FIRST_REFUSAL = 128

#: What the library would log reaches people as errors and counters.
_SILENT = logging.getLogger(f"{__name__}.library")
_SILENT.setLevel(logging.CRITICAL + 1)
#: Tasks that close connections nobody waits for: the loop itself holds no reference to them.
_LEFT: set[asyncio.Task[None]] = set()


class MqttSession:
    """A connection, open from ``async with`` to its end. There is no second attempt.

    Args:
        settings: Which broker, and how.
        clock: Data time; gives the arrival stamps.
    """

    def __init__(self, settings: BrokerSettings, clock: Clock) -> None:
        """Connect to nothing yet."""
        self._settings = settings
        self._clock = clock
        self._inbox = Inbox()

    async def __aenter__(self) -> MqttSession:
        """Connect.

        Raises:
            PortLostError: The broker is not there.
            RefusedError: It said no, or a file of the settings cannot be used.
        """
        password, context = await asyncio.to_thread(_read_secrets, self._settings)
        client = self._client_with(password, context)
        connecting = asyncio.create_task(client.__aenter__(), name="connect to broker")
        try:
            await asyncio.shield(connecting)
        except asyncio.CancelledError:
            await _break_off(client, connecting)
            raise
        except aiomqtt.MqttError as error:
            await _undo(client, connecting)
            raise lost_error(self._settings, error) from error
        self._client = client
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Say goodbye if the broker still listens; close the connection."""
        with contextlib.suppress(aiomqtt.MqttError):
            await self._client.__aexit__(kind, error, trace)
            # Ends with the error that ended the connection, if one did: an error nobody asks
            # for would be logged when it is thrown away.
            while True:
                await anext(self._client.messages)

    async def subscribe(self, topics: Sequence[tuple[str, int]]) -> None:
        """Subscribe to topic filters, each with its quality of service.

        Raises:
            RefusedError: The broker does not let us have one of them.
            PortLostError: The broker is gone.
        """
        try:
            answers = await self._client.subscribe(list(topics))
        except aiomqtt.MqttError as error:
            raise gone_error(self._settings, error) from error
        codes = [_number_of(answer) for answer in answers]
        for (topic, _), code in zip(topics, codes, strict=False):
            if code >= _FIRST_REFUSAL:
                why = f"broker {self._settings.host} does not give us {topic!r} (code {code})"
                raise RefusedError(why, "ask who runs the broker what this user may read")

    async def batches(self) -> AsyncIterator[Batch]:
        """Give messages as they come, all that wait at once.

        Raises:
            PortLostError: The broker is gone.
        """
        try:
            async for _ in self._client.messages:
                yield self._inbox.take_all()
        except aiomqtt.MqttError as error:
            raise gone_error(self._settings, error) from error

    def _client_with(
        self, password: str | None, context: ssl.SSLContext | None
    ) -> aiomqtt.Client:
        """Make the library's client. No session outlives its connection: old is not new."""
        settings = self._settings
        is_v5 = settings.protocol == "5"
        return aiomqtt.Client(
            settings.host,
            settings.port,
            username=settings.user or None,
            password=password,
            identifier=settings.client_id or None,
            queue_type=_queue_into(self._inbox, self._clock),
            protocol=_VERSIONS[settings.protocol],
            clean_session=None if is_v5 else True,
            clean_start=True if is_v5 else MQTT_CLEAN_START_FIRST_ONLY,
            timeout=_ANSWER_S,
            logger=_SILENT,
            keepalive=settings.keepalive_s,
            tls_context=context,
        )


def _number_of(code: int | ReasonCode) -> int:
    """Give a reason code as a number."""
    return int(code.value) if isinstance(code, ReasonCode) else code


def _queue_into(inbox: Inbox, clock: Clock) -> type[asyncio.Queue[aiomqtt.Message]]:
    """Make the kind of queue that the library fills.

    The library's own would take a task for each message, and drop the newest with no more
    than a line in a log. This one stamps each message the moment it is read, keeps it in
    *inbox*, and wakes its reader once for all that wait.
    """

    class InboxQueue(asyncio.Queue[aiomqtt.Message]):
        def put_nowait(self, item: aiomqtt.Message) -> None:
            """Take a message from the library."""
            payload = item.payload if isinstance(item.payload, bytes) else b""
            inbox.put(Arrived(item.topic.value, payload, item.retain, clock.now_ns()))
            if self.empty():
                super().put_nowait(item)

    return InboxQueue


async def _break_off(client: aiomqtt.Client, connecting: asyncio.Task[aiomqtt.Client]) -> None:
    """End an attempt to connect that nobody waits for any more.

    It may run in a thread that cannot be stopped, so it is waited for; an attempt that takes
    longer is undone when it ends, which it does by itself.
    """
    done, _ = await asyncio.wait({connecting}, timeout=_PATIENCE_S)
    if done:
        await _undo(client, connecting)
    else:
        connecting.add_done_callback(lambda task: _undo_later(client, task))


def _undo_later(client: aiomqtt.Client, connecting: asyncio.Task[aiomqtt.Client]) -> None:
    """Undo what ended too late."""
    if not connecting.cancelled():
        task = asyncio.create_task(_undo(client, connecting), name="leave broker")
        _LEFT.add(task)
        task.add_done_callback(_LEFT.discard)


async def _undo(client: aiomqtt.Client, connecting: asyncio.Task[aiomqtt.Client]) -> None:
    """Close what an attempt to connect has opened, whether it succeeded or waited in vain."""
    is_connected = connecting.exception() is None
    # An attempt that waited in vain leaves its socket open, and the library waits for a
    # goodbye that is never acknowledged.
    client.timeout = _ANSWER_S if is_connected else _GOODBYE_S
    with contextlib.suppress(aiomqtt.MqttError):
        await client.__aexit__(None, None, None)


def _read_secrets(settings: BrokerSettings) -> tuple[str | None, ssl.SSLContext | None]:
    """Read password and certificates. Blocks; runs in a thread."""
    password = settings.password or None
    if settings.password_file:
        try:
            text = Path(settings.password_file).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise unreadable_error("password_file", settings.password_file, error) from error
        password = text.partition("\n")[0].rstrip("\r")
    if not settings.tls:
        return password, None
    try:
        context = ssl.create_default_context(cafile=settings.ca_file or None)
    except OSError as error:
        raise unreadable_error("ca_file", settings.ca_file, error) from error
    if settings.cert_file:
        try:
            context.load_cert_chain(settings.cert_file, settings.key_file)
        except OSError as error:
            files = f"{settings.cert_file} with {settings.key_file}"
            raise unreadable_error("cert_file", files, error) from error
    return password, context
