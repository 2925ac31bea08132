"""Checks computed channels: inputs, constants, formula, units, clock, and the order of all."""

from __future__ import annotations

import keyword
import re
from dataclasses import dataclass, field

from monitor.channels.formula import FUNCTIONS, Formula, parse_formula
from monitor.channels.formula_units import check_result
from monitor.errors import FormulaError, UnitError, did_you_mean
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.schema import InputTable
from monitor.units import Unit, convert, parse_unit

_QUANTITY = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*)")


@dataclass(slots=True)
class _Names:
    """What the names in one formula stand for. A name is missing where it is wrong itself.

    Attributes:
        units: Unit of each input and constant, as the formula takes it.
        scales: Gain and offset of each input that is taken in another unit than its own.
        values: Constants.
        is_sound: Every name can stand in a formula, so that unknown ones are worth telling.
    """

    units: dict[str, Unit] = field(default_factory=dict)
    scales: dict[str, tuple[float, float]] = field(default_factory=dict)
    values: dict[str, float] = field(default_factory=dict)
    is_sound: bool = True


def check_formulas(draft: Draft) -> None:
    """Note what is wrong with computed channels; parse their formulas; find their order."""
    for channel in draft.channels.values():
        if channel.table.formula is not None:
            _check_formula(draft, channel)
    draft.computed_order = _in_order(draft)


def _check_formula(draft: Draft, channel: ChannelDraft) -> None:
    """Check one formula with its names."""
    report, path = draft.report, channel.path
    if report.has_error_at((*path, "inputs")) or report.has_error_at((*path, "constants")):
        return
    names = _Names()
    for name in channel.table.constants:
        _read_constant(draft, channel, name, names)
    for name in channel.table.inputs:
        _read_input(draft, channel, name, names)
    _check_clock(draft, channel)
    if not channel.table.inputs or not names.is_sound:
        return
    try:
        formula = parse_formula(
            channel.table.formula or "", constants=names.values, scales=names.scales
        )
        _check_names(draft, channel, formula)
        channel.formula = formula
        is_known = names.units.keys() >= {*formula.names, *channel.table.constants}
        if is_known and channel.unit is not None:
            check_result(formula, names.units, channel.unit)
    except FormulaError as error:
        where = f"column {error.column}: " if error.column > 1 else ""
        report.error((*path, "formula"), f"{where}{error.problem}")


def _check_word(
    draft: Draft, channel: ChannelDraft, key: str, name: str, names: _Names
) -> None:
    """A name must be one that a formula can hold."""
    path = (*channel.path, key, name)
    if not (name.isascii() and name.isidentifier()) or keyword.iskeyword(name):
        problem = "a name in a formula is a letter, then letters, digits and _"
    elif name in FUNCTIONS:
        problem = f"{name} is a function; choose another name"
    elif key == "constants" and name in channel.table.inputs:
        problem = f"{name} is an input already"
    else:
        return
    draft.report.error(path, problem)
    names.is_sound = False


def _read_constant(draft: Draft, channel: ChannelDraft, name: str, names: _Names) -> None:
    """Read a constant with its unit, as in ``"101.325 kPa"``."""
    _check_word(draft, channel, "constants", name, names)
    path = (*channel.path, "constants", name)
    found = _QUANTITY.fullmatch(channel.table.constants[name])
    if found is None:
        draft.report.error(path, 'write a number and its unit in quotes, as in "101.325 kPa"')
        return
    try:
        names.units[name] = parse_unit(found[2] or "1")
    except UnitError as error:
        draft.report.error(path, error.problem)
    names.values[name] = float(found[1])


def _read_input(draft: Draft, channel: ChannelDraft, name: str, names: _Names) -> None:
    """Find the channel of an input, and the way to the unit in which it is taken."""
    _check_word(draft, channel, "inputs", name, names)
    path = (*channel.path, "inputs", name)
    wanted = channel.table.inputs[name]
    tag = wanted if isinstance(wanted, str) else wanted.tag
    if tag not in draft.tags:
        near = did_you_mean(tag, draft.tags)
        draft.report.error(path, f"unknown channel {tag!r}{near or '; write one of the tags'}")
        return
    source = draft.channels.get(tag)
    if source is None or source.unit is None:
        return
    names.units[name] = source.unit
    if isinstance(wanted, InputTable):
        try:
            unit = parse_unit(wanted.unit)
            gain, offset = convert(source.unit, unit)
        except UnitError as error:
            draft.report.error((*path, "unit"), f"{error.unit!r} {error.problem}")
            return
        names.units[name] = unit
        names.scales[name] = (float(gain), float(offset))


def _check_clock(draft: Draft, channel: ChannelDraft) -> None:
    """The clock is the tag of an input."""
    tags = channel.input_tags()
    clock = channel.table.clock
    path = channel.path
    if not tags:
        draft.report.error((*path, "inputs"), 'missing; write inputs = { name = "TAG" }')
    elif clock is not None and clock not in tags.values():
        near = f"; did you mean {tags[clock]!r}?" if clock in tags else ""
        near = near or did_you_mean(clock, tags.values())
        listed = ", ".join(dict.fromkeys(tags.values()))
        draft.report.error(
            (*path, "clock"), f"{clock!r} is no input{near or f'; inputs are {listed}'}"
        )


def _check_names(draft: Draft, channel: ChannelDraft, formula: Formula) -> None:
    """Every name in the formula is an input or a constant, and the other way round."""
    known = [*channel.table.inputs, *channel.table.constants]
    path = (*channel.path, "formula")
    unknown = [name for name in formula.names if name not in known]
    for name in unknown:
        near = did_you_mean(name, known)
        draft.report.error(
            path,
            f"column {formula.column_of(name)}: unknown name {name!r}"
            f"{near or '; names are ' + ', '.join(known)}",
        )
    for name in channel.table.inputs:
        if not unknown and name not in formula.names:
            draft.report.error(
                (*channel.path, "inputs", name), "is not used in the formula; take it out"
            )


def _in_order(draft: Draft) -> tuple[str, ...]:
    """Order computed channels so that inputs come first, else as in the file; note circles."""
    needs = {
        channel.tag: set(channel.input_tags().values())
        for channel in draft.channels.values()
        if channel.is_computed
    }
    order: list[str] = []
    while needs:
        ready = [tag for tag, inputs in needs.items() if not inputs & needs.keys()]
        if not ready:
            ready = _circle(needs)
            circle = " -> ".join((*ready, ready[0]))
            first = draft.channels[ready[0]]
            key = "vote" if first.is_voted else "inputs"
            draft.report.error((*first.path, key), f"computed from itself: {circle}")
        order += ready
        for tag in ready:
            del needs[tag]
    return tuple(order)


def _circle(needs: dict[str, set[str]]) -> list[str]:
    """Find channels that need each other, where every channel needs another one."""
    way: list[str] = []
    tag = next(iter(needs))
    while tag not in way:
        way.append(tag)
        tag = next(other for other in needs if other in needs[tag])
    circle = way[way.index(tag) :]
    first = min(circle, key=list(needs).index)
    start = circle.index(first)
    return circle[start:] + circle[:start]
