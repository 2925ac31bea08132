"""Layouts: the names of columns and a reference for each, written once and named by packs."""

from __future__ import annotations

from dataclasses import dataclass

import google_crc32c
import msgspec
import numpy as np

from monitor.errors import RecordError
from monitor.record.columns import is_far
from monitor.record.squeeze import expand, squeeze
from monitor.samples import Admitted, Bytes, Floats

#: Packs after which a reference may be replaced by a nearer one.
_REFERENCE_PACKS = 64
#: Layouts remembered; a stand has tens. A reader drops the oldest: packs name near ones.
_MAX_LAYOUTS = 4096


class LayoutKey(msgspec.Struct, frozen=True, array_like=True):
    """What blocks must share to lie in the same columns."""

    instrument: str
    signals: tuple[str, ...]
    has_device: bool
    is_old: bool


class _Layout(msgspec.Struct, frozen=True, array_like=True):
    """As written. *reference* is one float64 a signal, little-endian.

    *salt* keeps two layouts of one file from having the same checksum.
    """

    key: LayoutKey
    reference: bytes
    salt: int


@dataclass(frozen=True, slots=True)
class CodedLayout:
    """A layout as written. *id* is what packs call it."""

    id: int
    payload: bytes


@dataclass(slots=True)
class Known:
    """What the encoder knows of a layout. *scales* are those its columns had last."""

    coded: CodedLayout
    reference: Floats
    scales: Bytes
    packs: int = 0


def key_of(admitted: Admitted) -> LayoutKey:
    """Give the layout that a block belongs to."""
    block = admitted.block
    has_device = block.device_ns is not None
    return LayoutKey(block.instrument, block.signals, has_device, block.is_old)


class LayoutWriter:
    """Gives each layout its reference and its id."""

    def __init__(self) -> None:
        """Know none."""
        self._known: dict[LayoutKey, Known] = {}
        self._ids: set[int] = set()

    def restart(self) -> None:
        """A new file begins: only the ids that can occur in it need to differ."""
        self._ids = {known.coded.id for known in self._known.values()}

    def get(self, key: LayoutKey, first: Floats) -> Known:
        """Give what is known of a layout; *first* becomes the reference of a new one."""
        known = self._known.get(key)
        if known is None:
            if len(self._known) >= _MAX_LAYOUTS:
                self._known.clear()
            reference = np.where(np.isfinite(first), first, 0.0)
            scales = np.zeros(len(reference), np.uint8)
            known = Known(self._coded(key, reference), reference, scales)
            self._known[key] = known
        return known

    def used(self, key: LayoutKey, last: Floats) -> None:
        """Count a pack; forget the reference when *last* has drifted away from it."""
        known = self._known.get(key)
        if known is None:
            return
        known.packs += 1
        if known.packs % _REFERENCE_PACKS == 0 and is_far(last, known.reference, known.scales):
            del self._known[key]

    def _coded(self, key: LayoutKey, reference: Floats) -> CodedLayout:
        """Write a layout down under a checksum that no other one of this file has."""
        salt = 0
        while True:
            raw = msgspec.msgpack.encode(_Layout(key, reference.astype("<f8").tobytes(), salt))
            number = int(google_crc32c.value(raw))
            if number not in self._ids:
                self._ids.add(number)
                return CodedLayout(number, squeeze([raw]))
            salt += 1


class LayoutReader:
    """Layouts by the ids that packs use."""

    def __init__(self) -> None:
        """Know none."""
        self._known: dict[int, tuple[LayoutKey, Floats]] = {}

    def add(self, payload: bytes) -> None:
        """Learn a layout.

        Raises:
            RecordError: The payload is none.
        """
        raw = expand(payload)
        try:
            layout = msgspec.msgpack.decode(raw, type=_Layout)
        except msgspec.DecodeError as error:
            raise RecordError("input log", f"a layout cannot be read: {error}") from error
        if len(layout.reference) != 8 * len(layout.key.signals):
            raise RecordError("input log", "a layout whose reference does not fit its signals")
        reference = np.frombuffer(layout.reference, "<f8").astype(np.float64)
        if len(self._known) >= _MAX_LAYOUTS:
            del self._known[next(iter(self._known))]
        self._known[int(google_crc32c.value(raw))] = (layout.key, reference)

    def get(self, number: int) -> tuple[LayoutKey, Floats]:
        """Give key and reference of a layout.

        Raises:
            RecordError: It was not read before; its frame was damaged.
        """
        found = self._known.get(number)
        if found is None:
            raise RecordError("input log", f"the layout {number:08x} of a pack is lost")
        return found
