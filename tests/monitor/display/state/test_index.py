"""Tests for monitor.display.state.index.

Source: hand-worked here.
"""

from __future__ import annotations

from monitor.display.state.index import StandIndex, system_name
from tests.monitor.display.made import STAND
from tests.monitor.display.rich import STAND_RICH

INDEX = StandIndex(STAND)


def test_channels_are_numbered_in_the_order_of_the_stand() -> None:
    assert INDEX.channel == {"PT-1": 0, "PT-2": 1, "TT-1": 2}


def test_limits_are_found_with_their_channel_and_their_order() -> None:
    place = INDEX.limits["PT-1.high"]

    assert place.tag == "PT-1"
    assert place.order == 1


def test_an_alarm_of_a_link_has_the_instruments_name_for_a_tag() -> None:
    place = INDEX.limits["link:panel.high"]

    assert place.channel is None
    assert place.tag == "panel"


def test_a_system_tag_without_a_name_stays_as_it_is() -> None:
    assert (system_name("host:recording"), system_name("host")) == ("recording", "host")


def test_a_phase_is_named_by_its_title_and_an_unknown_one_by_its_name() -> None:
    assert (INDEX.phase_title("soak"), INDEX.phase_title("other")) == ("Soak", "other")


def test_a_mode_is_named_by_its_title_and_told_apart_from_a_phase() -> None:
    index = StandIndex(STAND_RICH)

    assert (index.mode_title("loop_only"), index.mode_title("x")) == ("Loop only", "x")
    assert [index.place_title(name) for name in ("loop_only", "soak")] == ["Loop only", "Soak"]


def test_a_limit_is_named_by_tag_and_kind_and_an_unknown_one_by_its_id() -> None:
    assert INDEX.limit_name("PT-1.high_high") == "PT-1 high-high"
    assert INDEX.limit_name("XX.high") == "XX.high"
