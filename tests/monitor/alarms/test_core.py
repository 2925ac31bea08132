"""Tests for monitor.alarms.core.

Source: ANSI/ISA-18.2-2016 / IEC 62682 state table by secondary texts (rows normal to returned);
latching rows from a PLC handbook's chapter on alarms, which also leaves to the site what a new
occurrence does to a latched, acknowledged alarm (here: a new alarm). Timing traces from the
same handbook, one character a second.
"""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.alarms.core import AlarmStatus, Core, Prompt, next_core

N, U, A = Core.NORMAL, Core.UNACKNOWLEDGED, Core.ACKNOWLEDGED
R, E, F = Core.RETURNED_UNACKNOWLEDGED, Core.LATCHED_UNACKNOWLEDGED, Core.LATCHED_ACKNOWLEDGED

#: state: after (raised, cleared, acknowledge, reset); cleared as (plain, latching).
PUBLISHED = {
    N: (U, (N, N), N, N),
    U: (U, (R, E), A, U),
    A: (A, (N, F), A, A),
    R: (U, (R, R), N, R),
    E: (U, (E, E), F, E),
    F: (U, (F, F), F, N),
}


@pytest.mark.parametrize(
    ("core", "prompt", "is_latching"), list(itertools.product(Core, Prompt, (False, True)))
)
def test_every_pair_of_the_published_table(
    core: Core, prompt: Prompt, is_latching: bool
) -> None:
    raised, cleared, acknowledged, reset = PUBLISHED[core]
    expected = {
        Prompt.RAISED: raised,
        Prompt.CLEARED: cleared[is_latching],
        Prompt.ACKNOWLEDGE: acknowledged,
        Prompt.RESET: reset,
    }[prompt]

    assert next_core(core, prompt, is_latching=is_latching) is expected


@given(st.lists(st.sampled_from(list(Prompt))))
def test_a_plain_alarm_never_latches(prompts: list[Prompt]) -> None:
    core = N
    for prompt in prompts:
        core = next_core(core, prompt, is_latching=False)

    assert core in (N, U, A, R)


@given(st.lists(st.sampled_from(list(Prompt))))
def test_a_latching_alarm_never_returns_by_itself(prompts: list[Prompt]) -> None:
    core = N
    for prompt in prompts:
        before, core = core, next_core(core, prompt, is_latching=True)
        if core is N and before is not N:
            assert prompt is Prompt.RESET

    assert core is not R


def test_of_a_new_alarm_nothing_is_known_and_no_time_applies() -> None:
    status = AlarmStatus("PT-1.high")

    assert (status.core, status.is_active, status.is_owed) == (Core.NORMAL, False, False)
    assert (status.is_inhibited, status.is_annunciated) == (False, False)
    assert (status.onset_ns, status.true_ns, status.annunciated_ns) == (0, 0, 0)
    assert (status.value, status.quality, status.inhibit_reason) == (None, 0, "")
