"""Tests for monitor.alarms.stage.

Source: a slow, plain reference of the same rules (tests/monitor/reference), over random
histories with every option of an alarm, several things at one instant, and any cut into steps.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.monitor.alarms.histories import S, fast_run, history_of, slow_run

END_NS = 1000 * S


def cuts_of(rng: np.random.Generator) -> list[int]:
    """Cut a history at random, often at the very instants at which something happens."""
    times = rng.integers(1, 300, 40) * S // 2
    return [*np.unique(times).tolist(), END_NS]


@pytest.mark.parametrize("seed", range(300))
def test_alarms_tell_what_the_slow_reference_tells(seed: int) -> None:
    history = history_of(np.random.default_rng(seed))

    events, stage = fast_run(history, [END_NS])
    slow = slow_run(history, END_NS)

    assert events == slow.events
    mine = [(x.cause, x.is_suppressed, x.first_out, x.is_annunciated) for x in stage.status]
    assert mine == [(x.cause, x.is_suppressed, x.first_out, x.is_shown) for x in slow.alarms]


@pytest.mark.parametrize("seed", range(100))
def test_neither_cuts_nor_a_restart_change_a_bit(seed: int) -> None:
    rng = np.random.default_rng(seed)
    history = history_of(rng)
    whole, stage = fast_run(history, [END_NS])

    cuts = cuts_of(rng)
    events, other = fast_run(history, cuts, restart_at=int(rng.integers(len(cuts))))

    assert events == whole
    assert other.state() == stage.state()


def test_the_histories_have_everything_in_them() -> None:
    kinds = {
        event.kind
        for seed in range(20)
        for event in fast_run(history_of(np.random.default_rng(seed)), [END_NS])[0]
    }

    alarm_kinds = {kind for kind in kinds if kind.startswith("alarm.")}
    assert len(alarm_kinds) == 14
    assert {"phase.lapsed", "limit.armed", "action.refused", "condition.off"} <= kinds
