"""The hidden columns that limits look at, made from a draft without mistakes.

With a filter, limits look at the filtered values. That holds for figures too: rates, times to a
limit, profiles and budgets are made of the filtered channel; the distance from a number is
taken of the filtered value, and of the distance from another channel it is the difference of
the two, as measured, that is filtered. What is discrete or looks for a stuck sensor looks at
the channel as measured.

Columns with the same tag have the same settings and are made once: a rate of rise and one of
fall over one window share theirs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from statistics import NormalDist
from typing import Any

from monitor.channels.formula import parse_formula
from monitor.channels.plan import (
    Computed,
    Derived,
    Filtered,
    NoStart,
    OffProfile,
    Slope,
    Take,
    TimeTo,
    Unchanged,
    Voted,
)
from monitor.limits.plan import QUALITY_KINDS, Kind
from monitor.stand.draft import ChannelDraft, Draft
from monitor.stand.limit_values import HIGHS, UPWARDS
from monitor.stand.schema import FilterTable
from monitor.stand.schema_limits import (
    AfterTable,
    BudgetTable,
    DeviationTable,
    DisagreementTable,
    ExpectedTable,
    LongestTable,
    Points,
    RateTable,
    StateTable,
    StuckTable,
    TimeToTable,
)
from monitor.units import convert

#: Age beyond which a held input of a computed or voted channel is too old, in seconds.
DEFAULT_SKEW_S = 2.0
_NS = {"s": 1_000_000_000, "min": 60_000_000_000, "h": 3_600_000_000_000}


def ns(seconds: float) -> int:
    """Turn seconds of a stand file into ns."""
    return round(seconds * 1e9)


def vote_of(channel: ChannelDraft, take: Take = Take.VALUE) -> Voted:
    """Give the vote of redundant sensors: two of three, one of two, unless it is written."""
    tags = tuple(channel.table.vote or ())
    skew_s = channel.table.largest_skew_s or DEFAULT_SKEW_S
    hidden = "" if take is Take.VALUE else f"~{take}"
    needed = channel.table.needed or len(tags) - 1
    return Voted(f"{channel.tag}{hidden}", tags, needed, ns(skew_s), take)


@dataclass(slots=True)
class Figures:
    """Hidden columns by tag, in the order in which they were asked for."""

    draft: Draft
    computed: dict[str, Computed | Voted] = field(default_factory=dict)
    filtered: dict[str, Filtered] = field(default_factory=dict)
    derived: dict[str, Derived] = field(default_factory=dict)

    def filter_of(self, channel: ChannelDraft, tag: str) -> str:
        """Give the tag of *tag* filtered as *channel* says; itself where there is no filter."""
        table = channel.table.filter
        if table is None:
            return tag
        hidden = f"{tag}~filter"
        self.filtered.setdefault(hidden, _filter(hidden, tag, table))
        return hidden

    def side_of(self, channel: ChannelDraft, take: Take = Take.VALUE) -> str:
        """Give the tag of what a limit on one side of a channel looks at."""
        if not channel.is_voted or take is Take.VALUE:
            return self.filter_of(channel, channel.tag)
        vote = vote_of(channel, take)
        self.computed.setdefault(vote.tag, vote)
        return self.filter_of(channel, vote.tag)

    def tag_for(self, channel: ChannelDraft, kind: Kind) -> str:
        """Give the tag of the column that a limit looks at, and make it where it is hidden."""
        if kind in QUALITY_KINDS:
            return channel.tag
        if kind in UPWARDS:
            return self.side_of(channel, Take.UPPER if kind in HIGHS else Take.LOWER)
        table = channel.limits[kind]
        return _FIGURES[type(table)](self, channel, table)

    def derive(self, row: Derived) -> str:
        """Add a derived column; give its tag."""
        self.derived.setdefault(row.tag, row)
        return row.tag

    def compute(self, tag: str, text: str, inputs: dict[str, str], **options: Any) -> str:
        """Add a hidden formula on the clock of its first input; give its tag."""
        skew_s = options.pop("skew_s", None) or DEFAULT_SKEW_S
        formula = parse_formula(text, **options)
        clock = next(iter(inputs.values()))
        row = Computed(tag, formula, tuple(inputs.items()), clock, ns(skew_s))
        self.computed.setdefault(tag, row)
        return tag


def _filter(hidden: str, tag: str, table: FilterTable) -> Filtered:
    return Filtered(
        hidden,
        tag,
        median_of=table.median_of or 0,
        lag_ns=ns(table.lag_s or 0.0),
        mean_ns=ns(table.mean_s or 0.0),
    )


def _points(points: Points) -> tuple[tuple[int, float], ...]:
    return tuple((ns(seconds), value) for seconds, value in points)


def _rate(figures: Figures, channel: ChannelDraft, table: RateTable) -> str:
    tag = f"{channel.tag}~rate-{table.window_s:.12g}-{table.per}"
    source = figures.side_of(channel)
    return figures.derive(Slope(tag, source, ns(table.window_s), _NS[table.per]))


def _deviation(figures: Figures, channel: ChannelDraft, table: DeviationTable) -> str:
    tag = f"{channel.tag}~{Kind.DEVIATION}"
    if table.profile is not None:
        profile = OffProfile(
            tag, figures.side_of(channel), _points(table.profile), is_absolute=True
        )
        return figures.derive(profile)
    if isinstance(table.origin, str):
        return _distance(figures, channel, table)
    origin = table.origin or 0.0
    if channel.table.filter is None:
        inputs = {"x": channel.tag}
        return figures.compute(tag, "abs(x - c)", inputs, constants={"c": origin})
    return _off_constant(figures, tag, figures.side_of(channel), origin)


def _distance(figures: Figures, channel: ChannelDraft, table: DeviationTable) -> str:
    """Compute the distance of two channels, the other one taken in this one's unit."""
    tag = f"{channel.tag}~{Kind.DEVIATION}"
    other = figures.draft.channels[str(table.origin)]
    assert other.unit is not None
    assert channel.unit is not None
    gain, offset = convert(other.unit, channel.unit)
    options = {"scales": {"y": (float(gain), float(offset))}, "skew_s": table.largest_skew_s}
    inputs = {"x": channel.tag, "y": other.tag}
    if channel.table.filter is None:
        return figures.compute(tag, "abs(x - y)", inputs, **options)
    signed = figures.compute(f"{channel.tag}~difference", "x - y", inputs, **options)
    return _off_constant(figures, tag, figures.filter_of(channel, signed), 0.0)


