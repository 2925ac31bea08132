"""What a rehearsal found, as plain data for other programs. Times in ns since 1970, UTC."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

import msgspec

from monitor.rehearse.choices import Choice
from monitor.rehearse.compare import TOLERANCE_NS, Change, Difference, LimitOutcome
from monitor.rehearse.judge import Verdict
from monitor.rehearse.occurrences import Occurrence
from monitor.rehearse.run import RunOutcome
from monitor.rehearse.suggest import Suggestion
from monitor.rehearse.together import Rehearsal

_Data = dict[str, Any]


def json_text(found: Rehearsal) -> str:
    """Write everything that was found."""
    data: _Data = {
        "tolerance_ns": TOLERANCE_NS,
        "runs": [_run(outcome) for outcome in found.outcomes],
    }
    if found.suggestion is not None:
        data["suggestion"] = _suggestion(found.suggestion)
    return msgspec.json.format(msgspec.json.encode(data)).decode()


def _run(outcome: RunOutcome) -> _Data:
    """Give one run."""
    return {
        "run": outcome.run,
        "started_ns": outcome.started_ns,
        "ended_ns": outcome.ended_ns,
        "differs": outcome.differs,
        "notes": list(outcome.notes),
        "limits": [
            _limit(row) | {"changes": list(outcome.changes.get(row.limit, ()))}
            for row in outcome.limits
        ],
    }


def _limit(row: LimitOutcome) -> _Data:
    """Give one limit: counts, and each of its alarms."""
    return {
        "limit": row.limit,
        "in": row.only.value,
        **{change.value: row.count(change) for change in Change},
        "alarms": [_difference(one) for one in row.differences],
    }


def _difference(one: Difference) -> _Data:
    """Give one alarm."""
    return {
        "change": one.change.value,
        "shift_ns": one.shift_ns,
        "end_shift_ns": one.end_shift_ns,
        "old": _occurrence(one.old),
        "new": _occurrence(one.new),
    }


def _occurrence(one: Occurrence | None) -> _Data | None:
    """Give when an alarm stood."""
    if one is None:
        return None
    return {
        "raised_ns": one.raised_ns,
        "cleared_ns": one.end_ns if one.is_over else None,
        "shown_ns": one.shown_ns,
    }


def _suggestion(found: Suggestion) -> _Data:
    """Give what was tried, and what is proposed."""
    subject, present = found.subject, found.verdicts[0]
    return {
        "limit": subject.limit.id,
        "unit": subject.unit,
        "noise": {
            place: {"sigma": _number(noise.sigma), "samples": noise.samples}
            for place, noise in found.noise.items()
        },
        "noise_span": found.noise_span,
        "period_ns": found.period_ns,
        "spikes": asdict(found.spikes),
        "lasted": found.lasted,
        "window_ns": found.window_ns,
        "choices": [
            _verdict(one, present)
            | {"is_proposed": one is found.proposed, "is_sooner": one is found.sooner}
            for one in found.verdicts
        ],
    }


def _verdict(one: Verdict, present: Verdict) -> _Data:
    """Give a choice with what it would have given."""
    return {
        **_choice(one.choice),
        "is_present": one is present,
        "alarms": one.alarms,
        "nuisance": one.nuisance,
        "missed": one.missed,
        "delay_ns": one.delay_ns,
        "later_ns": one.later_ns(present),
    }


def _choice(choice: Choice) -> _Data:
    """Give how a limit is set up."""
    return {
        "deadband": choice.deadband,
        "median_of": choice.sieve.median_of,
        "lag_ns": choice.sieve.lag_ns,
        "mean_ns": choice.sieve.mean_ns,
        "on_delay_ns": choice.on_delay_ns,
        "n_of_m": list(choice.n_of_m),
    }


def _number(value: float) -> float | None:
    """Give a number; None for what is not known, which JSON has no number for."""
    return None if math.isnan(value) else value
