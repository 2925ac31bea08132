"""Tests for drivers.transports.port_trouble.

Source: hand-worked here; what pyserial 3.5 raises was copied from its source.
"""

from __future__ import annotations

import errno
import grp
import os
from pathlib import Path

import pytest
import serial

from drivers.errors import RefusedError
from drivers.transports import port_trouble
from drivers.transports.port_trouble import lost_error, nearest


def failed(number: int, text: str = "could not open port /dev/x: reason") -> Exception:
    """Make the error that pyserial raises for an error number."""
    return serial.SerialException(number, text)


def test_a_missing_port_names_those_that_are_there(monkeypatch: pytest.MonkeyPatch) -> None:
    there = [type("Info", (), {"device": name})() for name in ("/dev/ttyUSB1", "/dev/ttyS0")]
    monkeypatch.setattr(port_trouble.list_ports, "comports", lambda: there)

    error = lost_error("/dev/ttyUSB0", failed(errno.ENOENT), is_open=False)

    assert error.why == "there is no port /dev/ttyUSB0"
    assert error.cure == "plug it in, or name one that is there: /dev/ttyUSB1, /dev/ttyS0"


def test_a_missing_port_on_a_machine_without_ports(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(port_trouble.list_ports, "comports", list)

    error = lost_error("/dev/ttyUSB0", failed(errno.ENOENT), is_open=False)

    assert "no serial port now" in error.cure


def test_near_names_come_first_and_not_too_many() -> None:
    present = ["/dev/ttyS9", "/dev/ttyACM0", "COM1", "/dev/ttyUSB1", "/dev/ttyS1"]

    assert nearest("/dev/ttyUSB0", present)[0] == "/dev/ttyUSB1"
    assert len(nearest("/dev/ttyUSB0", present)) == 4


def test_no_permission_names_the_group_that_has_it(tmp_path: Path) -> None:
    port = tmp_path / "port"
    port.touch()
    group = grp.getgrgid(os.stat(port).st_gid).gr_name

    error = lost_error(str(port), failed(errno.EACCES), is_open=False)

    assert isinstance(error, RefusedError)
    assert f"group {group} " in error.cure


def test_no_permission_for_a_port_that_is_gone_names_the_usual_group() -> None:
    error = lost_error("/dev/gone", failed(errno.EACCES), is_open=False)

    assert "dialout" in error.cure


@pytest.mark.parametrize("number", [errno.EBUSY, errno.EAGAIN])
def test_a_busy_port_says_so(number: int) -> None:
    error = lost_error("/dev/ttyUSB0", failed(number), is_open=False)

    assert error.why == "/dev/ttyUSB0 is in use"
    assert not isinstance(error, RefusedError)


def test_a_network_port_that_does_not_answer_gives_the_systems_words() -> None:
    raised = serial.SerialException(
        "Could not open port socket://h:1: [Errno 111] Connection refused"
    )

    error = lost_error("socket://h:1", raised, is_open=False)

    assert error.why == "socket://h:1 would not open: [Errno 111] Connection refused"


def test_what_is_no_serial_port_says_so() -> None:
    raised = serial.SerialException("Could not configure port: (25, 'Inappropriate ioctl')")

    error = lost_error("/dev/null", raised, is_open=False)

    assert "check that it is a serial port" in error.cure


def test_an_error_without_words_gives_its_kind() -> None:
    assert "NotImplementedError" in lost_error("p", NotImplementedError(), is_open=False).why


def test_a_port_lost_in_use_was_unplugged() -> None:
    error = lost_error("/dev/ttyUSB0", OSError(errno.EIO, "x"), is_open=True)

    assert error.why == "/dev/ttyUSB0 was unplugged or closed: Input/output error"
    assert "cable" in error.cure


def test_a_network_port_lost_in_use_was_closed_at_the_far_end() -> None:
    raised = serial.SerialException("socket disconnected")

    assert "far end" in lost_error("socket://h:1", raised, is_open=True).why


def test_a_port_that_takes_no_bytes_says_so() -> None:
    raised = serial.SerialTimeoutException("Write timeout")

    assert "takes no bytes" in lost_error("/dev/ttyUSB0", raised, is_open=True).why
