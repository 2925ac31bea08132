"""Says in plain words why an MQTT broker is not there, and what a person can do about it."""

from __future__ import annotations

from aiomqtt import MqttCodeError, MqttError
from paho.mqtt.reasoncodes import ReasonCode

from drivers.errors import PortLostError, RefusedError
from drivers.transports.broker_settings import BrokerSettings

#: What a broker answers to a connection it will never take as it is, by reason code of MQTT
#: 5.0, table 2-6; the library translates the codes of 3.1.1 into these.
_REFUSALS = {
    132: "set protocol to the other version",
    133: "choose another client_id",
    134: "check user and password",
    135: "check user and password, and what the broker lets this user do",
    138: "the broker has shut this client out; ask who runs it",
}


def lost_error(settings: BrokerSettings, error: Exception) -> PortLostError:
    """Turn what the library raised while connecting into an error for a person."""
    place = f"{settings.host}:{settings.port}"
    if isinstance(error, MqttCodeError) and isinstance(error.rc, ReasonCode):
        why = f"broker {place} refused us: {error.rc}"
        cure = _REFUSALS.get(error.rc.value)
        return RefusedError(why, cure) if cure else PortLostError(why, "see the broker's log")
    text = str(error)
    if "certificate" in text.lower() or "ssl" in text.lower():
        cure = "check ca_file, host (must be the name in its certificate), and that it has TLS"
        return RefusedError(f"no trusted connection to broker {place}: {text}", cure)
    if isinstance(error, MqttError) and "timed out" in text:
        cure = "check host, port, protocol and client_id, and that both sides use TLS or none"
        return PortLostError(f"broker {place} does not answer", cure)
    return PortLostError(
        f"broker {place} is not there: {text}", "check host, port and that the broker runs"
    )


def gone_error(settings: BrokerSettings, error: Exception) -> PortLostError:
    """Describe the loss of a broker that was there."""
    cause = error.__cause__ or error
    why = f"broker {settings.host}:{settings.port} is gone: {cause}"
    return PortLostError(why, "check that the broker runs, and the network")


def unreadable_error(key: str, path: str, error: Exception) -> RefusedError:
    """Describe a file of the settings that cannot be used."""
    text = (error.strerror if isinstance(error, OSError) else None) or str(error)
    return RefusedError(
        f"{key} {path}: {text}", "check the path, who may read the file, and what is in it"
    )
