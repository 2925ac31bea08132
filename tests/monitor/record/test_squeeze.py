"""Tests for monitor.record.squeeze.

Source: hand-worked here.
"""

from __future__ import annotations

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.errors import RecordError
from monitor.record.squeeze import expand, squeeze


@given(st.lists(st.binary(max_size=50), max_size=4))
def test_parts_come_back_as_one(parts: list[bytes]) -> None:
    assert expand(squeeze(parts)) == b"".join(parts)


def test_what_repeats_gets_small() -> None:
    assert len(squeeze([b"abc" * 1000])) < 50


def test_too_much_is_not_written(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("monitor.record.squeeze._MAX_RAW_BYTES", 3)

    with pytest.raises(ValueError, match="a payload of 4 bytes; at most 3"):
        squeeze([b"ab", b"cd"])


@pytest.mark.parametrize(
    ("payload", "why"),
    [
        (b"abc", "a payload of 3 bytes"),
        (struct.pack("<I", 0xFFFFFFFF), "says it is 4294967295 bytes"),
        (struct.pack("<I", 5) + b"nonsense", "cannot be expanded"),
        (squeeze([b"a longer text"])[:-2], "cannot be expanded"),
    ],
)
def test_what_was_never_squeezed_is_refused(payload: bytes, why: str) -> None:
    with pytest.raises(RecordError, match=why):
        expand(payload)
