"""Tests for monitor.engine.standing.

Source: hand-worked here, on a real pipeline.
"""

from __future__ import annotations

import numpy as np
import pytest

from drivers.reading import Block
from monitor.alarms.plan import Alarm, AlarmsPlan, Priority
from monitor.channels.plan import ChannelsPlan, Linear, Measured
from monitor.engine.standing import PipelineStanding
from monitor.events import Action, Control
from monitor.limits.plan import NO_COLUMN, Kind, Limit
from monitor.link.messages import AlarmState, ForcedState, PhaseState
from monitor.pipeline import Pipeline, Plan
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


@pytest.mark.parametrize(("entered", "setpoint"), [((), 50.0), (("climb",), 80.0)])
def test_the_setpoint_in_force_is_told(
    pipeline: Pipeline, entered: tuple[str, ...], setpoint: float
) -> None:
    live(pipeline, 1, 20.0, *(Action("enter_phase", name, "K") for name in entered))

    assert PipelineStanding(pipeline, np.array([0])).alarm(HIGH).setpoint == setpoint


def test_an_edit_is_told_with_what_it_changed_and_no_more(pipeline: Pipeline) -> None:
    changes = {"setpoint": 55.0, "setpoint_in.climb": 85.0, "on_delay_s": 2.5}
    live(pipeline, 1, 20.0, Action("edit_limit", "PT-1.high", "K", "noise", changes=changes))

    told = PipelineStanding(pipeline, np.array([0])).alarm(HIGH)

    assert (told.is_edited, told.setpoint, told.edits) == (True, 55.0, changes)


def test_a_limit_on_quality_has_no_setpoint_in_force(pipeline: Pipeline) -> None:
    assert PipelineStanding(pipeline, np.array([0])).alarm(1).setpoint is None


def rich_pipeline(forcible: dict[str, tuple[float, float]] | None = None) -> Pipeline:
    """Give a pipeline with modes, a limit that arms, a consequence and a phase with an end."""
    channels = ChannelsPlan((Measured("PT-1", "panel", "a", Linear(), 5 * SECOND_NS),))
    limits = (
        Limit("PT-1.low", 0, Kind.LOW, 10.0),
        Limit("PT-1.low_low", 0, Kind.LOW_LOW, 5.0, is_arming=True),
        Limit("PT-1.high", 0, Kind.HIGH, 50.0, watched_in=frozenset({"climb", "loop_only"})),
        Limit(
            "phase:ground.phase_overlong", NO_COLUMN, Kind.PHASE_OVERLONG,
            on_delay_ns=3 * SECOND_NS, watched_in=frozenset({"ground"}),
        ),
    )  # fmt: skip
    alarms = (
        Alarm("PT-1.low", "PT-1", Priority.HIGH, "Low", group="loss"),
        Alarm("PT-1.low_low", "PT-1", Priority.TOP, "LL", suppressed_by=("PT-1.low",)),
        Alarm("PT-1.high", "PT-1", Priority.HIGH, "High"),
        Alarm("phase:ground.phase_overlong", "phase:ground", Priority.LOW, "Too long"),
    )
    places = ("ground", "climb"), ("normal", "loop_only")
    plan = AlarmsPlan(alarms, *places, lapses=((3, "ground"),), forcible=forcible or {})
    return Pipeline(Plan(channels, limits, plan), START_NS)


def feed(pipeline: Pipeline, second: int, value: float, *actions: Action) -> None:
    """Let one row of one signal and some actions in."""
    t_ns = START_NS + second * SECOND_NS
    block = Block("panel", ("a",), np.array([t_ns]), np.array([[value]]))
    controls = [Control(t_ns - 1, 10 * second + n, action) for n, action in enumerate(actions)]
    pipeline.step([Admitted(block)], controls, t_ns)


def test_the_mode_is_told_beside_the_phase() -> None:
    pipeline = rich_pipeline()
    standing = PipelineStanding(pipeline, np.array([0]))
    assert standing.phase() == PhaseState("ground", START_NS, "normal", START_NS)

    feed(pipeline, 1, 20.0, Action("enter_mode", "loop_only", "K"))

    assert standing.phase() == PhaseState(
        "ground", START_NS, "loop_only", START_NS + SECOND_NS - 1
    )


def test_a_phase_that_lasts_too_long_is_told() -> None:
    pipeline = rich_pipeline()

    feed(pipeline, 4, 20.0)

    assert PipelineStanding(pipeline, np.array([0])).phase().is_lapsed


def test_a_limit_that_is_not_watched_now_has_no_setpoint_in_force() -> None:
    pipeline = rich_pipeline()
    standing = PipelineStanding(pipeline, np.array([0]))
    assert standing.alarm(2).setpoint is None

    feed(pipeline, 1, 20.0, Action("enter_mode", "loop_only", "K"))

    assert standing.alarm(2).setpoint == 50.0


def test_a_limit_that_arms_is_told_as_asleep_and_then_as_armed() -> None:
    pipeline = rich_pipeline()
    standing = PipelineStanding(pipeline, np.array([0]))
    assert (standing.alarm(1).armed, standing.alarm(0).armed) == ("asleep", "")

    feed(pipeline, 1, 20.0)

    assert standing.alarm(1).armed == "armed"


def test_a_forced_value_is_told_with_who_why_and_until_when() -> None:
    pipeline = rich_pipeline({"PT-1": (0.0, 100.0)})
    standing = PipelineStanding(pipeline, np.array([0]))
    assert standing.forced() == []

    force = Action("force", "PT-1", "K", "wet", 60.0, "M", {"value": 42.0})
    feed(pipeline, 1, 20.0, force)

    since_ns = START_NS + SECOND_NS - 1
    assert standing.forced() == [
        ForcedState("PT-1", 42.0, since_ns, since_ns + 60 * SECOND_NS, "K", "M", "wet")
    ]


def test_a_consequence_is_told_with_its_cause_and_the_first_of_a_group_as_such() -> None:
    pipeline = rich_pipeline()
    standing = PipelineStanding(pipeline, np.array([0]))

    feed(pipeline, 1, 20.0)
    feed(pipeline, 2, 2.0)

    assert standing.alarm(0).first_out == "first"
    assert (standing.alarm(1).cause, standing.alarm(1).is_suppressed) == ("PT-1.low", True)
    assert standing.alarm(1).suppressed_since_ns == START_NS + 2 * SECOND_NS


def test_a_quiet_alarm_is_told_as_quiet(pipeline: Pipeline) -> None:
    standing = PipelineStanding(pipeline, np.array([0]))

    assert standing.alarm(HIGH) == AlarmState("PT-1.high", setpoint=50.0)


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
        setpoint=50.0,
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
    assert "sensor is loose" in told.shelf_reason
    assert told.shelved_since_ns == START_NS + 2 * SECOND_NS - 1


def test_an_alarm_out_of_service_is_told_as_such(pipeline: Pipeline) -> None:
    live(pipeline, 1, 60.0, Action("out_of_service", "PT-1.high", "K. Vale", "no sensor"))

    told = PipelineStanding(pipeline, np.array([0])).alarm(HIGH)

    assert (told.is_active, told.is_out_of_service, told.is_annunciated) == (True, True, False)
