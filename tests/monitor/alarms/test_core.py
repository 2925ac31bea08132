"""Tests for monitor.alarms.core.

Source: ANSI/ISA-18.2-2016 / IEC 62682:2022 state-transition table, by secondary texts: rows
normal to returned from two texts; latching rows from a PLC handbook's chapter on alarms; that
every state can go to the three suppressed ones and comes back to normal or unacknowledged by
the live condition from memory of ISA-18.2, figure 3. Two cells are options of the alarm or of
the site in the published table, and are so here: what RTN leads to, and that a new occurrence
of a latched, acknowledged alarm is a new alarm.
"""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.alarms.core import (
    Core,
    CoreTable,
    Inhibit,
    Prompt,
    next_core,
    next_flags,
    state_of,
    table_of,
)

#: The published names of the states, by ours.
NAMES: dict[Core | Inhibit, str] = {
    Core.NORMAL: "Normal",
    Core.UNACKNOWLEDGED: "Unack",
    Core.ACKNOWLEDGED: "Ack",
    Core.RETURNED_UNACKNOWLEDGED: "RTN-unack",
    Core.LATCHED_UNACKNOWLEDGED: "Latched-unack",
    Core.LATCHED_ACKNOWLEDGED: "Latched-ack",
    Inhibit.SHELVED: "Shelved",
    Inhibit.SUPPRESSED: "SBD",
    Inhibit.OUT_OF_SERVICE: "OOS",
}

EVENTS = ("ALM", "RTN", "ACK", "RESET", "REALARM", "SHELVE", "SUP", "OOS")
#: The published table, row by row; "-" is: stay, no event.
PUBLISHED = """
Normal         Unack  -          -           -       -      Shelved  SBD  OOS
Unack          -      (returned) Ack         -       Unack  Shelved  SBD  OOS
Ack            -      (cleared)  -           -       Unack  Shelved  SBD  OOS
RTN-unack      Unack  -          Normal      -       -      Shelved  SBD  OOS
Latched-unack  Unack  -          Latched-ack -       -      Shelved  SBD  OOS
Latched-ack    Unack  -          -           Normal  -      Shelved  SBD  OOS
Shelved        -      -          -           -       -      -        SBD  OOS
SBD            -      -          -           -       -      -        -    OOS
OOS            -      -          -           -       -      -        -    -
"""
ROWS = {row.split()[0]: row.split()[1:] for row in PUBLISHED.strip().splitlines()}

#: What the published table leaves to the alarm: (returned), (cleared).
OPTIONS: dict[str, tuple[str, str]] = {
    "acknowledged after return": ("RTN-unack", "Normal"),
    "no acknowledging after return": ("Normal", "Normal"),
    "latching": ("Latched-unack", "Latched-ack"),
}
TABLES: dict[str, CoreTable] = {
    "acknowledged after return": table_of(is_latching=False),
    "no acknowledging after return": table_of(is_latching=False, clears_by_itself=True),
    "latching": table_of(is_latching=True),
}

#: Events that end an inhibition, with what they end.
LEAVING = {
    "UNSHELVE": Inhibit.SHELVED,
    "T_SHELVE": Inhibit.SHELVED,
    "UNSUP": Inhibit.SUPPRESSED,
    "RTS": Inhibit.OUT_OF_SERVICE,
}


def expected_after(state: str, event: str, option: str) -> str:
    """Give what the published table says."""
    cell = ROWS[state][EVENTS.index(event)]
    returned, cleared = OPTIONS[option]
    return {"-": state, "(returned)": returned, "(cleared)": cleared}.get(cell, cell)


def state_after(core: Core, flags: Inhibit, event: str, option: str) -> str:
    """Give what the product says."""
    prompt = Prompt(event)
    after = state_of(next_core(core, prompt, TABLES[option]), next_flags(flags, prompt))
    return NAMES[after]


