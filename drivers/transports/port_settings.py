"""Settings of a serial port, the same for every instrument that hangs on one."""

from __future__ import annotations

import re
from typing import Literal

import msgspec

from drivers.errors import SettingsError

#: URL schemes that pyserial opens; anything without ``://`` is a device name.
SCHEMES = ("socket", "rfc2217", "loop", "spy", "alt", "hwgrep")


class PortSettings(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How to open the port.

    Attributes:
        port: Device (``/dev/ttyUSB0``, ``COM3``) or URL (``socket://host:port``,
            ``rfc2217://host:port``, ``hwgrep://serial-number``).
        baud: Speed in bit/s. Without meaning for ``socket://``.
        data_bits: Data bits of a character.
        parity: Parity bit.
        stop_bits: Stop bits of a character.
        flow: Flow control: none, by XON/XOFF characters, or by the RTS and CTS lines.
    """

    port: str
    baud: int = 115200
    data_bits: Literal[5, 6, 7, 8] = 8
    parity: Literal["none", "even", "odd", "mark", "space"] = "none"
    stop_bits: Literal[1, 2] = 1
    flow: Literal["none", "xonxoff", "rtscts"] = "none"

    @property
    def byte_ns(self) -> float:
        """How long one character takes on the wire, in ns; 0 where that is not known."""
        if "://" in self.port and not self.port.startswith("rfc2217://"):
            return 0.0
        bits = 1 + self.data_bits + (self.parity != "none") + self.stop_bits
        return bits * 1e9 / self.baud


def check_port(settings: PortSettings) -> None:
    """Look at the port's settings.

    Raises:
        SettingsError: A setting cannot be right whatever is plugged in.
    """
    if not settings.port.strip():
        raise SettingsError("port", "is empty; name a device such as '/dev/ttyUSB0'")
    scheme, is_url, rest = settings.port.partition("://")
    if is_url and scheme not in SCHEMES:
        known = ", ".join(f"{name}://" for name in SCHEMES)
        raise SettingsError("port", f"unknown kind of port {scheme + '://'!r}; known: {known}")
    if scheme in ("socket", "rfc2217") and not re.fullmatch(r"[^/?]+:\d{1,5}([/?].*)?", rest):
        raise SettingsError(
            "port", f"{settings.port!r} needs host and port: {scheme}://host:1234"
        )
    if not 0 < settings.baud <= 100_000_000:
        raise SettingsError("baud", f"{settings.baud} bit/s is no speed of a serial port")
