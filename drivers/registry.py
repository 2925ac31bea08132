"""Names of instrument kinds, and the drivers that other packages bring."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from importlib.metadata import EntryPoint, entry_points
from typing import Any

import msgspec

from drivers.instruments import (
    mqtt,
    mqtt_settings,
    polled_settings,
    serial_lines,
    serial_polled,
)
from drivers.reading import Instrument

#: Packages offer kinds as entry points of this group. The entry point's name is the kind's
#: name; it points at an :class:`InstrumentKind`.
GROUP = "standwatch.instruments"

#: What importing another package may raise. It must not keep the rest from working.
_IMPORT_FAILURES = (
    ImportError,
    SyntaxError,
    AttributeError,
    NameError,
    LookupError,
    TypeError,
    ValueError,
    ArithmeticError,
    AssertionError,
    OSError,
    RuntimeError,
)


@dataclass(frozen=True, slots=True)
class InstrumentKind:
    """One way to talk, by name.

    Attributes:
        name: The word in the stand file, for example ``serial_lines``.
        title: One line for people.
        settings: Frozen struct that forbids unknown fields; decodes the stand file's entry.
        check: Looks at settings as a whole; raises ``SettingsError``.
        signals: Every signal that an instrument with these settings delivers.
        make: Makes the instrument from its name and settings.
    """

    name: str
    title: str
    settings: type[msgspec.Struct]
    check: Callable[[Any], None]
    signals: Callable[[Any], tuple[str, ...]]
    make: Callable[[str, Any], Instrument]


@dataclass(slots=True)
class Found:
    """Kinds that this installation knows.

    Attributes:
        kinds: The kinds, by name.
        broken: Why a kind of another package cannot be used, by name.
    """

    kinds: dict[str, InstrumentKind] = field(default_factory=dict)
    broken: dict[str, str] = field(default_factory=dict)


def instrument_kinds() -> dict[str, InstrumentKind]:
    """Give every kind that this installation knows, by name."""
    return find_kinds().kinds


def broken_kinds() -> dict[str, str]:
    """Give kinds of other packages that cannot be used: why, by name. None is fatal."""
    return find_kinds().broken


def find_kinds(offered: Iterable[EntryPoint] | None = None) -> Found:
    """Collect our own kinds and those of other packages.

    Args:
        offered: What other packages offer; None looks at what is installed.
    """
    found = Found({kind.name: kind for kind in _own_kinds()})
    for offer in entry_points(group=GROUP) if offered is None else offered:
        if offer.name in found.kinds:
            found.broken[offer.name] = f"{offer.value}: the name is taken"
            continue
        try:
            kind = offer.load()
        except _IMPORT_FAILURES as error:
            found.broken[offer.name] = f"{offer.value}: {type(error).__name__}: {error}"
            continue
        if isinstance(kind, InstrumentKind) and kind.name == offer.name:
            found.kinds[kind.name] = kind
        else:
            found.broken[offer.name] = f"{offer.value} is no InstrumentKind of that name"
    return found


def _own_kinds() -> tuple[InstrumentKind, ...]:
    """Give the kinds of this package. Their libraries load when an instrument runs."""
    return (
        InstrumentKind(
            "serial_lines",
            "streams lines of text over a serial port",
            serial_lines.SerialLinesSettings,
            serial_lines.check,
            serial_lines.signals,
            serial_lines.SerialLines,
        ),
        InstrumentKind(
            "serial_polled",
            "answers requests over a serial port, one line each",
            polled_settings.SerialPolledSettings,
            polled_settings.check,
            polled_settings.signals,
            serial_polled.SerialPolled,
        ),
        InstrumentKind(
            "mqtt",
            "publishes numbers or JSON to an MQTT broker",
            mqtt_settings.MqttSettings,
            mqtt_settings.check,
            mqtt_settings.signals,
            mqtt.Mqtt,
        ),
    )
