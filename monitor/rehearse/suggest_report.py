"""What is suggested for a limit, as lines for a technician."""

from __future__ import annotations

import math
from collections.abc import Iterator

from monitor.rehearse.choices import NO_SIEVE, Choice
from monitor.rehearse.judge import Verdict
from monitor.rehearse.suggest import Spikes, Suggestion
from monitor.rehearse.words import columns_text, span_text

_HEADING = (
    "",
    "deadband",
    "filter",
    "on-delay",
    "alarms",
    "nuisance",
    "missed",
    "delay",
    "mean",
)
_KEY = (
    "alarms: how many it gives over these runs; missed: what lasted and has no alarm;",
    "nuisance: alarms on nothing that lasted, or one more on what has its alarm already;",
    "delay: filter and on-delay by themselves; mean: how much later than now, on what lasted",
)


def suggest_lines(found: Suggestion) -> list[str]:
    """Say what was seen, what is proposed and why, and what each choice would give."""
    return [
        _present(found),
        *(f"  {line}" for line in _seen(found)),
        "",
        *_proposed(found),
        "",
        *columns_text([_HEADING, *(_cells(found, one) for one in found.verdicts)]),
        *_KEY,
    ]


def _present(found: Suggestion) -> str:
    """Say how the limit is set up now."""
    limit, unit = found.subject.limit, _unit(found)
    elsewhere = "".join(f", {name} {x:g}" for name, x in sorted(limit.setpoint_in.items()))
    return (
        f"{limit.id}: setpoint {limit.setpoint:g}{unit}{elsewhere}; "
        f"now {_choice_text(found.subject.present, unit)}"
    )


def _seen(found: Suggestion) -> Iterator[str]:
    """Say what the recorded samples are like."""
    unit = _unit(found)
    for place, noise in found.noise.items():
        sigma = "too few samples" if math.isnan(noise.sigma) else f"{noise.sigma:.3g}{unit}"
        yield f"noise in {place}: {sigma}, from {noise.samples} samples"
    yield (
        "noise: standard deviation from sample to sample (second differences, by their median "
        "absolute deviation); slow wander is not in it"
    )
    yield f"a sample each {span_text(found.period_ns)}; {_spikes_text(found.spikes)}"
    yield (
        f"{found.lasted} time{'s' * (found.lasted != 1)} it lasted: beyond the setpoint for "
        f"most of {span_text(found.window_ns)}, unfiltered; this is what an alarm is for"
    )
    if found.subject.published is not None:
        point = found.subject.published
        yield (
            "published starting point for such a signal: deadband "
            f"{point.deadband_percent:g} % of the span, delay {point.delay_s:g} s"
        )


def _spikes_text(spikes: Spikes) -> str:
    """Say what spikes there were."""
    count = f"{spikes.count} spike{'s' * (spikes.count != 1)} beyond the setpoint"
    if not spikes.count:
        return count
    most, longest = span_text(spikes.most_ns), span_text(spikes.longest_ns)
    return f"{count}, most of them up to {most}, the longest {longest}"


def _proposed(found: Suggestion) -> Iterator[str]:
    """Say what is proposed, and why; it knows these runs only."""
    best, present = found.proposed, found.verdicts[0]
    if best is None:
        yield "proposed: nothing; no choice leaves a person the time to respond"
        return
    yield f"proposed, from these runs only: {_choice_text(best.choice, _unit(found))}"
    if best is present:
        yield "  as it is: no other choice misses less or saves more without coming later"
    else:
        yield f"  {best.nuisance} nuisance alarms, now {present.nuisance}"
        yield f"  {_cost(best, present)}"
        yield "  of what misses as little and saves as much, or nearly, it changes least"
    yield from (f"  {line}" for line in _remarks(found, best))


def _remarks(found: Suggestion, best: Verdict) -> Iterator[str]:
    """Say what a person should know before taking it over."""
    subject, unit = found.subject, _unit(found)
    if not subject.may_delay:
        yield "of top priority: no on-delay is ever proposed"
    if best.choice.sieve != subject.sieve and subject.shares:
        yield f"the filter is the channel's: {', '.join(subject.shares)} see it too"
    if best.choice.deadband < found.noise_span and best.choice.sieve == NO_SIEVE:
        yield (
            f"its deadband is narrower than the noise, {found.noise_span:g}{unit} from peak to "
            "peak: standing on its setpoint, it can chatter"
        )
    if found.sooner is not None:
        sooner_ns = round(-(found.sooner.later_ns(best) or 0.0))
        yield (
            f"{_choice_text(found.sooner.choice, unit)}: would have come "
            f"{span_text(sooner_ns)} sooner here, and given no more alarms"
        )


def _cost(best: Verdict, present: Verdict) -> str:
    """Say what the proposed choice costs."""
    later = best.later_ns(present)
    if later is None:
        return f"filter and delay cost {span_text(best.delay_ns)}"
    when = f"{_later_text(later)} than now, in the mean" if later else "when it comes now"
    return f"it comes {when}; of what lasted it misses {best.missed or 'none'}"


def _cells(found: Suggestion, one: Verdict) -> tuple[str, ...]:
    """Write a row of the table."""
    present, choice = found.verdicts[0], one.choice
    marks = ("now" if one is present else "", "proposed" if one is found.proposed else "")
    later = one.later_ns(present)
    return (
        " ".join(mark for mark in marks if mark),
        f"{choice.deadband:g}{_unit(found)}",
        choice.sieve.text,
        _delay_text(choice),
        str(one.alarms),
        str(one.nuisance),
        str(one.missed),
        span_text(one.delay_ns),
        "-" if later is None else _later_text(later),
    )


def _choice_text(choice: Choice, unit: str) -> str:
    """Name a choice."""
    return (
        f"deadband {choice.deadband:g}{unit}, filter {choice.sieve.text}, "
        f"on-delay {_delay_text(choice)}"
    )


def _delay_text(choice: Choice) -> str:
    """Write an on-delay, or the samples that are counted in its place."""
    needed, of = choice.n_of_m
    return f"{needed} of {of} samples" if of else span_text(choice.on_delay_ns)


def _later_text(later_ns: float) -> str:
    """Write by how much something is later, or earlier."""
    span = span_text(round(abs(later_ns)))
    return f"{span} {'earlier' if later_ns < 0 else 'later'}" if later_ns else "0 s"


def _unit(found: Suggestion) -> str:
    """Give the unit with a space before it."""
    return f" {found.subject.unit}" if found.subject.unit else ""
