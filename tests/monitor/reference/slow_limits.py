"""One limit once more, slow and plain: one sample at a time."""

from __future__ import annotations

import math

from monitor.limits.plan import Kind, Limit
from monitor.samples import Quality
from tests.monitor.reference.slow_channels import Sample

Q = Quality
NAN = math.nan


class SlowLimit:
    """One limit: what it waits for, since when, and what has been told."""

    def __init__(self, plan: Limit) -> None:
        self.plan = plan
        self.is_active = False
        self.waits_for = ""  # "", "raise", "clear", "bridge"
        self.due_ns: int | None = None
        self.resume_ns: int | None = None  # what was left of the on-delay, while bridging
        self.onset: tuple[int, float, int, float] = (0, NAN, 0, NAN)

    def sees(self, sample: Sample, setpoint: float) -> str:
        """Say "true", "returned", "between" or "bad"."""
        plan, q = self.plan, sample.quality
        if plan.kind is Kind.STALE:
            if q == Q.STALE:
                return "true"
            alive = q < 0x80 or q in (Q.OUT_OF_RANGE, Q.CURRENT_FAULT, Q.NOT_FINITE)
            return "returned" if alive else "between"
        if plan.kind is Kind.FAULT:
            if q in (Q.OUT_OF_RANGE, Q.CURRENT_FAULT, Q.NOT_FINITE):
                return "true"
            return "returned" if q < 0x80 else "between"
        is_high = plan.kind in (Kind.HIGH, Kind.HIGH_HIGH)
        if sample.is_bad:
            return "bad"
        if q in (Q.SATURATED_HIGH, Q.SATURATED_LOW):
            return "true" if is_high == (q == Q.SATURATED_HIGH) else "between"
        if is_high:
            if sample.value > setpoint:
                return "true"
            return "returned" if sample.value < setpoint - plan.deadband else "between"
        if sample.value < setpoint:
            return "true"
        return "returned" if sample.value > setpoint + plan.deadband else "between"

    def take(self, sample: Sample, setpoint: float) -> None:
        """Take one sample."""
        seen = self.sees(sample, setpoint)
        onset = (sample.t_ns, sample.value, sample.quality, setpoint)
        if self.is_active:
            self._take_active(seen, onset)
        elif seen == "true":
            if self.waits_for == "bridge" and self.resume_ns is not None:
                self._wait("raise", sample.t_ns + self.resume_ns)
            elif self.waits_for != "raise":
                self.onset = onset
                self._wait("raise", sample.t_ns + self.plan.on_delay_ns)
        elif seen == "bad":
            self._take_bad(sample.t_ns, onset)
        else:
            self._wait("", None)

    def _take_active(self, seen: str, onset: tuple[int, float, int, float]) -> None:
        if seen != "returned":
            self._wait("", None)
        elif self.waits_for != "clear":
            self.onset = onset
            self._wait("clear", onset[0] + self.plan.off_delay_ns)

    def _take_bad(self, t_ns: int, onset: tuple[int, float, int, float]) -> None:
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

    def fall_due(self) -> str:
        """Do what is due; say "raised", "cleared" or "lost"."""
        was, resumes = self.waits_for, self.resume_ns is not None
        self._wait("", None)
        if was == "clear":
            self.is_active = False
            return "cleared"
        if was == "bridge" and resumes and not self.plan.raises_on_bad:
            return "lost"
        self.is_active = True
        return "raised"
