"""Tests for monitor.record.layouts.

Source: hand-worked here.
"""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from drivers.reading import Block
from monitor.errors import RecordError
from monitor.record.layouts import LayoutKey, LayoutReader, LayoutWriter, key_of
from monitor.record.squeeze import squeeze
from monitor.samples import Admitted, Floats

KEY = LayoutKey("panel", ("a", "b"), False, False)


def row(*values: float) -> Floats:
    """Give a row of readings."""
    return np.array(values, np.float64)


def test_blocks_share_a_layout_when_nothing_but_the_rows_differs() -> None:
    t_ns = np.array([1], np.int64)
    same = [Block("panel", ("a",), t_ns + n, np.full((1, 1), float(n))) for n in range(2)]
    other = [
        Block("panel", ("b",), t_ns, np.zeros((1, 1))),
        Block("node", ("a",), t_ns, np.zeros((1, 1))),
        Block("panel", ("a",), t_ns, np.zeros((1, 1)), device_ns=t_ns),
        Block("panel", ("a",), t_ns, np.zeros((1, 1)), is_old=True),
    ]

    keys = [key_of(Admitted(block)) for block in same + other]

    assert keys[0] == keys[1]
    assert len(set(keys)) == 5


def test_a_reader_knows_names_and_reference_under_the_writers_id() -> None:
    known = LayoutWriter().get(KEY, row(4.25, np.nan))
    reader = LayoutReader()
    reader.add(known.coded.payload)

    key, reference = reader.get(known.coded.id)

    assert key == KEY
    assert reference.tolist() == [4.25, 0.0] == known.reference.tolist()


def test_a_layout_is_known_once() -> None:
    writer = LayoutWriter()

    assert writer.get(KEY, row(1, 2)) is writer.get(KEY, row(3, 4))


def test_a_reference_is_replaced_when_readings_drift_away_but_not_often() -> None:
    writer = LayoutWriter()
    first = writer.get(KEY, row(1, 2))
    for _ in range(63):
        writer.used(KEY, row(5000, 5000))
    assert writer.get(KEY, row(5000, 5000)) is first

    writer.used(KEY, row(5000, 5000))

    assert writer.get(KEY, row(5001, 5000)).reference.tolist() == [5001, 5000]


def test_a_reference_that_is_near_stays() -> None:
    writer = LayoutWriter()
    first = writer.get(KEY, row(1, 2))
    for _ in range(200):
        writer.used(KEY, row(1, 3))

    assert writer.get(KEY, row(9, 9)) is first


def test_using_an_unknown_layout_does_nothing() -> None:
    writer = LayoutWriter()
    writer.used(KEY, row(1, 2))

    assert writer.get(KEY, row(7, 8)).packs == 0


def test_two_layouts_never_share_an_id(monkeypatch: pytest.MonkeyPatch) -> None:
    checksums = iter([5, 5, 6, 5])
    monkeypatch.setattr("google_crc32c.value", lambda _: next(checksums))
    writer = LayoutWriter()
    other = LayoutKey("node", ("a", "b"), False, False)
    ids = [writer.get(key, row(1, 2)).coded.id for key in (KEY, other)]
    assert ids == [5, 6]

    reader = LayoutReader()
    reader.add(writer.get(KEY, row(1, 2)).coded.payload)

    assert reader.get(5)[0] == KEY


def test_in_a_new_file_only_living_ids_count(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("monitor.record.layouts._MAX_LAYOUTS", 1)
    writer = LayoutWriter()
    first = writer.get(KEY, row(1, 2)).coded.id
    writer.get(LayoutKey("node", (), False, False), row())
    writer.restart()

    assert writer.get(KEY, row(1, 2)).coded.id == first


def test_layouts_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("monitor.record.layouts._MAX_LAYOUTS", 2)
    writer, reader = LayoutWriter(), LayoutReader()
    ids = []
    for name in "abc":
        known = writer.get(LayoutKey(name, (), False, False), row())
        reader.add(known.coded.payload)
        ids.append(known.coded.id)

    assert reader.get(ids[2])[0].instrument == "c"
    with pytest.raises(RecordError, match=f"the layout {ids[0]:08x} of a pack is lost"):
        reader.get(ids[0])
    assert len(writer._known) == 1


def test_what_is_no_layout_is_refused() -> None:
    reader = LayoutReader()

    with pytest.raises(RecordError, match="a layout cannot be read"):
        reader.add(squeeze([b"\xc1"]))
    with pytest.raises(RecordError, match="does not fit its signals"):
        reader.add(squeeze([msgspec.msgpack.encode([["panel", ["a"], False, False], b"", 0])]))
