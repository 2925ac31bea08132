"""An instrument that answers requests over a serial port: kind ``serial_polled``."""

from __future__ import annotations

from drivers.instruments.polled_settings import SerialPolledSettings, signals
from drivers.instruments.polling import PolledCore
from drivers.reading import Block, Clock, Sink


class SerialPolled:
    """The instrument on its port."""

    def __init__(self, name: str, settings: SerialPolledSettings) -> None:
        """Open nothing yet."""
        # Loaded here for the reasons given in serial_lines.
        from drivers.transports.serial_port import SerialPort

        self._port_with = SerialPort
        self._name = name
        self._settings = settings
        self._core: PolledCore | None = None

    @property
    def signals(self) -> tuple[str, ...]:
        """Names of every signal, in the order of requests and fields."""
        return signals(self._settings)

    async def run(self, sink: Sink, clock: Clock) -> None:
        """Open the port, ask and deliver until the link is lost.

        Raises:
            PortLostError: The port would not open, is gone, or nobody answers.
        """
        core = self._core or PolledCore(self._name, self._settings, clock.speed)
        self._core = core
        is_open = False
        async with self._port_with(self._settings, clock) as port:
            core.restart(clock.now_ns(), sink)
            while True:
                request = core.next_request(clock.now_ns(), sink)
                if request is not None:
                    await port.write(request)
                wait_s = (core.due_ns - clock.now_ns()) * 1e-9 / clock.speed
                for chunk in await port.read(max(0.0, wait_s)):
                    if chunk.lost_before:
                        sink.count("bytes dropped, engine too slow", chunk.lost_before)
                        core.restart(clock.now_ns(), sink)
                    blocks = core.feed(chunk.data, chunk.t_ns, sink)
                    if blocks and not is_open:
                        is_open = True
                        sink.opened(f"{self._settings.port} answers")
                    _deliver(blocks, sink)


def _deliver(blocks: list[Block], sink: Sink) -> None:
    """Hand blocks over."""
    for block in blocks:
        sink.take(block)
