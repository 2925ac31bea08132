"""Tests for monitor.rehearse.side.

Source: hand-worked here.
"""

from __future__ import annotations

from typing import Any

from monitor.events import Action, Control, HostEvent
from monitor.rehearse.feed import Portion
from monitor.rehearse.side import Entered, Side

S = 1_000_000_000


def taken(bench: Any, *acts: Action | HostEvent) -> Side:
    """Have a side take some controls, one a second."""
    start_ns = bench.pipeline.until_ns
    side = Side(bench.plan, start_ns)
    controls = tuple(Control(start_ns + (n + 1) * S, n, act) for n, act in enumerate(acts))
    side.take(Portion((), controls, start_ns + (len(acts) + 1) * S))
    return side


def test_where_a_run_begins_is_no_entry(bench: Any) -> None:
    side = taken(bench, HostEvent("run_started"), Action("enter_phase", "climb", "A. Roe"))

    (entry,) = side.places
    assert (entry.what, entry.name) == ("phase", "climb")


def test_an_entry_of_the_same_time_is_the_same(bench: Any) -> None:
    act = Action("enter_phase", "climb", "A. Roe")
    t_ns = bench.pipeline.until_ns + S

    assert taken(bench, act).places == [Entered(t_ns, "phase", "climb")]


def test_refusals_are_counted_by_what_was_wanted_and_why(bench: Any) -> None:
    act = Action("acknowledge", "PT-9.high", "A. Roe")

    side = taken(bench, act, act, Action("enter_phase", "nowhere", "A. Roe"))

    assert dict(side.refusals) == {
        ("acknowledge", "PT-9.high", "no alarm 'PT-9.high' on this stand"): 2,
        ("enter_phase", "nowhere", "no phase 'nowhere' on this stand"): 1,
    }


def test_an_edited_limit_is_named(bench: Any) -> None:
    edit = Action("edit_limit", "PT-1.high", "A. Roe", "drift", changes={"setpoint": 9.0})

    assert list(taken(bench, edit, edit).edited) == ["PT-1.high"]


def test_occurrences_end_where_the_run_does(bench: Any) -> None:
    side = Side(bench.plan, bench.pipeline.until_ns)
    until_ns = bench.pipeline.until_ns + S
    side.take(Portion((bench.block(16),), (), until_ns))

    (one,) = side.occurrences()["PT-1.high"]
    assert (one.end_ns, one.is_over) == (until_ns, False)
