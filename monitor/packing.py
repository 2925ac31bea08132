"""Named arrays to plain structures and back, for checkpoints."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray


class PackedArray(msgspec.Struct, array_like=True):
    """An array as its type, shape and bytes."""

    dtype: str
    shape: tuple[int, ...]
    data: bytes


Packed = dict[str, PackedArray]


def pack(arrays: Mapping[str, NDArray[Any]]) -> Packed:
    """Turn arrays into structures that msgspec can write."""
    return {
        name: PackedArray(array.dtype.str, array.shape, np.ascontiguousarray(array).tobytes())
        for name, array in arrays.items()
    }


def unpack(packed: Packed) -> dict[str, NDArray[Any]]:
    """Give back what :func:`pack` took, as arrays of their own that may be written to."""
    return {
        name: np.frombuffer(row.data, dtype=row.dtype).reshape(row.shape).copy()
        for name, row in packed.items()
    }
