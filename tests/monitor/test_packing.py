"""Tests for monitor.packing.

Source: Hand-worked here.
"""

from __future__ import annotations

import msgspec
import numpy as np

from monitor.packing import Packed, pack, unpack


def test_arrays_come_back_as_they_went_and_may_be_written_to() -> None:
    arrays = {
        "a": np.arange(6, dtype=np.int64).reshape(2, 3),
        "b": np.array([1.5, np.nan]),
        "c": np.zeros((0, 4), dtype=np.uint8),
    }

    data = msgspec.msgpack.encode(pack(arrays))
    back = unpack(msgspec.msgpack.decode(data, type=Packed))
    back["a"][0, 0] = 9

    assert back["a"].tolist() == [[9, 1, 2], [3, 4, 5]]
    assert back["b"].tobytes() == arrays["b"].tobytes()
    assert (back["c"].shape, back["c"].dtype) == ((0, 4), np.uint8)
