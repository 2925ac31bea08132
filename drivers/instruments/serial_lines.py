"""An instrument that streams lines of text over a serial port: kind ``serial_lines``."""

from __future__ import annotations

import numpy as np

from drivers.framing.lines import LineFramer
from drivers.framing.stamps import NEVER_NS, Ints, evenly_before_ns, rising_stamps
from drivers.instruments.checks import check_range
from drivers.instruments.line_settings import LineSettings, check_lines, line_reader
from drivers.instruments.tallies import Tally
from drivers.reading import Block, Clock, Sink

#: Rows of one read are spread at most so far back by byte position, in ns of data time. Half
#: the usual lag: rows spread further would come too late to be evaluated.
_LONGEST_SPREAD_NS = 50_000_000


class SerialLinesSettings(LineSettings, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An instrument that sends a line of numbers whenever it has one.

    Attributes:
        fields: Name of the signal in each field from the left; ``""`` for a field to skip.
        period_s: Time between two lines, where the instrument keeps one, in s of data time.
            Lines that arrive together are then put that far apart; 0: put by the time their
            bytes took on the wire. With bursts longer than the stand's ``lag_s``, raise that.
        half_line_s: A line that is not complete after so long is thrown away, in s of real
            time.
    """

    fields: tuple[str, ...]
    period_s: float = 0.0
    half_line_s: float = 1.0


def check(settings: SerialLinesSettings) -> None:
    """Look at the settings as a whole.

    Raises:
        SettingsError: They make no sense.
    """
    check_lines(settings, settings.fields, "fields")
    check_range("period_s", settings.period_s, (0, 3600), "s")
    check_range("half_line_s", settings.half_line_s, (0.01, 3600), "s")


def signals(settings: SerialLinesSettings) -> tuple[str, ...]:
    """Give the signals, in the order of the fields."""
    return tuple(name for name in settings.fields if name)


class SerialLinesCore:
    """The instrument without its port: bytes in, blocks out. Knows no clock.

    Until the first line end nothing is believed, unless a line can be told from its tail by
    its prefix.

    Args:
        name: The instrument's name in the stand file.
        settings: Its settings.
        speed: Seconds of data time in a real second.
    """

    def __init__(self, name: str, settings: SerialLinesSettings, speed: float = 1.0) -> None:
        """Start with nothing received."""
        self._name = name
        self._signals = signals(settings)
        self._is_self_evident = settings.tells_whole_lines
        self._framer = LineFramer(
            settings.delimiter.encode(), settings.max_len, is_synced=self._is_self_evident
        )
        self._reader = line_reader(settings, settings.fields)
        self._tally = Tally(self._framer)
        self._period_ns = round(settings.period_s * 1e9)
        self._byte_ns = settings.byte_ns * speed
        self._patience_ns = round(settings.half_line_s * 1e9 * speed)
        self._end_bytes = len(settings.delimiter)
        self._last_ns = NEVER_NS
        self._heard_ns = NEVER_NS

    def feed(self, data: bytes, t_ns: int, sink: Sink) -> list[Block]:
        """Take bytes that arrived together at *t_ns*, in ns of data time.

        Returns:
            No block, or one with a row for each good line. What was not good is counted.
        """
        if self._framer.pending_bytes and t_ns - self._heard_ns > self._patience_ns:
            self._framer.resync(is_synced=self._is_self_evident)
        self._heard_ns = t_ns
        lines = self._framer.feed(data)
        self._tally.report(sink)
        if not lines:
            return []
        rows, sizes = self._reader.read(lines, sink)
        if not len(rows.values):
            return []
        before_ns = self._before_ns(sizes)
        if rows.line_of is not None:
            before_ns = before_ns[rows.line_of]
        stamps = rising_stamps(t_ns, self._last_ns, before_ns)
        self._last_ns = int(stamps[-1])
        return [Block(self._name, self._signals, stamps, rows.values)]

    def restart(self, sink: Sink) -> None:
        """Begin a new link, or go on after a gap: what is pending has no end any more."""
        self._framer.resync(is_synced=self._is_self_evident)
        self._tally.report(sink)

    def _before_ns(self, sizes: Ints) -> Ints:
        """Give how long before the arrival each line was complete, in ns of data time."""
        rows = len(sizes)
        if self._period_ns:
            return evenly_before_ns(rows, self._period_ns)
        if not self._byte_ns:
            return np.zeros(rows, np.int64)
        # Bytes that came after each line: those of the lines behind it, and half a line.
        sizes += self._end_bytes
        ends = sizes.cumsum()
        after = ends[-1] + self._framer.pending_bytes - ends
        before_ns: Ints = (after * self._byte_ns).astype(np.int64)
        shortened: Ints = np.minimum(before_ns, _LONGEST_SPREAD_NS)
        return shortened


class SerialLines:
    """The instrument on its port."""

    def __init__(self, name: str, settings: SerialLinesSettings) -> None:
        """Open nothing yet."""
        # A stand without serial instruments does not load pyserial; one with them loads it
        # before the watch begins, where loading would hold up the loop.
        from drivers.transports.serial_port import SerialPort

        self._port_with = SerialPort
        self._name = name
        self._settings = settings
        self._core: SerialLinesCore | None = None

    @property
    def signals(self) -> tuple[str, ...]:
        """Names of every signal, in the order of the fields."""
        return signals(self._settings)

    async def run(self, sink: Sink, clock: Clock) -> None:
        """Open the port and deliver until it is lost.

        Raises:
            PortLostError: The port would not open or is gone.
        """
        core = self._core or SerialLinesCore(self._name, self._settings, clock.speed)
        self._core = core
        async with self._port_with(self._settings, clock) as port:
            core.restart(sink)
            sink.opened(f"{self._settings.port} is open")
            while True:
                for chunk in await port.read():
                    if chunk.lost_before:
                        sink.count("bytes dropped, engine too slow", chunk.lost_before)
                        core.restart(sink)
                    for block in core.feed(chunk.data, chunk.t_ns, sink):
                        sink.take(block)
