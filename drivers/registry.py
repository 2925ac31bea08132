"""Names of instrument kinds, and the drivers that other packages bring."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import msgspec

from drivers.reading import Instrument


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


def instrument_kinds() -> dict[str, InstrumentKind]:
    """Give every kind that this installation knows, by name."""
    return {}
