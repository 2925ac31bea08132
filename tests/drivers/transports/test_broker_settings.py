"""Tests for drivers.transports.broker_settings.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from drivers.errors import SettingsError
from drivers.transports.broker_settings import BrokerSettings, check_broker


def test_good_settings_pass() -> None:
    settings = BrokerSettings(
        host="h", user="u", password="p", tls=True, ca_file="a", cert_file="c", key_file="k"
    )

    check_broker(settings)

    assert settings.port == 1883


@pytest.mark.parametrize(
    ("settings", "key"),
    [
        (BrokerSettings(host=""), "host"),
        (BrokerSettings(host="h", port=0), "port"),
        (BrokerSettings(host="h", port=65536), "port"),
        (BrokerSettings(host="h", keepalive_s=0), "keepalive_s"),
        (BrokerSettings(host="h", user="u", password="p", password_file="f"), "password"),
        (BrokerSettings(host="h", password="p"), "user"),
        (BrokerSettings(host="h", password_file="f"), "user"),
        (BrokerSettings(host="h", tls=True, cert_file="c"), "key_file"),
        (BrokerSettings(host="h", tls=True, key_file="k"), "key_file"),
        (BrokerSettings(host="h", ca_file="a"), "tls"),
        (BrokerSettings(host="h", cert_file="c", key_file="k"), "tls"),
    ],
)
def test_settings_that_make_no_sense_are_refused(settings: BrokerSettings, key: str) -> None:
    with pytest.raises(SettingsError) as refused:
        check_broker(settings)

    assert refused.value.key == key
