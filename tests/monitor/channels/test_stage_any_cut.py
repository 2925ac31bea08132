"""Tests for monitor.channels.stage.

Source: Hand-worked here: the slow reference in slow.py, written from the rules of time and
quality in DEVELOPERS.md; and that results must not depend on how input is cut or ordered.
"""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.channels.plan import ChannelsPlan, Derived
from tests.monitor.channels.everything import plan_of_everything
from tests.monitor.channels.made import (
    START_NS,
    Run,
    run_in_steps,
    runs,
    tick,
)
from tests.monitor.channels.slow import Sample, slow_rows

PLAN = plan_of_everything()
CUTS = st.lists(st.integers(0, 60), max_size=20)


def cuts_of(run: Run, ticks: list[int]) -> list[int]:
    """Give the ends of steps, empty ones among them, up to the end of *run*."""
    return [*sorted(min(tick(t), run.until_ns) for t in ticks), run.until_ns]


def as_bytes(rows: list[Sample]) -> bytes:
    """Write samples as run_in_steps does."""
    return b" ".join(repr((t, v, int(q))).encode() for t, v, q in rows)


def alone(tag: str) -> ChannelsPlan:
    """Give the plan with one measured channel only, and the cold junction that it needs."""
    one = PLAN.measured[PLAN.column[tag]]
    needed = getattr(one.conversion, "cold_junction_tag", "")
    rows = [row for row in PLAN.measured if row.tag in (tag, needed)]
    return ChannelsPlan(tuple(rows))


@given(runs())
@settings(max_examples=150)
def test_it_gives_what_the_slow_reference_gives(run: Run) -> None:
    slow = slow_rows(PLAN, run.blocks, run.controls, (START_NS, run.until_ns), run.phases)

    got = run_in_steps(PLAN, run, [run.until_ns])

    assert {tag: got[tag] for tag in slow} == {tag: as_bytes(slow[tag]) for tag in slow}


@given(runs(), CUTS, st.integers(-1, 20))
@settings(max_examples=150)
def test_any_cut_into_steps_and_any_restart_gives_the_same_bytes(
    run: Run, ticks: list[int], restore_before: int
) -> None:
    whole = run_in_steps(PLAN, run, [run.until_ns])

    assert run_in_steps(PLAN, run, cuts_of(run, ticks), restore_before) == whole


@given(runs(), CUTS)
@settings(max_examples=60)
def test_the_order_in_which_instruments_are_handed_over_does_not_matter(
    run: Run, ticks: list[int]
) -> None:
    mirrored = replace(run, blocks=tuple(sorted(run.blocks, key=lambda one: one.instrument)))
    cuts = cuts_of(run, ticks)

    assert run_in_steps(PLAN, mirrored, cuts) == run_in_steps(PLAN, run, cuts)


@given(runs(), CUTS, st.sampled_from([row.tag for row in PLAN.measured]))
@settings(max_examples=60)
def test_one_channel_alone_is_the_same_as_among_others(
    run: Run, ticks: list[int], tag: str
) -> None:
    cuts = cuts_of(run, ticks)

    assert run_in_steps(alone(tag), run, cuts)[tag] == run_in_steps(PLAN, run, cuts)[tag]


@given(runs(), CUTS, st.sampled_from(PLAN.derived))
@settings(max_examples=40)
def test_one_derived_channel_alone_is_the_same_as_among_others(
    run: Run, ticks: list[int], row: Derived
) -> None:
    cuts, plan = cuts_of(run, ticks), replace(PLAN, derived=(row,))

    assert run_in_steps(plan, run, cuts)[row.tag] == run_in_steps(PLAN, run, cuts)[row.tag]


def test_a_random_run_reaches_every_quality() -> None:
    """Without this the tests above might agree about nothing."""
    seen: set[int] = set()

    @given(runs())
    @settings(max_examples=150, derandomize=True, database=None)
    def look(run: Run) -> None:
        slow = slow_rows(PLAN, run.blocks, run.controls, (START_NS, run.until_ns), run.phases)
        seen.update(quality for rows in slow.values() for _, _, quality in rows)
        assert all(math.isnan(v) == (q >= 0x80) for rows in slow.values() for _, v, q in rows)

    look()
    # Nothing here is forced by hand; waiting is what is held before the first sample.
    assert seen == {0x00, 0x40, 0x42, 0x43, 0x60, 0x61, *range(0x80, 0x87), *range(0x88, 0x8B)}
