"""Tests for monitor.engine.standing.

Source: hand-worked here, on a real pipeline.
"""

from __future__ import annotations

import numpy as np
import pytest

from drivers.reading import Block
from monitor.engine.standing import PipelineStanding
from monitor.events import Action, Control
from monitor.link.messages import AlarmState, PhaseState
from monitor.pipeline import Pipeline
from monitor.samples import Admitted, Quality
from tests.monitor.engine.bench_stand import SECOND_NS, stand

START_NS = 1_000 * SECOND_NS
HIGH = 0


@pytest.fixture
def pipeline() -> Pipeline:
    return Pipeline(stand().plan, START_NS)


def live(pipeline: Pipeline, second: int, value: float, *actions: Action) -> None:
    """Let one row and some actions in, a second after the ones before."""
    t_ns = START_NS + second * SECOND_NS
    block = Block("panel", ("a", "b"), np.array([t_ns]), np.array([[value, value]]))
    controls = [Control(t_ns - 1, 10 * second + n, action) for n, action in enumerate(actions)]
    pipeline.step([Admitted(block)], controls, t_ns)


def test_the_newest_values_come_in_peoples_order(pipeline: Pipeline) -> None:
    live(pipeline, 1, 20.0)

    t_ns, value, quality = PipelineStanding(pipeline, np.array([1, 0])).newest()

    assert t_ns.tolist() == [START_NS + SECOND_NS] * 2
    assert value.tolist() == [41.0, 20.0]
    assert quality.tolist() == [Quality.GOOD] * 2


def test_before_any_reading_all_wait(pipeline: Pipeline) -> None:
    quality = PipelineStanding(pipeline, np.array([0, 1])).newest()[2]

    assert quality.tolist() == [Quality.WAITING] * 2


def test_the_phase_is_told_with_its_begin(pipeline: Pipeline) -> None:
    standing = PipelineStanding(pipeline, np.array([0]))
    assert standing.phase() == PhaseState("ground", START_NS)

    live(pipeline, 1, 20.0, Action("enter_phase", "climb", "K"))

    assert standing.phase() == PhaseState("climb", START_NS + SECOND_NS - 1)


def test_a_quiet_alarm_is_told_as_quiet(pipeline: Pipeline) -> None:
    standing = PipelineStanding(pipeline, np.array([0]))

    assert standing.alarm(HIGH) == AlarmState("PT-1.high")


def test_an_alarm_is_told_with_its_times_and_value(pipeline: Pipeline) -> None:
    live(pipeline, 1, 60.0)
    t_ns = START_NS + SECOND_NS

    assert PipelineStanding(pipeline, np.array([0])).alarm(HIGH) == AlarmState(
        "PT-1.high",
        is_active=True,
        is_acknowledged=False,
        is_annunciated=True,
        onset_ns=t_ns,
        true_ns=t_ns,
        annunciated_ns=t_ns,
        value=60.0,
    )


def test_an_acknowledged_and_shelved_alarm_is_told_as_such(pipeline: Pipeline) -> None:
    live(pipeline, 1, 60.0)
    live(
        pipeline,
        2,
        60.0,
        Action("acknowledge", "PT-1.high", "K. Vale"),
        Action("shelve", "PT-1.high", "K. Vale", "sensor is loose", 30.0),
    )

    told = PipelineStanding(pipeline, np.array([0])).alarm(HIGH)

    assert (told.is_acknowledged, told.is_shelved, told.is_annunciated) == (True, True, False)
    assert told.shelved_until_ns == START_NS + 32 * SECOND_NS - 1
    assert "sensor is loose" in told.inhibit_reason


def test_an_alarm_out_of_service_is_told_as_such(pipeline: Pipeline) -> None:
    live(pipeline, 1, 60.0, Action("out_of_service", "PT-1.high", "K. Vale", "no sensor"))

    told = PipelineStanding(pipeline, np.array([0])).alarm(HIGH)

    assert (told.is_active, told.is_out_of_service, told.is_annunciated) == (True, True, False)
