"""Tests for monitor.channels.system.

Source: Hand-worked here.
"""

from __future__ import annotations

import pytest

from monitor.channels.draft import draft_of, held_at_start
from monitor.channels.plan import ChannelsPlan, System
from monitor.channels.system import Moments, SystemChannels
from monitor.events import Action, Control, HostEvent, HostWhat
from monitor.samples import Quality
from tests.monitor.channels.made import START_NS, S, link, measured

PLAN = ChannelsPlan(
    (measured("A", "gas.a"), measured("N", "node.n"), measured("B", "gas.b")),
    (System("link:gas"), System("host:recording")),
)
SYSTEM = SystemChannels(PLAN)
Row = tuple[float, float, int]


def host(t_s: float, what: HostWhat) -> Control:
    """Make a host event *t_s* after the start."""
    return Control(START_NS + round(t_s * S), 0, HostEvent(what))


def written(moments: Moments, tag: str) -> list[Row]:
    """Give (seconds, value, quality) of a system channel's own rows."""
    grid = draft_of(held_at_start(PLAN, START_NS), max(1, moments.most_rows()), 3)
    moments.write(grid)
    c = PLAN.column[tag]
    return [
        (
            (int(grid.grid.t_ns[k, c]) - START_NS) / S,
            grid.grid.value[k, c],
            grid.grid.quality[k, c],
        )
        for k in range(int(grid.grid.count[c]))
    ]


def test_a_link_is_1_while_it_is_down() -> None:
    moments = SYSTEM.moments([link(1, "gas", is_up=False), link(3, "gas", is_up=True)])

    assert written(moments, "link:gas") == [(1.0, 1.0, Quality.GOOD), (3.0, 0.0, Quality.GOOD)]


def test_a_link_that_goes_down_takes_the_channels_of_its_instrument_along() -> None:
    moments = SYSTEM.moments([link(2, "gas", is_up=False), link(3, "gas", is_up=True)])

    assert [(columns.tolist(), t_ns) for columns, t_ns in moments.lost] == [
        ([0, 2], START_NS + 2 * S)
    ]


def test_a_link_without_a_channel_of_its_own_still_takes_its_channels_along() -> None:
    moments = SYSTEM.moments([link(2, "node", is_up=False)])

    assert [columns.tolist() for columns, _ in moments.lost] == [[1]]
    assert moments.most_rows() == 0


def test_a_link_of_an_instrument_that_no_channel_uses_changes_nothing() -> None:
    moments = SYSTEM.moments([link(2, "ghost", is_up=False)])

    assert (moments.lost, moments.most_rows()) == ([], 0)


def test_of_several_changes_at_one_instant_the_last_one_counts() -> None:
    moments = SYSTEM.moments(
        [link(1, "gas", is_up=True, seq=2), link(1, "gas", is_up=False, seq=1)]
    )

    assert written(moments, "link:gas") == [(1.0, 0.0, Quality.GOOD)]


def test_recording_is_1_while_nothing_can_be_written() -> None:
    moments = SYSTEM.moments([host(1, "recording_stopped"), host(2, "recording_resumed")])

    assert written(moments, "host:recording") == [
        (1.0, 1.0, Quality.GOOD),
        (2.0, 0.0, Quality.GOOD),
    ]


@pytest.mark.parametrize("what", ["run_started", "run_resumed", "readings_dropped"])
def test_other_host_events_are_no_samples(what: HostWhat) -> None:
    assert SYSTEM.moments([host(1, what)]).most_rows() == 0


def test_what_a_person_does_is_no_sample() -> None:
    act = Control(START_NS + S, 0, Action("acknowledge", "*", "A. Marl"))

    assert SYSTEM.moments([act]).most_rows() == 0


def test_a_stand_without_a_recording_channel_needs_none() -> None:
    bare = SystemChannels(ChannelsPlan((measured("A", "gas.a"),)))

    assert bare.moments([host(1, "recording_stopped")]).most_rows() == 0


def test_short_columns_are_padded_with_their_last_row() -> None:
    moments = SYSTEM.moments(
        [link(1, "gas", is_up=False), link(3, "gas", is_up=True), host(2, "recording_stopped")]
    )
    draft = draft_of(held_at_start(PLAN, START_NS), 3, 3)

    moments.write(draft)

    assert draft.grid.value[:, 3:].T.tolist() == [[1.0, 0.0, 0.0], [1.0, 1.0, 1.0]]
    assert draft.grid.t_ns[2, 4] == START_NS + 2 * S
