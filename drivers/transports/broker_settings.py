"""Settings of the connection to an MQTT broker."""

from __future__ import annotations

from typing import Literal

import msgspec

from drivers.errors import SettingsError


class BrokerSettings(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How to reach the broker.

    Attributes:
        host: Name or address of the broker.
        port: Its TCP port; usual are 1883, and 8883 with TLS.
        user: User name; empty for none.
        password: Password. It is copied with the stand file into every run folder; better
            use password_file.
        password_file: File whose first line is the password.
        tls: Whether to encrypt, and to check the broker's certificate and name.
        ca_file: Certificates to trust, PEM; empty for those of the operating system.
        cert_file: Our certificate, PEM, where the broker asks for one.
        key_file: Its key, PEM, without a passphrase.
        protocol: Version of MQTT.
        client_id: How we call ourselves; empty lets the broker choose. Two clients with one
            name throw each other out.
        keepalive_s: A broker that is silent so long is asked for a sign of life, and counts
            as lost after as long again, in s of real time.
    """

    host: str
    port: int = 1883
    user: str = ""
    password: str = ""
    password_file: str = ""
    tls: bool = False
    ca_file: str = ""
    cert_file: str = ""
    key_file: str = ""
    protocol: Literal["3.1.1", "5"] = "3.1.1"
    client_id: str = ""
    keepalive_s: int = 15


def check_broker(settings: BrokerSettings) -> None:
    """Look at the broker's settings.

    Raises:
        SettingsError: They make no sense.
    """
    if not settings.host.strip():
        raise SettingsError("host", "is empty; name the broker's host or address")
    if not 1 <= settings.port <= 65535:
        raise SettingsError("port", f"{settings.port} is not from 1 to 65535")
    if not 1 <= settings.keepalive_s <= 65535:
        raise SettingsError("keepalive_s", f"{settings.keepalive_s} is not from 1 to 65535 s")
    if settings.password and settings.password_file:
        raise SettingsError("password", "give password or password_file, not both")
    if (settings.password or settings.password_file) and not settings.user:
        raise SettingsError("user", "is missing beside a password")
    if bool(settings.cert_file) != bool(settings.key_file):
        raise SettingsError("key_file", "cert_file and key_file go together")
    if not settings.tls and (settings.ca_file or settings.cert_file):
        raise SettingsError("tls", "must be true when certificates are given")
