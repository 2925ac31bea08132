"""Says in plain words why a serial port is not there, and what a person can do about it."""

from __future__ import annotations

import errno
import os
from collections.abc import Sequence
from difflib import get_close_matches

import serial
from serial.tools import list_ports

from drivers.errors import PortLostError, RefusedError

_BUSY = (errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK)
_NO_ACCESS = (errno.EACCES, errno.EPERM)
_MISSING = (errno.ENOENT, errno.ENODEV, errno.ENXIO)
_MOST_NAMED = 4


def lost_error(port: str, error: BaseException, *, is_open: bool) -> PortLostError:
    """Turn what pyserial raised into an error for a person.

    Args:
        port: The port as the stand file names it.
        error: What was raised.
        is_open: Whether the port had been open before.
    """
    if is_open:
        return _gone(port, error)
    if "://" in port:
        return PortLostError(
            f"{port} would not open: {_text(error)}",
            "check host and port, and that the converter is switched on and not taken",
        )
    number = getattr(error, "errno", None)
    if number in _MISSING:
        return PortLostError(f"there is no port {port}", _cure_for_missing(port))
    if number in _NO_ACCESS:
        return RefusedError(f"no permission to open {port}", _cure_for_access(port))
    if number in _BUSY:
        cure = f"close the other program that has it open; `fuser -v {port}` names it"
        return PortLostError(f"{port} is in use", cure)
    return PortLostError(
        f"{port} would not open: {_text(error)}", "check that it is a serial port, and its baud"
    )


def _gone(port: str, error: BaseException) -> PortLostError:
    """Describe the loss of a port that was open."""
    if isinstance(error, serial.SerialTimeoutException):
        return PortLostError(
            f"{port} takes no bytes", "check the flow control setting and the instrument"
        )
    cure = "check the cable and the instrument's power"
    if "://" in port:
        return PortLostError(f"the far end of {port} closed the link: {_text(error)}", cure)
    return PortLostError(f"{port} was unplugged or closed: {_text(error)}", cure)


def _text(error: BaseException) -> str:
    """Give the system's own words for an error, without pyserial's repetitions."""
    number = getattr(error, "errno", None)
    if isinstance(number, int):
        return os.strerror(number)
    text = str(error) or type(error).__name__
    return text.rsplit(": ", 1)[-1]


def _cure_for_missing(port: str) -> str:
    """Name the ports that there are, those with a similar name first."""
    present = [info.device for info in list_ports.comports()]
    if not present:
        return "plug it in; this machine has no serial port now"
    return f"plug it in, or name one that is there: {', '.join(nearest(port, present))}"


def nearest(port: str, present: Sequence[str]) -> list[str]:
    """Give up to four of the ports that are there, those with a similar name first."""
    near = get_close_matches(port, present, n=_MOST_NAMED, cutoff=0.6)
    return [*near, *(name for name in sorted(present) if name not in near)][:_MOST_NAMED]


def _cure_for_access(port: str) -> str:
    """Name the group that may open the port."""
    group = _group_of(port)
    return f"add yourself to the group {group} (`sudo usermod -aG {group} $USER`), log in again"


def _group_of(port: str) -> str:
    """Give the group that owns the port; dialout where that cannot be told."""
    try:
        import grp

        return grp.getgrgid(os.stat(port).st_gid).gr_name
    except (ImportError, OSError, KeyError):
        return "dialout"