def _off_constant(figures: Figures, tag: str, source: str, origin: float) -> str:
    """Take the distance from one number behind a filter, where no formula can stand."""
    points = ((0, origin),)
    row = OffProfile(tag, source, points, is_over_run=True, is_absolute=True)
    return figures.derive(row)


def _budget(figures: Figures, channel: ChannelDraft, table: BudgetTable) -> str:
    tag, source = f"{channel.tag}~{Kind.BUDGET}", figures.side_of(channel)
    return figures.derive(OffProfile(tag, source, _points(table.plan), is_over_run=True))


def _state(figures: Figures, channel: ChannelDraft, table: StateTable) -> str:
    tag, inputs = f"{channel.tag}~{Kind.STATE}", {"x": channel.tag}
    return figures.compute(tag, "x == s", inputs, constants={"s": table.state})


def _time_to(figures: Figures, channel: ChannelDraft, table: TimeToTable) -> str:
    bound, is_upper = bound_of(channel, table)
    row = TimeTo(
        f"{channel.tag}~{Kind.TIME_TO_LIMIT}",
        figures.side_of(channel),
        ns(table.window_s),
        bound,
        is_upper,
        NormalDist().inv_cdf(table.confidence),
    )
    return figures.derive(row)


def bound_of(channel: ChannelDraft, table: TimeToTable) -> tuple[float, bool]:
    """Give the bound of a time to a limit, and whether it is reached from below."""
    if not isinstance(table.reaches, str):
        return table.reaches, table.toward == "up"
    kind = Kind(table.reaches)
    return channel.thresholds()[kind].setpoint, kind in HIGHS


def _stuck(figures: Figures, channel: ChannelDraft, table: StuckTable) -> str:
    return figures.derive(Unchanged(f"{channel.tag}~{Kind.STUCK}", channel.tag, table.band))


def _expected(figures: Figures, channel: ChannelDraft, table: ExpectedTable) -> str:
    return figures.side_of(channel, Take.UPPER if table.below is None else Take.LOWER)


def _no_start(figures: Figures, channel: ChannelDraft, _: AfterTable) -> str:
    return figures.derive(NoStart(f"{channel.tag}~no_start", channel.tag))


_FIGURES: dict[type[Any], Callable[[Figures, ChannelDraft, Any], str]] = {
    RateTable: _rate,
    DeviationTable: _deviation,
    DisagreementTable: lambda figures, channel, _: figures.side_of(channel, Take.SPREAD),
    BudgetTable: _budget,
    StateTable: _state,
    TimeToTable: _time_to,
    StuckTable: _stuck,
    AfterTable: _no_start,
    LongestTable: lambda _, channel, __: channel.tag,
    ExpectedTable: _expected,
}
