"""Tests for drivers.registry.

Source: hand-worked here.
"""

from __future__ import annotations

import dataclasses
import subprocess
import sys
from importlib.metadata import EntryPoint
from pathlib import Path

import msgspec
import pytest

from drivers.errors import SettingsError
from drivers.registry import GROUP, InstrumentKind, broken_kinds, find_kinds, instrument_kinds

ENTRIES = {
    "serial_lines": {"port": "/dev/none", "fields": ["", "a", "b"]},
    "serial_polled": {"port": "/dev/none", "requests": [{"send": "T?\r", "fields": ["t"]}]},
    "mqtt": {"host": "h", "topics": [{"topic": "cabin/p", "signal": "p"}]},
}
SIGNALS = {"serial_lines": ("a", "b"), "serial_polled": ("t",), "mqtt": ("p",)}
WRONG = {
    "serial_lines": {"fields": []},
    "serial_polled": {"requests": []},
    "mqtt": {"topics": []},
}


def kind_and_settings(name: str, **changes: object) -> tuple[InstrumentKind, msgspec.Struct]:
    """Give a kind with settings decoded as the stand file's are."""
    kind = instrument_kinds()[name]
    return kind, msgspec.convert({**ENTRIES[name], **changes}, kind.settings)


def test_there_are_exactly_these_kinds() -> None:
    assert list(instrument_kinds()) == ["serial_lines", "serial_polled", "mqtt"]
    assert broken_kinds() == {}


@pytest.mark.parametrize("name", ENTRIES)
def test_a_kind_checks_its_settings_names_its_signals_and_makes_its_instrument(
    name: str,
) -> None:
    kind, settings = kind_and_settings(name)

    kind.check(settings)

    assert kind.name == name
    assert kind.title
    assert kind.signals(settings) == SIGNALS[name]
    assert kind.make("panel", settings).signals == SIGNALS[name]


@pytest.mark.parametrize("name", ENTRIES)
def test_a_kind_refuses_settings_that_make_no_sense(name: str) -> None:
    kind, settings = kind_and_settings(name, **WRONG[name])

    with pytest.raises(SettingsError):
        kind.check(settings)


@pytest.mark.parametrize("name", ENTRIES)
def test_a_kind_refuses_settings_that_it_does_not_know(name: str) -> None:
    with pytest.raises(msgspec.ValidationError, match="unknown field"):
        kind_and_settings(name, sped=1)


@pytest.mark.parametrize("name", ENTRIES)
def test_each_setting_of_a_kind_is_described(name: str) -> None:
    settings = instrument_kinds()[name].settings
    described = "".join(row.__doc__ or "" for row in settings.__mro__)

    missing = [key for key in settings.__struct_fields__ if f"{key}: " not in described]
    assert missing == []


def test_naming_and_checking_kinds_loads_no_library_of_a_wire() -> None:
    program = (
        "import sys, drivers.registry as r; r.instrument_kinds();"
        "print([m for m in ('aiomqtt', 'paho', 'serial', 'ssl') if m in sys.modules])"
    )

    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=30
    )

    assert done.stdout == "[]\n"


@pytest.fixture
def other_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """Give the name of a module of another package, with good and bad kinds in it."""
    name = "package_of_others"
    (tmp_path / f"{name}.py").write_text(
        "import dataclasses\n"
        "from drivers.registry import instrument_kinds\n"
        "good = dataclasses.replace(instrument_kinds()['mqtt'], name='good')\n"
        "text = 'no kind'\n"
    )
    (tmp_path / f"{name}_broken.py").write_text("1 / 0\n")
    (tmp_path / f"{name}_garbage.py").write_text("def (\n")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, name, raising=False)
    return name


def test_a_kind_of_another_package_is_found(other_package: str) -> None:
    found = find_kinds([EntryPoint("good", f"{other_package}:good", GROUP)])

    assert found.kinds["good"].title == instrument_kinds()["mqtt"].title
    assert found.broken == {}


@pytest.mark.parametrize(
    ("name", "value", "why"),
    [
        ("far", "no_such_package_here:kind", "ModuleNotFoundError"),
        ("far", "{0}_broken:kind", "ZeroDivisionError"),
        ("far", "{0}_garbage:kind", "SyntaxError"),
        ("far", "{0}:missing", "AttributeError"),
        ("far", "{0}:text", "is no InstrumentKind of that name"),
        ("far", "{0}:good", "is no InstrumentKind of that name"),
        ("mqtt", "{0}:good", "the name is taken"),
    ],
)
def test_a_broken_kind_of_another_package_is_told_and_harms_nothing(
    other_package: str, name: str, value: str, why: str
) -> None:
    offer = EntryPoint(name, value.format(other_package), GROUP)

    found = find_kinds([offer, EntryPoint("good", f"{other_package}:good", GROUP)])

    assert why in found.broken[name]
    assert list(found.kinds) == ["serial_lines", "serial_polled", "mqtt", "good"]
    assert dataclasses.asdict(found.kinds["mqtt"])["name"] == "mqtt"