def test_the_published_table_has_every_state_and_every_event() -> None:
    assert set(ROWS) == set(NAMES.values())
    assert {len(row) for row in ROWS.values()} == {len(EVENTS)}
    assert {*EVENTS, *LEAVING} == {prompt.value for prompt in Prompt}


@pytest.mark.parametrize("option", OPTIONS)
@pytest.mark.parametrize(("core", "event"), list(itertools.product(Core, EVENTS)))
def test_every_pair_of_the_published_table_outside_suppression(
    core: Core, event: str, option: str
) -> None:
    expected = expected_after(NAMES[core], event, option)

    assert state_after(core, Inhibit.NONE, event, option) == expected


@pytest.mark.parametrize("flag", [flag for flag in Inhibit if flag])
@pytest.mark.parametrize(("core", "event"), list(itertools.product(Core, EVENTS)))
def test_every_pair_of_the_published_table_in_suppression(
    core: Core, event: str, flag: Inhibit
) -> None:
    expected = expected_after(NAMES[flag], event, "latching")

    assert state_after(core, flag, event, "latching") == expected


@pytest.mark.parametrize(("event", "flag"), LEAVING.items())
@pytest.mark.parametrize(
    ("core", "expected"), [(Core.NORMAL, "Normal"), (Core.UNACKNOWLEDGED, "Unack")]
)
def test_leaving_a_suppression_gives_normal_or_unacknowledged_by_the_condition(
    event: str, flag: Inhibit, core: Core, expected: str
) -> None:
    assert state_after(core, flag, event, "latching") == expected


@pytest.mark.parametrize(("event", "flag"), LEAVING.items())
@pytest.mark.parametrize("core", Core)
def test_leaving_a_suppression_loses_neither_an_acknowledgement_nor_a_latch(
    event: str, flag: Inhibit, core: Core
) -> None:
    assert state_after(core, flag, event, "latching") == NAMES[core]


@pytest.mark.parametrize(("event", "core"), list(itertools.product(LEAVING, Core)))
def test_leaving_what_it_is_not_in_changes_nothing(event: str, core: Core) -> None:
    assert state_after(core, Inhibit.NONE, event, "latching") == NAMES[core]


@pytest.mark.parametrize(("event", "flag"), LEAVING.items())
def test_leaving_one_suppression_keeps_the_others(event: str, flag: Inhibit) -> None:
    everything = Inhibit.SHELVED | Inhibit.SUPPRESSED | Inhibit.OUT_OF_SERVICE

    assert next_flags(everything, Prompt(event)) == everything & ~flag


@pytest.mark.parametrize("event", ["ALM", "RTN", "ACK", "RESET", "REALARM"])
@pytest.mark.parametrize("core", Core)
def test_what_is_suppressed_goes_on_being_evaluated(core: Core, event: str) -> None:
    table = TABLES["latching"]

    assert next_flags(Inhibit.SHELVED, Prompt(event)) == Inhibit.SHELVED
    assert state_after(
        next_core(core, Prompt(event), table), Inhibit.SHELVED, "UNSHELVE", "latching"
    ) == expected_after(NAMES[core], event, "latching")


@given(st.lists(st.sampled_from(list(Prompt))))
def test_a_plain_alarm_never_latches(prompts: list[Prompt]) -> None:
    core = Core.NORMAL
    for prompt in prompts:
        core = next_core(core, prompt, TABLES["acknowledged after return"])

    assert not NAMES[core].startswith("Latched")


@given(st.lists(st.sampled_from(list(Prompt))))
def test_a_latching_alarm_never_returns_by_itself(prompts: list[Prompt]) -> None:
    core = Core.NORMAL
    for prompt in prompts:
        before, core = core, next_core(core, prompt, TABLES["latching"])
        if core is Core.NORMAL and before is not Core.NORMAL:
            assert prompt is Prompt.RESET

    assert core is not Core.RETURNED_UNACKNOWLEDGED


def test_a_latch_outweighs_that_an_alarm_clears_by_itself() -> None:
    assert table_of(is_latching=True, clears_by_itself=True) is TABLES["latching"]
