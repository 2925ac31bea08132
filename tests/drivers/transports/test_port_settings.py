"""Tests for drivers.transports.port_settings.

Source: hand-worked here; an asynchronous character is a start bit, the data, parity and stop
bits.
"""

from __future__ import annotations

import pytest

from drivers.errors import SettingsError
from drivers.transports.port_settings import PortSettings, check_port


def test_a_usual_character_is_ten_bits() -> None:
    assert PortSettings(port="/dev/ttyUSB0", baud=9600).byte_ns == pytest.approx(1_041_666.7)


def test_parity_and_stop_bits_make_it_longer() -> None:
    settings = PortSettings(port="COM1", baud=1000, data_bits=7, parity="even", stop_bits=2)

    assert settings.byte_ns == 11_000_000


def test_a_network_port_has_no_speed_of_its_own() -> None:
    assert PortSettings(port="socket://host:1").byte_ns == 0


def test_a_remote_port_that_knows_its_baud_has() -> None:
    assert PortSettings(port="rfc2217://host:1", baud=10).byte_ns == 1e9


@pytest.mark.parametrize(
    "port",
    [
        "/dev/ttyUSB0",
        "COM3",
        "socket://10.0.0.5:4001",
        "socket://panel.local:4001?logging=error",
        "rfc2217://[::1]:2217",
        "loop://",
        "hwgrep://0403:6001",
    ],
)
def test_ports_that_can_be_opened_pass(port: str) -> None:
    settings = PortSettings(port=port)

    check_port(settings)

    assert settings.port == port


@pytest.mark.parametrize(
    ("settings", "key", "problem"),
    [
        (PortSettings(port=" "), "port", "is empty"),
        (PortSettings(port="tcp://host:1"), "port", "unknown kind of port 'tcp://'"),
        (PortSettings(port="socket://host"), "port", "needs host and port"),
        (PortSettings(port="rfc2217://:22"), "port", "needs host and port"),
        (PortSettings(port="COM1", baud=0), "baud", "no speed"),
        (PortSettings(port="COM1", baud=-9600), "baud", "no speed"),
    ],
)
def test_ports_that_cannot_are_refused(settings: PortSettings, key: str, problem: str) -> None:
    with pytest.raises(SettingsError, match=problem) as refused:
        check_port(settings)

    assert refused.value.key == key
