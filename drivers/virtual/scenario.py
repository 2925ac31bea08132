"""A script for the rig, as data: what is moved, what breaks, what the operator is told."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from itertools import pairwise
from pathlib import Path
from typing import Any

from drivers.virtual.controls import Controls
from drivers.virtual.faults import Fault
from drivers.virtual.rig import Rig

_FOLDER = Path(__file__).with_name("scenarios")
_CONTROLS = {entry.name for entry in fields(Controls)}
_STEP_KEYS = {"at_s", "set", "fault_on", "fault_off", "enter_phase", "note"}


@dataclass(frozen=True, slots=True)
class Step:
    """What happens at one time.

    Attributes:
        at_s: Rig time, in s after the start.
        moves: Controls that are moved, with their new positions.
        fault_on: Faults that begin.
        fault_off: Faults that end; their size is not looked at.
        enter_phase: Phase that the operator enters now; empty for none.
        note: What the operator would write down; empty for nothing.
    """

    at_s: float
    moves: Mapping[str, float | bool]
    fault_on: tuple[Fault, ...] = ()
    fault_off: tuple[Fault, ...] = ()
    enter_phase: str = ""
    note: str = ""

    @property
    def wants_operator(self) -> bool:
        """Whether a person has to do or write something."""
        return bool(self.enter_phase or self.note)


@dataclass(frozen=True, slots=True)
class Scenario:
    """A script, steps in order of time, over at *end_s* of rig time."""

    title: str
    end_s: float
    steps: tuple[Step, ...]


class Script:
    """A scenario being played on a rig."""

    def __init__(self, scenario: Scenario, rig: Rig) -> None:
        """Begin before its first step."""
        self.scenario = scenario
        self._rig = rig
        self._next = 0

    def due(self) -> list[Step]:
        """Do all steps whose time has come; give them."""
        steps = self.scenario.steps
        done = []
        while self._next < len(steps) and steps[self._next].at_s <= self._rig.at_s + 1e-9:
            step = steps[self._next]
            self._do(step)
            done.append(step)
            self._next += 1
        return done

    @property
    def is_over(self) -> bool:
        """Whether its time is up."""
        return self._rig.at_s + 1e-9 >= self.scenario.end_s

    def _do(self, step: Step) -> None:
        """Move what it moves, break what it breaks."""
        for name, position in step.moves.items():
            setattr(self._rig.controls, name, position)
        for fault in step.fault_on:
            self._rig.faults.set(fault)
        for fault in step.fault_off:
            self._rig.faults.clear(fault.kind, fault.target)


def scenario_names() -> list[str]:
    """Name every scenario shipped."""
    return sorted(path.stem for path in _FOLDER.glob("*.toml"))


def load_scenario(name: str) -> Scenario:
    """Read a scenario shipped with the rig.

    Raises:
        ValueError: There is none of that name, or a step makes no sense; mend the file.
    """
    path = _FOLDER / f"{name}.toml"
    if not path.is_file():
        raise ValueError(f"no scenario {name!r}; there are: {', '.join(scenario_names())}")
    return scenario_from(tomllib.loads(path.read_text(encoding="utf-8")))


def scenario_from(data: Mapping[str, Any]) -> Scenario:
    """Make a scenario from its decoded file.

    Raises:
        ValueError: A step makes no sense; the text names its time and the key.
    """
    steps = tuple(_step_from(entry) for entry in data["steps"])
    if any(one.at_s > two.at_s for one, two in pairwise(steps)):
        raise ValueError("the steps are not in order of time")
    return Scenario(str(data["title"]), float(data["end_s"]), steps)


def _step_from(entry: Mapping[str, Any]) -> Step:
    """Make one step."""
    at_s = float(entry["at_s"])
    unknown = set(entry) - _STEP_KEYS
    if unknown:
        raise ValueError(f"step at {at_s:g} s: unknown key {sorted(unknown)}")
    moves = dict(entry.get("set", {}))
    unknown = set(moves) - _CONTROLS
    if unknown:
        raise ValueError(f"step at {at_s:g} s: no control {sorted(unknown)}")
    return Step(
        at_s=at_s,
        moves=moves,
        fault_on=tuple(Fault(**fault) for fault in entry.get("fault_on", ())),
        fault_off=tuple(Fault(**fault) for fault in entry.get("fault_off", ())),
        enter_phase=str(entry.get("enter_phase", "")),
        note=str(entry.get("note", "")),
    )
