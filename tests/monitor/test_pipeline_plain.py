"""Tests for monitor.pipeline.

Source: Hand-worked here: what the journal and the link can write, and read back the same.
"""

from __future__ import annotations

import math
from typing import get_args

import msgspec
import numpy as np
import pytest

from monitor.events import Event, EventKind
from monitor.limits.plan import Kind
from tests.monitor.reference.inputs import (
    arrivals,
    cuts_of,
    plan_of,
    run_in_cuts,
)

#: Exactly these: a numpy float is a float by inheritance, and no encoder knows it.
PLAIN = (str, int, float, bool, type(None))


def events_of(seed: int) -> tuple[Event, ...]:
    """Give the events of a random run, saved and restored on its way."""
    rng = np.random.default_rng(seed)
    rows, cuts = arrivals(rng), cuts_of(rng, 20)
    return run_in_cuts(plan_of(), rows, cuts, restore_at=8).events


@pytest.mark.parametrize("seed", range(300, 330))
def test_an_event_holds_plain_values_only(seed: int) -> None:
    events = events_of(seed)
    odd = [
        (event.kind, name, type(value))
        for event in events
        for name, value in [("t_ns", event.t_ns), *event.fields.items()]
        if type(value) not in PLAIN or (isinstance(value, float) and not math.isfinite(value))
    ]

    assert len(events) > 5
    assert odd == []


@pytest.mark.parametrize("seed", range(300, 330))
def test_every_event_comes_back_from_json_and_msgpack_as_it_went(seed: int) -> None:
    for event in events_of(seed):
        as_json = msgspec.json.decode(msgspec.json.encode(event), type=Event)
        as_msgpack = msgspec.msgpack.decode(msgspec.msgpack.encode(event), type=Event)

        assert repr(as_json) == repr(as_msgpack) == repr(event)


#: Not in a random run: nobody closes or resumes it, no readings are dropped, and its notes and
#: phases have tests of their own.
NOT_RANDOM = {"run.closed", "run.resumed", "readings.dropped", "action.note"}


def test_the_random_runs_hold_every_kind_of_event() -> None:
    kinds = {event.kind for seed in range(300, 330) for event in events_of(seed)}

    assert set(get_args(EventKind)) - NOT_RANDOM == kinds


def test_in_the_random_runs_every_limit_of_every_kind_turns() -> None:
    limits = plan_of().limits
    turned = {
        event.subject
        for seed in range(300, 330)
        for event in events_of(seed)
        if event.kind in ("alarm.raised", "condition.on")
    }

    assert {limit.kind for limit in limits} == set(Kind)
    assert {limit.id for limit in limits} == turned
