"""Refuses settings that cannot be right, in words that name the key and the cure."""

from __future__ import annotations

from collections.abc import Sequence

from drivers.errors import SettingsError


def check_range(key: str, value: float, bounds: tuple[float, float], unit: str) -> None:
    """Refuse a number outside its bounds, both of which are allowed.

    Raises:
        SettingsError: It is outside.
    """
    low, high = bounds
    if not low <= value <= high:
        raise SettingsError(key, f"{value:g} is not from {low:g} to {high:g} {unit}".rstrip())


def check_text(key: str, text: str) -> None:
    """Refuse text that cannot stand in a line.

    Raises:
        SettingsError: It holds a line end or is not ASCII.
    """
    if not text.isascii() or set(text) & {"\r", "\n"}:
        raise SettingsError(key, f"{text!a} must be ASCII without line ends")


def check_fields(fields: Sequence[str], key: str) -> None:
    """Refuse fields of which none is wanted, or two have one name.

    Raises:
        SettingsError: They make no sense.
    """
    named = [name for name in fields if name]
    if not named:
        raise SettingsError(key, 'names no signal; write for example ["", "pressure_ma"]')
    for name in named:
        if name != name.strip() or not name.isprintable():
            raise SettingsError(
                key, f"{name!r}: no spaces around a name, no control characters"
            )
        if named.count(name) > 1:
            raise SettingsError(
                key, f"{name!r} stands twice; names are unique in an instrument"
            )


def check_names(names: Sequence[str], key: str) -> None:
    """Refuse names of signals that are ill-formed or stand twice.

    Raises:
        SettingsError: They do.
    """
    for name in names:
        if not name or name != name.strip() or not name.isprintable():
            raise SettingsError(
                key, f"{name!r}: no spaces around a name, no control characters"
            )
        if names.count(name) > 1:
            raise SettingsError(
                key, f"{name!r} stands twice; names are unique in an instrument"
            )
