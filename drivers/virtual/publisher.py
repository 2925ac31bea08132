"""Sends the virtual nodes' messages to the broker, as any node would: over a socket."""

from __future__ import annotations

import asyncio

import aiomqtt

from drivers.virtual.panels import Published

#: Messages that may wait for the broker; older ones are dropped.
_MOST_WAITING = 2000
_RETRY_S = 0.5


class Publisher:
    """A bounded queue and the task that empties it.

    Attributes:
        dropped: Messages that found no room, or were lost with a connection.
    """

    def __init__(self, host: str, port: int) -> None:
        """Say where the broker is."""
        self._host = host
        self._port = port
        self._waiting: asyncio.Queue[Published] = asyncio.Queue(_MOST_WAITING)
        self.dropped = 0

    def put(self, message: Published) -> None:
        """Queue a message; never waits."""
        if self._waiting.full():
            self._waiting.get_nowait()
            self.dropped += 1
        self._waiting.put_nowait(message)

    async def run(self) -> None:
        """Publish for ever; connect again when the broker is gone."""
        while True:
            try:
                async with aiomqtt.Client(self._host, self._port, timeout=5.0) as client:
                    await self._publish(client)
            except aiomqtt.MqttError:
                self.dropped += 1
                await asyncio.sleep(_RETRY_S)

    async def _publish(self, client: aiomqtt.Client) -> None:
        """Publish until the connection is lost."""
        while True:
            message = await self._waiting.get()
            await client.publish(message.topic, message.payload, qos=0)
