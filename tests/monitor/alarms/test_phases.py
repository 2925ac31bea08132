"""Tests for monitor.alarms.phases.

Source: Hand-worked here, from the project's own limit rules 20 and 24 (DEVELOPERS.md).
"""

from __future__ import annotations

import numpy as np
import pytest

from monitor.alarms.phases import BY_CONDITIONS, Phases, start_place
from monitor.alarms.plan import AlarmsPlan, AutomaticEntry
from monitor.channels.draft import Since
from monitor.events import Action, Control
from monitor.limits.plan import Kind, Limit, Place
from monitor.samples import Grid

S = 1_000_000_000

#: Column 0 is the chamber's pressure, column 1 a temperature.
CONDITIONS = (
    Limit("PT-101 below 5", 0, Kind.LOW, 5.0, on_delay_ns=2 * S),
    Limit("TT-301 below 20", 1, Kind.LOW, 20.0),
    Limit("PT-101 above 50", 0, Kind.HIGH, 50.0),
    Limit("TT-301 above 30", 1, Kind.HIGH, 30.0),
)
PLAN = AlarmsPlan(
    (),
    ("ground", "climb", "hold", "descent"),
    ("normal", "loop_only"),
    conditions=CONDITIONS,
    automatic=(
        AutomaticEntry("hold", frozenset({"climb"}), (0, 1)),
        AutomaticEntry("descent", frozenset({"hold"}), (2, 3)),
    ),
)


class Bench:
    """Phases that start on the ground."""

    def __init__(self, plan: AlarmsPlan = PLAN) -> None:
        self.phases = Phases(plan, 2, 0)
        self.seq = 0

    def step(
        self,
        until_s: float,
        *rows: tuple[float, float, float],
        do: dict[float, str] | None = None,
    ) -> list[tuple[float, str]]:
        """Show rows (s, kPa, degC) and entries; give (s, phase or mode entered)."""
        grid = Grid(
            np.array([[round(t * S)] * 2 for t, _, _ in rows], dtype=np.int64).reshape(-1, 2),
            np.array([[a, b] for _, a, b in rows], dtype=np.float64).reshape(-1, 2),
            np.zeros((len(rows), 2), dtype=np.uint8),
            np.array([len(rows)] * 2),
        )
        controls = []
        for t_s, name in sorted((do or {}).items()):
            self.seq += 1
            verb = "enter_mode" if name in PLAN.modes else "enter_phase"
            controls.append(Control(round(t_s * S), self.seq, Action(verb, name, "K. Vale")))
        self.moves = self.phases.step(grid, controls, round(until_s * S))
        return [
            (
                move.moved.t_ns / S,
                move.moved.place.phase if move.moved.what == "phase" else move.moved.place.mode,
            )
            for move in self.moves
        ]


def test_a_run_starts_in_the_first_phase_and_mode() -> None:
    assert start_place(PLAN) == Place("ground", "normal")
    assert start_place(AlarmsPlan((), ("ground",))) == Place("ground", "")


def test_a_hand_enters_any_phase() -> None:
    bench = Bench()

    assert bench.step(9, do={3: "descent", 4: "climb"}) == [(3, "descent"), (4, "climb")]
    assert bench.phases.place == Place("climb", "normal")
    assert [move.moved.by for move in bench.moves] == ["K. Vale", "K. Vale"]


def test_a_mode_is_apart_from_the_phase() -> None:
    bench = Bench()

    assert bench.step(9, do={3: "loop_only", 4: "climb"}) == [(3, "loop_only"), (4, "climb")]
    assert bench.phases.place == Place("climb", "loop_only")


def test_an_unknown_phase_moves_nothing() -> None:
    assert Bench().step(9, do={3: "moon"}) == []


def test_two_conditions_bring_a_phase_when_the_last_of_them_stands() -> None:
    bench = Bench()

    got = bench.step(20, (4, 4.0, 25.0), (5, 4.0, 25.0), (7, 4.0, 15.0), do={1: "climb"})

    assert got == [(1, "climb"), (7, "hold")]
    assert bench.moves[1].moved.by == BY_CONDITIONS
    assert bench.moves[1].moved.reason == "PT-101 below 5, TT-301 below 20"


