"""Tests for monitor.alarms.stage.

Source: the invariants that belong to the published state table (ANSI/ISA-18.2-2016, by
secondary texts): an acknowledgement at the instant of a new occurrence leaves it
unacknowledged; a suppressed alarm goes on being evaluated; shelving is limited in time and
returns by itself; no sequence of events reaches an unlisted state; silence, acknowledge and
reset are three things.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from monitor.alarms.core import Core
from monitor.alarms.items import Item
from monitor.alarms.plan import AlarmsPlan, Priority
from monitor.alarms.stage import Alarms
from monitor.alarms.status import AlarmStatus, FirstOutMark
from monitor.events import Event, Verb
from tests.monitor.alarms.made import SECOND, S, act, alarm, cleared, enter, raised

PLAN = AlarmsPlan(
    (
        alarm("A.high_high", Priority.TOP, is_latching=True, milder="A.high", group="loss"),
        alarm("A.high", realarm_ns=30 * S, suppressed_by=("C.low",), group="loss", lag_ns=S),
        alarm("B.low", clears_by_itself=True, suppressed_in=frozenset({"climb", "loop_only"})),
        alarm("C.low", suppressed_in=frozenset({"climb"}), group="loss", period_ns=2 * S),
        alarm("phase:climb.phase_overlong"),
        alarm("D.high", Priority.JOURNAL, is_latching=True),
    ),
    ("ground", "climb"),
    ("normal", "loop_only"),
    lapses=((4, "climb"),),
)
IDS = [one.id for one in PLAN.alarms]
JOURNAL = 5

#: Every state that is listed, with whether the condition stands in it.
LISTED = {
    (Core.NORMAL, False),
    (Core.UNACKNOWLEDGED, True),
    (Core.ACKNOWLEDGED, True),
    (Core.RETURNED_UNACKNOWLEDGED, False),
    (Core.LATCHED_UNACKNOWLEDGED, False),
    (Core.LATCHED_ACKNOWLEDGED, False),
}
LATCHED = {Core.LATCHED_UNACKNOWLEDGED, Core.LATCHED_ACKNOWLEDGED}

positions = st.integers(0, len(IDS) - 1)
PERSONS: Sequence[Verb] = (
    "acknowledge",
    "reset",
    "silence",
    "lamp_test",
    "shelve",
    "unshelve",
    "out_of_service",
    "return_to_service",
    "note",
)


class AnySequence(RuleBasedStateMachine):
    """Edges, actions, moves and the passing of time, in any order."""

    def __init__(self) -> None:
        super().__init__()
        self.stage = Alarms(PLAN, 0)
        self.stands = [False] * len(IDS)
        self.place = ("ground", "normal")
        self.has_lapsed = False
        self.t_s = 1

    def step(self, *items: Item) -> tuple[Event, ...]:
        """Walk items that are all at the present time."""
        events, changed = self.stage.step(items, self.t_s * S, lambda _i, _t: 0)
        assert changed == tuple(sorted(set(changed)))
        assert all(event.t_ns <= self.t_s * S for event in events)
        self.has_lapsed = self.has_lapsed or "phase.lapsed" in {x.kind for x in events}
        self.t_s += 1
        return events

    def turned(self, i: int) -> Item:
        """Let a condition begin or end."""
        self.stands[i] = not self.stands[i]
        return raised(self.t_s, i) if self.stands[i] else cleared(self.t_s, i)

    @rule(i=positions)
    def a_limit_turns(self, i: int) -> None:
        before = self.stage.status[i].core
        self.step(self.turned(i))
        if i != JOURNAL:
            assert self.stage.status[i].core in after_turn(before, i, is_there=self.stands[i])

    @rule(chosen=st.sets(positions))
    def limits_turn_together(self, chosen: set[int]) -> None:
        self.step(*(self.turned(i) for i in sorted(chosen)))

    @rule(verb=st.sampled_from(PERSONS), i=positions, seconds=st.integers(1, 40))
    def a_person_acts(self, verb: Verb, i: int, seconds: int) -> None:
        before = [status.core for status in self.stage.status]
        more = {"reason": "noisy", "seconds": float(seconds), "second": SECOND}
        events = self.step(act(self.t_s, verb, IDS[i], **more))
        assert events
        if verb not in ("acknowledge", "reset") and "alarm.realarmed" not in {
            event.kind for event in events
        }:
            assert [status.core for status in self.stage.status] == before

    @rule(verb=st.sampled_from(["acknowledge", "reset"]))
    def a_person_acts_on_all(self, verb: Verb) -> None:
        self.step(act(self.t_s, verb, "*"))

    @rule(i=positions)
    def a_person_acknowledges_as_it_comes(self, i: int) -> None:
        acknowledge = act(self.t_s, "acknowledge", IDS[i])
        self.step(acknowledge, self.turned(i))
        status = self.stage.status[i]
        if status.is_active and i != JOURNAL:
            assert status.core is Core.UNACKNOWLEDGED

    @rule(phase=st.sampled_from(PLAN.phases))
    def a_phase_is_entered(self, phase: str) -> None:
        moved = enter(self.t_s, phase, self.place[1])
        self.place, self.has_lapsed = (phase, self.place[1]), False
        self.step(type(moved)(moved.t_ns, "phase", moved.place, moved.by, moved.reason))

    @rule(mode=st.sampled_from(PLAN.modes))
    def a_mode_is_entered(self, mode: str) -> None:
        self.place = (self.place[0], mode)
        self.step(enter(self.t_s, *self.place))

    @rule(seconds=st.integers(1, 50))
    def time_passes(self, seconds: int) -> None:
        self.t_s += seconds
        self.step()

    @rule()
    def it_is_restarted(self) -> None:
        saved = self.stage.state()
        self.stage = Alarms(PLAN, 99)
        self.stage.load_state(saved)
        assert self.stage.state() == saved

    @precondition(lambda self: any(status.is_shelved for status in self.stage.status))
    @rule()
    def nobody_does_anything_for_half_a_day(self) -> None:
        self.t_s += 12 * 3600
        self.step()
        assert not any(status.is_shelved for status in self.stage.status)

    @invariant()
    def every_alarm_is_in_a_listed_state(self) -> None:
        for i, status in enumerate(self.stage.status):
            if i != JOURNAL:
                assert (status.core, status.is_active) in LISTED
            assert status.is_active is self.stands[i]
            assert (status.core in LATCHED) <= PLAN.alarms[i].is_latching

    @invariant()
    def options_lead_to_no_state_that_is_not_theirs(self) -> None:
        latching, plain, by_itself = (self.stage.status[i] for i in (0, 1, 2))
        assert latching.core is not Core.RETURNED_UNACKNOWLEDGED
        assert plain.core not in LATCHED
        assert by_itself.core in (Core.NORMAL, Core.UNACKNOWLEDGED, Core.ACKNOWLEDGED)
        assert self.stage.status[JOURNAL].core is Core.NORMAL

    @invariant()
    def suppression_follows_place_and_causes(self) -> None:
        for one, status in zip(PLAN.alarms, self.stage.status, strict=True):
            cause = next((x for x in one.suppressed_by if self.stands[IDS.index(x)]), "")
            names = set(one.suppressed_in) - ({"climb"} if self.has_lapsed else set())
            assert status.cause == cause
            assert status.is_suppressed == (cause != "" or bool(names & set(self.place)))

    @invariant()
    def times_and_words_go_with_their_flags(self) -> None:
        now_ns = (self.t_s - 1) * S
        for one, status in zip(PLAN.alarms, self.stage.status, strict=True):
            assert status.is_shelved == (status.shelved_until_ns > now_ns)
            assert status.shelved_until_ns <= now_ns + 40 * S
            assert status.is_shelved == (status.shelf_reason != "")
            assert status.is_out_of_service == (status.service_reason != "")
            assert (status.acknowledged_ns > 0) == (status.core is Core.ACKNOWLEDGED)
            if one.realarm_ns and status.acknowledged_ns:
                assert status.acknowledged_ns + one.realarm_ns > now_ns

    @invariant()
    def only_what_is_unacknowledged_is_owed_an_answer(self) -> None:
        for status in self.stage.status:
            assert status.is_owed <= (not status.is_acknowledged)
            if status.core is Core.RETURNED_UNACKNOWLEDGED:
                assert status.is_owed

    @invariant()
    def a_group_has_one_first_or_several_undetermined(self) -> None:
        marks = [status.first_out for status in self.stage.status if status.first_out]
        assert set(marks) <= set(get_args(FirstOutMark))
        assert marks == ["first"] or len(marks) != 1
        assert len(set(marks)) <= 1


def after_turn(before: Core, i: int, *, is_there: bool) -> set[Core]:
    """Give the states in which the published table lets an alarm be after a turn."""
    if is_there:
        return {Core.UNACKNOWLEDGED}
    acknowledged = before is Core.ACKNOWLEDGED
    if PLAN.alarms[i].is_latching:
        return {Core.LATCHED_ACKNOWLEDGED if acknowledged else Core.LATCHED_UNACKNOWLEDGED}
    if acknowledged or PLAN.alarms[i].clears_by_itself:
        return {Core.NORMAL}
    # What nobody was shown needs no acknowledging.
    return {Core.RETURNED_UNACKNOWLEDGED, Core.NORMAL}


def test_an_alarm_of_which_nothing_is_known_is_in_a_listed_state() -> None:
    status = AlarmStatus("A.high")

    assert (status.core, status.is_active) in LISTED


TestAnySequence = AnySequence.TestCase
TestAnySequence.settings = settings(
    max_examples=150, stateful_step_count=40, deadline=None, report_multiple_bugs=False
)
