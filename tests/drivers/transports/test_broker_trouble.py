"""Tests for drivers.transports.broker_trouble.

Source: reason codes of MQTT Version 5.0 (OASIS), table 2-6; hand-worked here otherwise. What a
real broker leads to is tested in test_mqtt_session.py.
"""

from __future__ import annotations

import pytest
from aiomqtt import MqttCodeError, MqttError
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.reasoncodes import ReasonCode

from drivers.errors import PortLostError, RefusedError
from drivers.transports.broker_settings import BrokerSettings
from drivers.transports.broker_trouble import gone_error, lost_error, unreadable_error

SETTINGS = BrokerSettings(host="h", port=1884)


@pytest.mark.parametrize(
    ("code", "cure"),
    [
        (132, "protocol"),
        (133, "client_id"),
        (134, "password"),
        (135, "password"),
        (138, "shut this client out"),
    ],
)
def test_what_only_a_person_can_cure_is_a_refusal(code: int, cure: str) -> None:
    answer = ReasonCode(PacketTypes.CONNACK, identifier=code)

    error = lost_error(SETTINGS, MqttCodeError(answer))

    assert isinstance(error, RefusedError)
    assert error.why == f"broker h:1884 refused us: {answer}"
    assert cure in error.cure


@pytest.mark.parametrize("code", [136, 137, 151])
def test_a_broker_that_is_busy_may_be_asked_again(code: int) -> None:
    error = lost_error(
        SETTINGS, MqttCodeError(ReasonCode(PacketTypes.CONNACK, identifier=code))
    )

    assert type(error) is PortLostError


@pytest.mark.parametrize("text", ["certificate verify failed", "[SSL: WRONG_VERSION_NUMBER]"])
def test_trouble_with_encryption_is_a_refusal(text: str) -> None:
    error = lost_error(SETTINGS, MqttError(text))

    assert isinstance(error, RefusedError)
    assert "ca_file" in error.cure


def test_silence_is_told_from_refusal() -> None:
    assert lost_error(SETTINGS, MqttError("Operation timed out")).why.endswith("not answer")


def test_the_systems_words_are_kept() -> None:
    error = lost_error(SETTINGS, MqttError("[Errno 111] Connection refused"))

    assert error.why == "broker h:1884 is not there: [Errno 111] Connection refused"


def test_the_cause_of_a_loss_is_told_where_there_is_one() -> None:
    error = MqttError("Disconnected during message iteration")
    error.__cause__ = MqttCodeError(7, "Unexpected disconnection")

    assert gone_error(SETTINGS, error).why == (
        "broker h:1884 is gone: [code:7] The connection was lost."
    )


def test_without_a_cause_the_error_itself_is_told() -> None:
    assert gone_error(SETTINGS, MqttError("x")).why == "broker h:1884 is gone: x"


def test_a_file_is_named_with_the_systems_words() -> None:
    error = unreadable_error("ca_file", "/a", FileNotFoundError(2, "No such file"))

    assert error.why == "ca_file /a: No such file"


def test_a_file_with_the_wrong_content_is_named_too() -> None:
    assert unreadable_error("ca_file", "/a", ValueError("no PEM")).why == "ca_file /a: no PEM"