def test_the_delay_of_a_condition_counts() -> None:
    got = Bench().step(20, (4, 4.0, 15.0), (5, 4.0, 15.0), do={1: "climb"})

    assert got == [(1, "climb"), (6, "hold")]


@pytest.mark.parametrize("rows", [[(4.0, 4.0, 25.0)], [(4.0, 40.0, 15.0)]])
def test_one_alone_brings_nothing(rows: list[tuple[float, float, float]]) -> None:
    assert Bench().step(60, *rows, do={1: "climb"}) == [(1, "climb")]


def test_a_phase_comes_by_itself_only_after_those_that_it_follows() -> None:
    assert Bench().step(60, (4, 4.0, 15.0)) == []


def test_a_hand_into_the_phase_before_is_not_overruled_by_what_stands_already() -> None:
    bench = Bench()
    bench.step(10, (4, 4.0, 15.0))

    assert bench.step(60, do={20: "climb"}) == [(20, "climb")]


def test_once_a_condition_has_fallen_it_may_bring_the_phase_again() -> None:
    bench = Bench()
    bench.step(10, (4, 4.0, 15.0))
    bench.step(30, do={20: "climb"})

    assert bench.step(60, (40, 4.0, 25.0), (41, 4.0, 15.0)) == [(41, "hold")]


def test_one_automatic_phase_may_follow_another_in_one_instant() -> None:
    automatic = (
        AutomaticEntry("hold", frozenset({"climb"}), (0, 1)),
        AutomaticEntry("descent", frozenset({"hold"}), (1, 0)),
    )
    bench = Bench(AlarmsPlan((), PLAN.phases, conditions=CONDITIONS, automatic=automatic))

    got = bench.step(60, (4, 4.0, 15.0), do={1: "climb"})

    assert got == [(1, "climb"), (6, "hold"), (6, "descent")]


def test_no_phase_comes_twice_in_one_instant() -> None:
    automatic = (
        AutomaticEntry("hold", frozenset({"climb"}), (0, 1)),
        AutomaticEntry("climb", frozenset({"hold"}), (1, 0)),
    )
    bench = Bench(AlarmsPlan((), PLAN.phases, conditions=CONDITIONS, automatic=automatic))

    got = bench.step(60, (4, 4.0, 15.0), do={1: "climb"})

    assert got == [(1, "climb"), (6, "hold"), (6, "climb")]


def test_a_phase_by_hand_counts_from_its_instant_and_one_by_itself_after_its_readings() -> None:
    bench = Bench()
    bench.step(60, (4, 4.0, 15.0), do={1: "climb"})

    assert [move.since for move in bench.moves] == [
        Since(S, S),
        Since(6 * S + 1, 6 * S),
    ]


@pytest.mark.parametrize("cut_s", [0.5, 1.0, 4.0, 5.0, 6.0, 6.5, 7.0])
def test_where_a_step_ends_changes_nothing_and_a_restart_neither(cut_s: float) -> None:
    rows = [(4.0, 4.0, 25.0), (5.0, 4.0, 25.0), (7.0, 4.0, 15.0), (8.0, 60.0, 40.0)]
    one, other = Bench(), Bench()
    done = {1.0: "climb"}
    got = one.step(
        cut_s,
        *(r for r in rows if r[0] <= cut_s),
        do={t: x for t, x in done.items() if t <= cut_s},
    )
    other.phases.load_state(one.phases.state())
    got += other.step(
        60, *(r for r in rows if r[0] > cut_s), do={t: x for t, x in done.items() if t > cut_s}
    )

    assert got == [(1, "climb"), (7, "hold"), (8, "descent")]


def test_what_a_hand_has_overruled_outlives_a_restart() -> None:
    one, other = Bench(), Bench()
    one.step(10, (4, 4.0, 15.0))
    one.step(20, do={20: "climb"})
    other.phases.load_state(one.phases.state())

    assert other.step(60, (30, 4.0, 15.0)) == []
