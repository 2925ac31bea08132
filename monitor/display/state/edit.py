"""Editing a limit in mid-run: what can be changed, and what a person's entries mean."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from monitor.display.state.index import Place
from monitor.display.state.kinds import (
    SETPOINT_IN,
    edit_amount,
    edit_name,
    edit_text,
    edit_unit,
    kind_text,
    limit_text,
    setpoint_now,
)
from monitor.display.state.model import Model
from monitor.display.state.text import MINUS, exact_number
from monitor.link.messages import AlarmState

#: Alarms of this priority take a second name to inhibit or edit.
TWO_NAMES = "top"


@dataclass(frozen=True, slots=True)
class EditField:
    """One figure that can be changed.

    Attributes:
        key: Word of the edit.
        title: For people.
        now: As it is; None where there is none yet.
        now_text: The same with its unit.
        unit: Unit to write it in.
    """

    key: str
    title: str
    now: float | None
    now_text: str
    unit: str

    @property
    def entry(self) -> str:
        """Give the number as it stands in the field to begin with."""
        return "" if self.now is None else exact_number(self.now)


@dataclass(frozen=True, slots=True)
class EditForm:
    """What can be edited of one limit, and whether a second person has to agree."""

    place: Place
    title: str
    fields: tuple[EditField, ...]
    needs_second: bool


@dataclass(frozen=True, slots=True)
class Verdict:
    """What entries mean: changes to make, each in words, or what is wrong with them."""

    changes: dict[str, float]
    told: tuple[str, ...]
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """A limit to choose: its id, and its name with setpoint and priority."""

    limit: str
    text: str


def limit_choices(model: Model, tag: str) -> tuple[Choice, ...]:
    """List the limits of a channel, in the order of the stand."""
    number = model.index.channel.get(tag)
    if number is None:
        return ()
    info = model.index.stand.channels[number]
    return tuple(
        Choice(
            limit.id,
            f"{limit_text(limit, info, setpoint_now(limit, model.alarms))}"
            f"  ({limit.priority} priority)",
        )
        for limit in info.limits
    )


def limit_title(model: Model, limit_id: str) -> str:
    """Name a limit with what its alarm says."""
    place = model.index.limits[limit_id]
    return f"{place.tag} {kind_text(place.limit)}: {place.limit.message}".removesuffix(": ")


def needs_second(model: Model, limit_id: str) -> bool:
    """Tell whether a second person has to agree to inhibit or edit a limit."""
    place = model.index.limits.get(limit_id)
    is_top = place is not None and place.limit.priority == TWO_NAMES
    return is_top or limit_id in model.index.stand.behind_top


@dataclass(frozen=True, slots=True)
class ForceForm:
    """A channel whose value may be forced.

    Attributes:
        tag: The channel.
        title: Its tag and title.
        unit: Unit of the value.
        needs_second: Whether a second person has to agree: a top priority alarm looks at it.
    """

    tag: str
    title: str
    unit: str
    needs_second: bool


def force_form(model: Model, tag: str) -> ForceForm | None:
    """Lay out how a channel is forced; None where it is not measured, and cannot be."""
    number = model.index.channel.get(tag)
    if number is None or not model.index.stand.channels[number].instrument:
        return None
    info = model.index.stand.channels[number]
    is_top = any(limit.priority == TWO_NAMES for limit in info.limits)
    second = is_top or tag in model.index.stand.behind_top
    return ForceForm(tag, f"{tag} {info.title}".strip(), info.unit, second)


def number_problem(text: str) -> str:
    """Say why *text* does not do as a value; empty when it does."""
    return "" if number_of(text.strip()) is not None else "Give the value as a number."


def second_problem(by: str, second: str) -> str:
    """Say why a second name does not do; empty when it does."""
    if not second.strip():
        return "Top priority: a second person has to agree."
    if second.strip().casefold() == by.strip().casefold():
        return "The second name has to be another person's."
    return ""


def edit_form(model: Model, limit_id: str) -> EditForm | None:
    """Lay out what can be edited of a limit; None where the stand has no such limit."""
    place = model.index.limits.get(limit_id)
    if place is None:
        return None
    alarm = model.alarms.get(limit_id, AlarmState(limit_id))
    fields = tuple(
        EditField(
            key,
            _title(model, key),
            now,
            edit_amount(place.limit, place.channel, key, now),
            "s" if key.endswith("_delay_s") else edit_unit(place.limit, place.channel),
        )
        for key, now in _present(model, place, alarm).items()
    )
    return EditForm(place, limit_title(model, limit_id), fields, needs_second(model, limit_id))


def _title(model: Model, key: str) -> str:
    """Name what is changed, phases and modes by their titles."""
    if not key.startswith(SETPOINT_IN):
        return edit_name(key)
    return f"setpoint in {model.index.place_title(key.removeprefix(SETPOINT_IN))}"


def _present(model: Model, place: Place, alarm: AlarmState) -> dict[str, float | None]:
    """Give what a limit is like now: as the stand file has it, and as it was edited since."""
    limit = place.limit
    present: dict[str, float | None] = {}
    if limit.setpoint is not None:
        present["setpoint"] = limit.setpoint
        here = [name for name in (model.phase.name, model.phase.mode) if name]
        for name in dict.fromkeys([*limit.setpoint_in, *here]):
            present[SETPOINT_IN + name] = limit.setpoint_in.get(name)
        present["deadband"] = limit.deadband
    if not limit.n_of_m[1]:
        present["on_delay_s"] = limit.on_delay_s
    present["off_delay_s"] = limit.off_delay_s
    return present | dict(alarm.edits)


def judge_edit(form: EditForm, entries: Mapping[str, str]) -> Verdict:
    """Read what a person wrote, by the key of each field; an empty field changes nothing."""
    changes: dict[str, float] = {}
    for field in form.fields:
        text = entries.get(field.key, "").strip()
        value = number_of(text)
        if text and value is None:
            return Verdict({}, (), f"{field.title}: {text!r} is no number.")
        if value is not None and value < 0 and not field.key.startswith("setpoint"):
            return Verdict({}, (), f"{field.title}: cannot be below 0.")
        if value is not None and text != field.entry and value != field.now:
            changes[field.key] = value
    told = tuple(
        edit_text(
            form.place.limit, form.place.channel, field.key, field.now, changes[field.key]
        )
        for field in form.fields
        if field.key in changes
    )
    return Verdict(changes, told, "" if changes else "Nothing is changed yet.")


def number_of(text: str) -> float | None:
    """Read a number as people write it; None where it is none."""
    try:
        value = float(text.replace(",", ".").replace(MINUS, "-"))
    except ValueError:
        return None
    return value if math.isfinite(value) else None
