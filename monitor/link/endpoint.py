"""Where an engine listens and the word it wants to hear: the content of ``engine.json``."""

from __future__ import annotations

import msgspec

from monitor.errors import LinkError

#: Name of the file in the state folder; readable by the user only.
ENDPOINT_FILE = "engine.json"


class Endpoint(msgspec.Struct, frozen=True):
    """How to reach a running engine.

    Attributes:
        url: ``ws://127.0.0.1:<port>``.
        token: What ``Hello`` must carry.
        pid: Process id of the engine.
        run: Path of the run folder.
        stand: Name of the stand.
        started_ns: When the run began, in data time.
    """

    url: str
    token: str
    pid: int
    run: str
    stand: str
    started_ns: int


_DECODER = msgspec.json.Decoder(Endpoint)


def encode_endpoint(endpoint: Endpoint) -> bytes:
    """Give the bytes of the file."""
    return msgspec.json.format(msgspec.json.encode(endpoint)) + b"\n"


def decode_endpoint(data: bytes, path: str) -> Endpoint:
    """Read the bytes of the file; *path* only for the message.

    Raises:
        LinkError: They are not what an engine writes.
    """
    try:
        return _DECODER.decode(data)
    except msgspec.DecodeError as error:
        raise LinkError(f"{path}: not written by an engine ({error}); start one") from error
