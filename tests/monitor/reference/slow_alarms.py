"""Alarms once more, slow and plain: what people are told, one thing after the other."""

from __future__ import annotations

from collections.abc import Callable

from monitor.alarms.plan import AlarmsPlan, Priority
from monitor.events import Action
from monitor.limits.plan import Place
from monitor.samples import QUALITY_TEXT
from tests.monitor.reference.slow_alarm import SlowAlarm
from tests.monitor.reference.slow_channels import Sample, refusal_of_force
from tests.monitor.reference.slow_turns import SlowTurns

#: Gives the newest sample of the channel behind an alarm, by its position.
HeldOf = Callable[[int], Sample]


class SlowAlarms(SlowTurns):
    """Every alarm of a stand, and the journal: what persons do, and what falls due."""

    def __init__(self, plan: AlarmsPlan, place: Place, held_of: HeldOf) -> None:
        super().__init__(plan, place)
        self.held_of = held_of
        #: Until when a channel is forced, by tag.
        self.forced: dict[str, int] = {}

    def dues(self) -> list[int]:
        """Give every instant at which something falls due by itself."""
        dues = [one.shelf_ns for one in self.alarms] + [one.realarm_ns for one in self.alarms]
        dues += self.forced.values()
        return [due for due in dues if due]

    def fall_due(self, t_ns: int) -> None:
        """Do what is due."""
        self.tell_edges()
        for alarm in self.alarms:
            if 0 < alarm.realarm_ns <= t_ns:
                self.realarm(t_ns, alarm)
            if 0 < alarm.shelf_ns <= t_ns:
                self.unshelve(t_ns, alarm, "end of its time")
        for tag in sorted(self.forced):
            if self.forced[tag] <= t_ns:
                del self.forced[tag]
                self.say(t_ns, "value.released", tag, by="end of its time")
        self.see_who_was_first(t_ns)

    def act(self, t_ns: int, action: Action) -> None:
        """A person acts on alarms."""
        self.tell_edges()
        if action.verb in ("silence", "lamp_test"):
            self.say(t_ns, f"action.{action.verb}", "", by=action.by)
        elif action.verb == "note":
            self.say(t_ns, "action.note", action.subject, by=action.by, text=action.reason)
        elif action.verb == "force":
            self.force(t_ns, action)
        elif action.verb == "unforce":
            self.release(t_ns, action)
        else:
            self.act_on_alarms(t_ns, action)
        self.see_who_was_first(t_ns)

    def force(self, t_ns: int, action: Action) -> None:
        """Force a value."""
        why = refusal_of_force(self.plan, action)
        if why:
            self.refuse(t_ns, action, why)
            return
        until_ns = t_ns + round(action.seconds * 1e9)
        self.forced[action.subject] = until_ns
        fields = {"by": action.by, "second": action.second, "reason": action.reason}
        value = action.changes["value"]
        self.say(t_ns, "value.forced", action.subject, **fields, value=value, until_ns=until_ns)

    def release(self, t_ns: int, action: Action) -> None:
        """Let a value go."""
        if self.forced.pop(action.subject, None) is None:
            self.refuse(t_ns, action, "it is not forced")
        else:
            self.say(t_ns, "value.released", action.subject, by=action.by)

    def act_on_alarms(self, t_ns: int, action: Action) -> None:
        """A person acts on one alarm, a page of them, or all that are shown."""
        names = action.subject.split(" ") if action.verb == "acknowledge" else [action.subject]
        if action.subject == "*" and action.verb in ("acknowledge", "reset"):
            names = [alarm.plan.id for alarm in self.alarms if alarm.is_shown]
        for name in names:
            if name not in self.named:
                self.refuse(t_ns, action, f"no alarm {name!r} on this stand")
                return
        if action.verb in ("shelve", "out_of_service"):
            why = self.lacks_a_second(self.named[action.subject], action)
            if why:
                self.refuse(t_ns, action, why)
                return
        for name in names:
            getattr(self, action.verb)(t_ns, self.named[name], action)

    def lacks_a_second(self, alarm: SlowAlarm, action: Action) -> str:
        """Say why one person is not enough."""
        if alarm.plan.priority is not Priority.TOP:
            return ""
        if not action.second.strip():
            return "it is of top priority: a second person must agree, by name"
        first, second = action.by.replace(" ", ""), action.second.replace(" ", "")
        if first.lower() == second.lower():
            return "the second person must not be the first"
        return ""

    def go(self, t_ns: int, place: Place, *, is_phase: bool) -> None:
        """Be in another phase or mode: show and hide."""
        self.tell_edges()
        self.place = place
        if is_phase:
            self.has_lapsed = False
        self.hide_and_show(t_ns)
        self.see_who_was_first(t_ns)

    # What a person does.

    def acknowledge(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Acknowledge, and the milder ones with it."""
        if not alarm.needs_ack:
            if action.subject == alarm.plan.id:
                self.refuse(t_ns, action, "there is nothing to acknowledge")
            return
        self.seen(t_ns, alarm, by=action.by)
        done = [alarm]
        milder = self.named.get(alarm.plan.milder)
        while milder is not None and milder not in done:
            if milder.needs_ack:
                self.seen(t_ns, milder, by=action.by, **{"with": alarm.plan.id})
            done.append(milder)
            milder = self.named.get(milder.plan.milder)

    def seen(self, t_ns: int, alarm: SlowAlarm, by: str, **more: str) -> None:
        """It is acknowledged."""
        alarm.needs_ack = alarm.is_owed = False
        alarm.acknowledged_ns = t_ns
        self.say(t_ns, "alarm.acknowledged", alarm.plan.id, by=by, state=alarm.state, **more)

    def realarm(self, t_ns: int, alarm: SlowAlarm) -> None:
        """Nobody did anything about it."""
        at_ns, alarm.acknowledged_ns = alarm.acknowledged_ns, 0
        alarm.needs_ack = True
        alarm.was_shown = not alarm.is_hidden
        alarm.is_owed = alarm.is_owed or alarm.was_shown
        self.say(
            t_ns,
            "alarm.realarmed",
            alarm.plan.id,
            acknowledged_ns=at_ns,
            priority=alarm.plan.priority.value,
            message=alarm.plan.message,
            is_annunciated=alarm.was_shown,
        )

    def reset(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Reset a latch."""
        held = self.held_of(self.alarms.index(alarm))
        is_latched = alarm.is_latched and not alarm.is_active
        why = ""
        if not is_latched:
            if action.subject == "*":
                return
            why = "the condition still stands" if alarm.is_active else "nothing is latched"
        elif alarm.needs_ack:
            why = "acknowledge it first"
        elif held.is_bad:
            why = f"the value is bad ({QUALITY_TEXT[held.quality]})"
        if why:
            self.say(t_ns, "action.refused", alarm.plan.id, verb="reset", by=action.by, why=why)
            return
        alarm.is_latched = False
        self.say(t_ns, "alarm.reset", alarm.plan.id, by=action.by)

    def shelve(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Shelve."""
        alarm.shelf_ns = t_ns + round(action.seconds * 1e9)
        who = self.who(action)
        self.say(t_ns, "alarm.shelved", alarm.plan.id, **who, until_ns=alarm.shelf_ns)

    def who(self, action: Action) -> dict[str, str]:
        """Tell who, who agreed, and why."""
        fields = {"by": action.by, "second": action.second, "reason": action.reason}
        if not action.second:
            del fields["second"]
        return fields

    def unshelve(self, t_ns: int, alarm: SlowAlarm, action: Action | str) -> None:
        """Unshelve."""
        if isinstance(action, Action) and not alarm.shelf_ns:
            self.refuse(t_ns, action, "it is not shelved")
            return
        alarm.shelf_ns = 0
        by = action.by if isinstance(action, Action) else action
        self.say(t_ns, "alarm.unshelved", alarm.plan.id, by=by)
        self.show(t_ns, alarm)

    def out_of_service(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Take out of service."""
        if alarm.is_out:
            self.refuse(t_ns, action, "it is so already")
            return
        alarm.is_out = True
        self.say(t_ns, "alarm.out_of_service", alarm.plan.id, **self.who(action))

    def return_to_service(self, t_ns: int, alarm: SlowAlarm, action: Action) -> None:
        """Return to service."""
        if not alarm.is_out:
            self.refuse(t_ns, action, "it is so already")
            return
        alarm.is_out = False
        name = alarm.plan.id
        self.say(t_ns, "alarm.returned_to_service", name, by=action.by, reason=action.reason)
        self.show(t_ns, alarm)
