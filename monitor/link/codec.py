"""Messages to bytes and back."""

from __future__ import annotations

import msgspec

from monitor.errors import LinkError
from monitor.link.messages import FromDisplay, FromEngine

_ENCODER = msgspec.msgpack.Encoder()
_FROM_DISPLAY: msgspec.msgpack.Decoder[FromDisplay] = msgspec.msgpack.Decoder(FromDisplay)
_FROM_ENGINE: msgspec.msgpack.Decoder[FromEngine] = msgspec.msgpack.Decoder(FromEngine)


def encode(message: FromDisplay | FromEngine) -> bytes:
    """Encode a message of either side."""
    return _ENCODER.encode(message)


def decode_from_display(data: bytes) -> FromDisplay:
    """Decode what a display sent.

    Raises:
        LinkError: The bytes are no known message; close the connection.
    """
    try:
        return _FROM_DISPLAY.decode(data)
    except msgspec.DecodeError as error:
        raise LinkError(f"not a message of a display: {error}") from error


def decode_from_engine(data: bytes) -> FromEngine:
    """Decode what an engine sent.

    Raises:
        LinkError: The bytes are no known message; close the connection.
    """
    try:
        return _FROM_ENGINE.decode(data)
    except msgspec.DecodeError as error:
        raise LinkError(f"not a message of an engine: {error}") from error
