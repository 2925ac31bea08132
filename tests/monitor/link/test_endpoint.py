"""Tests for monitor.link.endpoint.

Source: hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.errors import LinkError
from monitor.link.endpoint import Endpoint, decode_endpoint, encode_endpoint

ENDPOINT = Endpoint("ws://127.0.0.1:4711", "secret", 99, "/runs/one", "bench", 12)


def test_what_is_written_can_be_read() -> None:
    assert decode_endpoint(encode_endpoint(ENDPOINT), "engine.json") == ENDPOINT


@pytest.mark.parametrize("data", [b"", b"{}", b"\xff", b'{"url": 1}', b"[1, 2]"])
def test_anything_else_is_refused_with_its_path(data: bytes) -> None:
    with pytest.raises(LinkError, match=r"state/engine\.json: not written by an engine"):
        decode_endpoint(data, "state/engine.json")
