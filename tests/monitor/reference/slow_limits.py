"""One limit once more, slow and plain: one sample at a time."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from monitor.limits.plan import NO_COLUMN, Kind, Limit, Place
from monitor.samples import Quality
from tests.monitor.reference.slow_channels import Sample

Q = Quality
NAN = math.nan

Onset = tuple[int, float, int, float]


class SlowLimit:
    """One limit: what it waits for, since when, and what has been told."""

    def __init__(self, plan: Limit, place: Place, start_ns: int) -> None:
        self.plan = plan
        self.place = place
        self.is_active = False
        self.is_asleep = False
        self.is_done = False
        self.is_watched = False
        self.waits_for = ""  # "", "raise", "clear", "bridge"
        self.due_ns: int | None = None
        self.raised_with = 0  # the quality
        self.resume_ns: int | None = None  # what was left of the on-delay, while bridging
        self.onset: Onset = (0, NAN, 0, NAN)
        self.last: list[tuple[bool, Onset]] = []  # n of m: the newest m, oldest first
        self.told: list[tuple[str, int, Onset]] = []
        if plan.is_watched(place):
            self.watch(Sample(start_ns, NAN, Q.WAITING))

    @property
    def setpoint(self) -> float:
        """Give the setpoint here."""
        plan, place = self.plan, self.place
        is_compared = plan.kind not in (Kind.STALE, Kind.FAULT) and plan.column != NO_COLUMN
        if not is_compared:
            return NAN
        for name in (place.mode, place.phase):
            if name in plan.setpoint_in:
                return plan.setpoint_in[name]
        return plan.setpoint

    def sees(self, sample: Sample) -> str:
        """Say "true", "returned", "between" or "bad"."""
        seen = self.sees_plainly(sample)
        if self.plan.is_once and seen != "returned":
            return "true"
        return seen

    def sees_plainly(self, sample: Sample) -> str:
        """Say it for what need not come."""
        plan, q, setpoint = self.plan, sample.quality, self.setpoint
        if plan.kind is Kind.PHASE_OVERLONG:
            return "true"
        if plan.kind is Kind.STALE:
            if q == Q.STALE:
                return "true"
            alive = q < 0x80 or q in (Q.OUT_OF_RANGE, Q.CURRENT_FAULT, Q.NOT_FINITE)
            return "returned" if alive else "between"
        if plan.kind is Kind.FAULT:
            if q in (Q.OUT_OF_RANGE, Q.CURRENT_FAULT, Q.NOT_FINITE):
                return "true"
            return "returned" if q < 0x80 else "between"
        if sample.is_bad:
            return "bad"
        is_high = self.plan.expects_low if plan.kind is Kind.EXPECTED else plan.kind in HIGHS
        if q in (Q.SATURATED_HIGH, Q.SATURATED_LOW):
            return "true" if is_high == (q == Q.SATURATED_HIGH) else "between"
        if is_high:
            if sample.value > setpoint:
                return "true"
            return "returned" if sample.value < setpoint - plan.deadband else "between"
        if sample.value < setpoint:
            return "true"
        return "returned" if sample.value > setpoint + plan.deadband else "between"

    def take(self, sample: Sample) -> None:
        """Take one sample."""
        if not self.is_watched:
            return
        seen = self.sees(sample)
        onset = (sample.t_ns, sample.value, sample.quality, self.setpoint)
        if self.plan.n_of_m[1] and not self.is_asleep:
            seen, onset = self.count(seen, onset)
        self.judge(sample.t_ns, seen, onset)

    def count(self, seen: str, onset: Onset) -> tuple[str, Onset]:
        """Judge by n of the last m samples."""
        if seen == "bad":
            return seen, onset
        needed, window = self.plan.n_of_m
        self.last = [*self.last, (seen == "true", onset)][-window:]
        beyond = [one for is_beyond, one in self.last if is_beyond]
        if len(beyond) >= needed:
            return "true", (*beyond[0][:3], self.setpoint)
        return ("between" if seen == "true" else seen), onset

    def judge(self, t_ns: int, seen: str, onset: Onset) -> None:
        """Move on what is seen."""
        if self.is_asleep:
            if seen == "returned":
                self.is_asleep = False
                self.told.append(("armed", t_ns, onset))
        elif self.is_done:
            return
        elif self.is_active:
            self._take_active(seen, onset)
        elif seen == "true":
            if self.waits_for == "bridge" and self.resume_ns is not None:
                self._wait("raise", t_ns + self.resume_ns)
            elif self.waits_for != "raise":
                self.onset = onset
                self._wait("raise", t_ns + self.plan.on_delay_ns)
        elif seen == "bad":
            self._take_bad(t_ns, onset)
        else:
            self._wait("", None)
            self.is_done = self.plan.is_once and seen == "returned"

    def _take_active(self, seen: str, onset: Onset) -> None:
        if seen != "returned":
            self._wait("", None)
        elif self.waits_for != "clear":
            self.onset = onset
            self._wait("clear", onset[0] + self.plan.off_delay_ns)

    def _take_bad(self, t_ns: int, onset: Onset) -> None:
        if self.waits_for == "raise":
            assert self.due_ns is not None
            left = self.due_ns - t_ns
            self._wait("bridge", t_ns + self.plan.bridge_ns)
            self.resume_ns = left
        elif self.waits_for == "" and self.plan.raises_on_bad:
            self.onset = onset
            self._wait("bridge", t_ns + self.plan.bridge_ns)

    def _wait(self, what: str, due_ns: int | None) -> None:
        self.waits_for, self.due_ns, self.resume_ns = what, due_ns, None

    def fall_due(self, t_ns: int) -> None:
        """Do what is due at *t_ns*: raised, cleared or lost."""
        if self.due_ns is None or self.due_ns > t_ns:
            return
        was, resumes = self.waits_for, self.resume_ns is not None
        self._wait("", None)
        if was == "clear":
            self.is_active, self.is_done = False, self.plan.is_once
            self.told.append(("cleared", t_ns, self.onset))
        elif was == "bridge" and resumes and not self.plan.raises_on_bad:
            self.told.append(("lost", t_ns, self.onset))
        else:
            self.is_active = True
            self.raised_with = self.onset[2]
            self.told.append(("raised", t_ns, self.onset))

    # Places and edits.

    def watch(self, held: Sample) -> None:
        """Begin to watch, with the newest sample at the instant of *held*."""
        self.is_watched, self.is_done, self.last = True, False, []
        self.is_asleep = self.plan.is_arming
        seen = self.sees(held)
        is_counted = self.plan.n_of_m[1] and not self.is_asleep
        if is_counted or (held.quality == Q.WAITING and seen == "bad"):
            seen = "between"
        onset = (held.t_ns, held.value, held.quality, self.setpoint)
        if self.plan.column == NO_COLUMN:
            onset = (held.t_ns, NAN, 0, NAN)
        self.judge(held.t_ns, seen, onset)

    def leave(self, held: Sample) -> None:
        """Watch no more."""
        if self.is_active:
            onset = (held.t_ns, held.value, held.quality, self.setpoint)
            if self.plan.column == NO_COLUMN:
                onset = (held.t_ns, NAN, 0, NAN)
            self.told.append(("cleared", held.t_ns, onset))
        self.is_active = self.is_watched = self.is_asleep = self.is_done = False
        self._wait("", None)

    def present(self, held: Sample) -> None:
        """Judge the newest sample anew, at the instant of *held*."""
        if self.plan.n_of_m[1]:
            self.last = []
        if self.plan.n_of_m[1] and not self.is_asleep:
            return
        if self.is_watched and (not held.is_bad or self.plan.is_once):
            onset = (held.t_ns, held.value, held.quality, self.setpoint)
            self.judge(held.t_ns, self.sees(held), onset)

    def enter(self, place: Place, held: Sample, *, is_phase: bool) -> None:
        """Be in another place."""
        was, old = self.is_watched, self.setpoint
        self.place, is_wanted = place, self.plan.is_watched(place)
        new = self.setpoint
        is_expected = self.plan.is_once and not self.plan.id.endswith(".arming")
        from_start = is_expected or self.plan.kind is Kind.PHASE_OVERLONG
        begins_anew = is_phase and from_start and place.phase in self.plan.watched_in
        if was and (begins_anew or not is_wanted):
            self.leave(held)
        if is_wanted and (begins_anew or not was):
            self.watch(held)
        elif is_wanted and new != old and not math.isnan(new):
            self.present(held)

    def edit(self, changes: Mapping[str, float], held: Sample) -> None:
        """Take other settings."""
        for key, value in changes.items():
            if key.startswith("setpoint_in."):
                places = {**self.plan.setpoint_in, key.split(".", 1)[1]: value}
                self.plan = replace(self.plan, setpoint_in=places)
            elif key.endswith("_delay_s"):
                name = key.removesuffix("_s") + "_ns"
                self.plan = replace(self.plan, **{name: round(value * 1e9)})  # type: ignore[arg-type]
            else:
                self.plan = replace(self.plan, **{key: value})  # type: ignore[arg-type]
        if self.plan.column != NO_COLUMN:
            self.present(held)


HIGHS = (
    Kind.HIGH,
    Kind.HIGH_HIGH,
    Kind.RATE_OF_RISE,
    Kind.DEVIATION,
    Kind.DISAGREEMENT,
    Kind.STATE,
    Kind.BUDGET,
    Kind.STUCK,
    Kind.LATE,
    Kind.MISSED,
    Kind.OVERLONG,
)


class SlowCombination(SlowLimit):
    """A combination: true while its expression is."""

    def __init__(self, plan: Limit, place: Place, start_ns: int) -> None:
        self.flags: dict[str, bool] = {name: False for name, _ in plan.inputs}
        self.worst = 0
        super().__init__(plan, place, start_ns)

    def sees_plainly(self, sample: Sample) -> str:
        """Evaluate the expression as Python does."""
        assert self.plan.condition is not None
        names = {"at_least": lambda n, *flags: sum(flags) >= n, **self.flags}
        is_true = eval(self.plan.condition.text, {"__builtins__": {}}, names)
        return "true" if is_true else "returned"

    def watch(self, held: Sample) -> None:
        """Begin to watch, with what stands together now."""
        self.is_watched = True
        self.look(held.t_ns)

    def look(self, t_ns: int) -> None:
        """Judge what stands together at an instant."""
        if not self.is_watched:
            return
        seen = self.sees_plainly(Sample(t_ns, NAN, 0))
        quality = Q.INPUT_BAD if self.worst >= 0x80 else 0x42 if self.worst >= 0x40 else 0
        self.judge(t_ns, seen, (t_ns, NAN, quality, NAN))
