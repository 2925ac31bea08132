"""Tests for monitor.pipeline.

Source: Hand-worked here: results must not depend on how the input is cut, ordered or shifted.
"""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from monitor.errors import MonitorError
from monitor.events import Control, HostEvent
from monitor.pipeline import Pipeline, Plan
from tests.monitor.reference.inputs import (
    START_NS,
    S,
    arrivals,
    cuts_of,
    noise_of,
    plan_of,
    run_in_cuts,
    shifted,
    shifted_event,
)

SEEDS = range(150)


def _features() -> str:
    """Give the processor features that this numpy uses and can be told not to."""
    simd = np.show_config(mode="dicts")["SIMD Extensions"]  # type: ignore[index,call-overload]
    return ",".join(simd.get("found", []))


_FEATURES = _features()


@pytest.mark.parametrize("seed", SEEDS)
def test_any_cut_into_steps_gives_the_same_bytes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    plan, rows = plan_of(), arrivals(rng)
    whole = run_in_cuts(plan, rows, [START_NS + 60 * 10**9])

    cut = run_in_cuts(plan, rows, cuts_of(rng, 40), restore_at=int(rng.integers(40)))

    assert len(whole.events) > 5
    assert cut == whole


@pytest.mark.parametrize("seed", range(200, 250))
def test_a_checkpoint_in_mid_run_is_the_same_however_the_input_was_cut(seed: int) -> None:
    rng = np.random.default_rng(seed)
    middle_ns = START_NS + int(rng.integers(5 * S, 40 * S))
    # Nothing that is later: rows that wait are kept in the order in which they came.
    plan, rows = plan_of(), [one for one in arrivals(rng) if one.at_ns <= middle_ns]
    early = [cut for cut in cuts_of(rng, 40) if cut < middle_ns]

    whole = run_in_cuts(plan, rows, [middle_ns])

    assert run_in_cuts(plan, rows, [*early, middle_ns]) == whole


@pytest.mark.parametrize("seed", range(0, 150, 5))
def test_the_order_in_which_instruments_are_handed_over_does_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    plan, rows = plan_of(), arrivals(rng)
    cuts = cuts_of(rng, 20)

    mirrored = sorted(
        rows, key=lambda one: one.block.instrument if one.block else "", reverse=True
    )

    assert run_in_cuts(plan, mirrored, cuts) == run_in_cuts(plan, rows, cuts)


@pytest.mark.parametrize("seed", range(3))
def test_one_channel_alone_equals_the_same_channel_among_a_thousand(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = arrivals(rng)
    cuts = cuts_of(rng, 20)
    crowd = [*rows, *noise_of(1000, rng)]
    crowd.sort(key=lambda one: one.at_ns)

    alone = run_in_cuts(plan_of(), rows, cuts)

    assert run_in_cuts(plan_of(1000), crowd, cuts).events == alone.events


@pytest.mark.parametrize("seed", range(20))
def test_a_shift_of_all_times_shifts_the_events(seed: int) -> None:
    rng = np.random.default_rng(seed)
    plan, rows = plan_of(), arrivals(rng)
    cuts = cuts_of(rng, 20)
    by_ns = 86_400_123_456_789

    late = run_in_cuts(
        plan,
        [shifted(one, by_ns) for one in rows],
        [cut + by_ns for cut in cuts],
        start_ns=START_NS + by_ns,
    )

    assert late.events == tuple(
        shifted_event(event, by_ns) for event in run_in_cuts(plan, rows, cuts).events
    )


def test_a_control_before_w_is_a_broken_promise() -> None:
    pipeline = Pipeline(plan_of(), START_NS)

    with pytest.raises(ValueError, match="not after W"):
        pipeline.step([], [Control(START_NS, 0, HostEvent("run_started"))], START_NS + 1)


def without(plan: Plan, what: str) -> Plan:
    """Give the plan with one limit or one phase less."""
    alarms = plan.alarms
    if what == "phase":
        return replace(plan, alarms=replace(alarms, phases=alarms.phases[1:]))
    fewer = replace(alarms, alarms=alarms.alarms[:-1])
    return replace(plan, limits=plan.limits[:-1], alarms=fewer)


@pytest.mark.parametrize("what", ["limit", "phase"])
def test_a_checkpoint_of_another_stand_is_refused(what: str) -> None:
    saved = Pipeline(plan_of(), START_NS).save()

    with pytest.raises(MonitorError, match="another stand file"):
        Pipeline.restore(without(plan_of(), what), saved)


def test_a_checkpoint_of_another_version_is_refused() -> None:
    with pytest.raises(MonitorError, match="another version"):
        Pipeline.restore(plan_of(), b"\x81\xa8until_ns\x01")


_CHILD = """
import sys
import numpy as np
from tests.monitor.reference.inputs import arrivals, cuts_of, plan_of, run_in_cuts
digest = __import__("hashlib").sha256()
for seed in range(8):
    rng = np.random.default_rng(seed)
    rows = arrivals(rng)
    result = run_in_cuts(plan_of(), rows, cuts_of(rng, 20))
    digest.update(repr(result.events).encode())
    digest.update(result.saved)
print(digest.hexdigest())
"""


def digest_in_child(**environment: str) -> str:
    """Run eight seeds in a fresh process; give one hash of everything."""
    done = subprocess.run(
        [sys.executable, "-c", _CHILD],
        env=os.environ | environment,
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


def test_a_process_with_other_seed_zone_and_processor_features_gives_the_same_bytes() -> None:
    plain = digest_in_child(PYTHONHASHSEED="0", TZ="UTC")

    other = digest_in_child(
        PYTHONHASHSEED="77", TZ="Pacific/Chatham", NPY_DISABLE_CPU_FEATURES=_FEATURES
    )

    assert (len(plain), other) == (64, plain)
