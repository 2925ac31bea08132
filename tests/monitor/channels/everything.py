"""A plan with one of everything, for random runs."""

from __future__ import annotations

from monitor.channels.plan import (
    ChannelsPlan,
    CurrentLoop,
    Filtered,
    Linear,
    NoStart,
    OffProfile,
    PlatinumRtd,
    Polynomial,
    Slope,
    System,
    Take,
    ThermocoupleK,
    TimeTo,
    Unchanged,
    Voted,
)
from tests.monitor.channels.made import MS, S, computed, measured


def plan_of_everything() -> ChannelsPlan:
    """Give a plan with one of everything, on two instruments; times on a grid of 100 ms."""
    return ChannelsPlan(
        (
            measured("A", "lines.a", Linear(2.0, -1.0), stale_s=0.8),
            measured("B", "lines.b", CurrentLoop(0.0, 100.0), stale_s=1.2, span=(0.0, 100.0)),
            measured("G", "node.g", Linear(), stale_s=1.5, is_overdue=True),
            measured("C", "lines.c", CurrentLoop(50.0, -50.0), stale_s=0.8, span=(-20.0, 50.0)),
            measured("D", "lines.d", Polynomial((1.0, 0.5, -0.25)), stale_s=5.0),
            measured("D2", "lines.d", Polynomial((0.0, 1e200)), stale_s=5.0),
            measured("P", "lines.e", PlatinumRtd(), stale_s=0.8, span=(-50.0, 600.0)),
            measured("K", "lines.f", ThermocoupleK(20.0), stale_s=0.8),
            measured("KG", "lines.f", _compensated(), stale_s=0.8, span=(-200.0, 900.0)),
            measured("KP", "node.h", ThermocoupleK(0.0, "P", round(0.3 * S)), stale_s=1.5),
        ),
        (System("link:lines"), System("link:node"), System("host:recording")),
        (
            computed("AB", "a - b", "A", a="A", b="B"),
            computed("AG", "a / g", "A", 0.4, a="A", g="G"),
            computed("GA", "max(a, g) * (1 - w)", "G", 0.4, a="A", g="G", w="link:lines"),
            computed("X", "sqrt(x) + y", "AG", 0.4, x="AG", y="AB"),
            computed("W", "w + a", "link:lines", 0.4, w="link:lines", a="A"),
            *votes("V", ("G", "B", "C"), 2),
            *votes("N", ("V", "AB"), 2),
            *votes("M", ("C", "A"), 1),
            computed("VN", "v - g", "V", 0.4, v="V", g="G"),
        ),
        (
            Filtered("A~filter", "A", median_of=3),
            Filtered("G~filter", "G", median_of=5),
            Filtered("AB~filter", "AB", median_of=5),
            Filtered("B~filter", "B", lag_ns=S),
            Filtered("KP~filter", "KP", lag_ns=S // 3),
            Filtered("X~filter", "X", lag_ns=S // 2),
            Filtered("A~mean", "A", mean_ns=S // 2),
            Filtered("V~mean", "V", mean_ns=7 * S // 10),
        ),
        (
            Slope("A~rise", "A", S, S),
            Slope("A~mean~rise", "A~mean", S // 2, 60 * S),
            Slope("V~rise", "V", 7 * S // 10, 60 * S),
            TimeTo("B~up", "B", S, 90.0, is_upper=True, normal_quantile=1.2815515655446004),
            TimeTo("A~down", "A", 3 * S // 2, -5.0, is_upper=False, normal_quantile=0.2533),
            TimeTo("D2~up", "D2", S, 90.0, is_upper=True, normal_quantile=1.2815515655446004),
            Unchanged("A~stuck", "A", 2.0),
            Unchanged("C~stuck", "C", 0.0),
            NoStart("link~start", "link:lines"),
            NoStart("G~start", "G"),
            OffProfile("A~off", "A", ((0, 5.0), (S, 9.0), (3 * S // 2, 8.7))),
            OffProfile("V~off", "V", ((S, 5.0),), is_absolute=True),
            OffProfile("C~off", "C", ((0, 50.0), (2 * S, 0.1)), is_absolute=True),
            OffProfile("G~off", "G", ((S, 5.0), (3 * S, 6.1)), is_over_run=True),
        ),
    )


def votes(tag: str, inputs: tuple[str, ...], needed: int) -> tuple[Voted, ...]:
    """Make a voted channel and the hidden ones beside it, on votes up to 300 ms old."""
    names = {"": Take.VALUE, "~upper": Take.UPPER, "~lower": Take.LOWER, "~spread": Take.SPREAD}
    return tuple(
        Voted(f"{tag}{name}", inputs, needed, 300 * MS, take) for name, take in names.items()
    )


def _compensated() -> ThermocoupleK:
    """Give a thermocouple whose cold junction is channel G."""
    return ThermocoupleK(0.0, "G", round(0.4 * S))
