"""Tests for monitor.limits.stage.

Source: Hand-worked here: what the quick look lets pass, or a restart does not save, must
change nothing.
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.limits.compare import Comparison
from monitor.limits.edges import Turn
from monitor.limits.plan import Kind, Place
from monitor.limits.stage import Limits
from monitor.samples import Grid, Quality
from tests.monitor.limits.made import S, good, grid_of, limit

Q = Quality


class TestQuietSpans:
    """One sample in each step: what is let pass unseen must change nothing.

    High at 150, deadband 4, on-delay and off-delay 2 s; low mirrored about 150.
    """

    @pytest.mark.parametrize("kind", [Kind.HIGH, Kind.LOW])
    @pytest.mark.parametrize(
        ("values", "turns"),
        [
            # At the setpoint the on-delay begins anew.
            ([151, 151, 150, 151, 151], []),
            ([151, 151, np.nextafter(150, 151), 151], [2.0]),
            # At the clearing value the off-delay begins anew.
            ([151, 151, 151, 145, 146, 145, 145], [2.0]),
            ([151, 151, 151, 145, np.nextafter(146, 0), 145], [2.0, 5.0]),
            # Between clearing value and setpoint an active limit stays, and still clears later.
            ([151, 151, 151, 146, 150, 145, 145, 145], [2.0, 7.0]),
            # A clear one that was between is raised as any other.
            ([140, 150, 146, 151, 151, 151], [5.0]),
        ],
    )
    def test_steps_of_one_sample(
        self, kind: Kind, values: list[float], turns: list[float]
    ) -> None:
        stage = Limits([limit(kind=kind, on_delay_s=2, off_delay_s=2)], 1, Place("ground"), 0)
        found: list[float] = []
        for t_s, value in enumerate(values):
            mirrored = value if kind is Kind.HIGH else 300 - value
            found += [
                edge.t_ns / S for edge in stage.step(grid_of(good((t_s, mirrored))), t_s * S)
            ]

        assert found == turns

    @pytest.mark.parametrize(
        ("kind", "quality"), [(Kind.HIGH, Q.SATURATED_HIGH), (Kind.LOW, Q.SATURATED_LOW)]
    )
    @pytest.mark.parametrize("is_one_step", [False, True])
    def test_one_saturated_sample_among_quiet_ones_is_seen(
        self, kind: Kind, quality: Quality, is_one_step: bool
    ) -> None:
        stage = Limits([limit(kind=kind)], 1, Place("ground"), 0)
        quiet = 120.0 if kind is Kind.HIGH else 180.0
        rows = [*good((1, quiet)), (2.0, quiet, int(quality)), *good((3, quiet))]
        steps = [rows] if is_one_step else [[row] for row in rows]

        found = [edge.t_ns / S for step in steps for edge in stage.step(grid_of(step), 3 * S)]

        assert found == [2.0, 3.0]

    def test_a_quality_limit_that_is_active_sees_each_good_value(self) -> None:
        stage = Limits([limit(kind=Kind.STALE)], 1, Place("ground"), 0)
        stage.step(grid_of([(1.0, np.nan, int(Q.STALE))]), S)

        (edge,) = stage.step(grid_of(good((2, 0.0))), 2 * S)

        assert (edge.t_ns, edge.turn) == (2 * S, Turn.CLEARED)


def test_a_setpoint_change_while_the_value_is_bad_decides_nothing() -> None:
    one = limit(on_delay_s=5, bridge_s=9, setpoint_in={"hold": 160.0})
    stage = Limits([one], 1, Place("ground"), 0)
    stage.step(grid_of([*good((0, 161.0)), (2, np.nan, Q.STALE)]), 3 * S)

    assert stage.enter(Place("hold"), 4 * S, is_phase=True) == []
    (edge,) = stage.step(grid_of(good((5, 161.0))), 20 * S)

    assert (edge.t_ns, edge.onset_ns) == (8 * S, 0)


def test_a_setpoint_change_before_the_first_value_decides_nothing() -> None:
    one = limit(bridge_s=1, raises_on_bad=True, setpoint_in={"hold": 160.0})
    stage = Limits([one], 1, Place("ground"), 0)

    assert stage.enter(Place("hold"), 4 * S, is_phase=True) == []
    assert stage.step(grid_of([]), 20 * S) == []


def test_restored_after_bad_data_the_next_bad_sample_says_nothing_new() -> None:
    one = limit(on_delay_s=9, bridge_s=1)
    stage = Limits([one], 1, Place("ground"), 0)
    stage.step(grid_of([*good((0, 151.0)), (1, np.nan, Q.STALE)]), 2 * S)
    other = Limits([one], 1, Place("ground"), 0)
    other.load_state(stage.state())

    turns = other.step(grid_of([(3.0, np.nan, int(Q.STALE)), *good((4, 151.0))]), 13 * S)

    assert [(edge.t_ns, edge.onset_ns) for edge in turns] == [(13 * S, 4 * S)]


def test_restored_before_the_first_value_bad_data_still_raises_where_asked_for() -> None:
    one = limit(bridge_s=1, raises_on_bad=True)
    other = Limits([one], 1, Place("ground"), 0)
    other.load_state(Limits([one], 1, Place("ground"), 0).state())

    (edge,) = other.step(grid_of([(3.0, np.nan, int(Q.STALE))]), 9 * S)

    assert (edge.t_ns, edge.turn) == (4 * S, Turn.RAISED)


@pytest.mark.parametrize("kind", [Kind.HIGH, Kind.LOW])
@pytest.mark.parametrize(
    ("before", "steady"),
    [
        pytest.param([], [140, 150], id="clear"),
        pytest.param([151], [151, 999], id="pending"),
        pytest.param([151, 151, 151], [146, 999], id="active"),
        pytest.param([151, 151, 151, 145], [-999, 145], id="clearing"),
    ],
)
def test_what_changes_nothing_is_not_even_compared(
    kind: Kind, before: list[float], steady: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    def mirrored(t_s: int, value: float) -> Grid:
        return grid_of(good((t_s, value if kind is Kind.HIGH else 300 - value)))

    stage = Limits([limit(kind=kind, on_delay_s=2, off_delay_s=9)], 1, Place("ground"), 0)
    for t_s, value in enumerate(before):
        stage.step(mirrored(t_s, value), t_s * S)
    compared: list[object] = []
    monkeypatch.setattr(Comparison, "see", lambda *given: compared.append(given))

    for t_s, value in enumerate(steady, len(before)):
        stage.step(mirrored(t_s, value), t_s * S)

    assert compared == []


class TestRestored:
    """Saved and restored: at 150, in the climb at 140; deadband 4, on-delay 5 s."""

    one = limit(on_delay_s=5, setpoint_in={"climb": 140.0})

    def restored(self, phase: str, value: float) -> Limits:
        """Hold *value* from 0 s on, in *phase*; save and restore at 1 s."""
        stage, other = (Limits([self.one], 1, Place("ground"), 0) for _ in range(2))
        stage.enter(Place(phase), 0, is_phase=True)
        stage.step(grid_of(good((0, value))), S)
        other.load_state(stage.state())
        return other

    def test_the_setpoint_of_the_phase_is_still_in_force(self) -> None:
        (edge,) = self.restored("climb", 100.0).step(grid_of(good((2, 145.0))), 9 * S)

        assert (edge.t_ns, edge.setpoint) == (7 * S, 140.0)

    def test_a_value_between_still_ends_a_running_delay(self) -> None:
        assert self.restored("ground", 151.0).step(grid_of(good((2, 150.0))), 9 * S) == []

    def test_the_held_value_is_judged_when_the_phase_changes(self) -> None:
        stage = self.restored("ground", 145.0)

        assert stage.enter(Place("climb"), 2 * S, is_phase=True) == []
        (edge,) = stage.step(grid_of([]), 9 * S)

        assert (edge.t_ns, edge.value, edge.quality) == (7 * S, 145.0, Q.GOOD)
