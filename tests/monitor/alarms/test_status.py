"""Tests for monitor.alarms.status.

Source: Hand-worked here, from the project's own limit rule 14: core state and three flags.
"""

from __future__ import annotations

import pytest

from monitor.alarms.core import Core, Inhibit, Prompt
from monitor.alarms.status import AlarmStatus


def test_of_a_new_alarm_nothing_is_known_and_no_time_applies() -> None:
    status = AlarmStatus("PT-1.high")

    assert (status.core, status.is_active, status.is_owed) == (Core.NORMAL, False, False)
    assert (status.is_inhibited, status.is_annunciated) == (False, False)
    assert (status.onset_ns, status.true_ns, status.annunciated_ns) == (0, 0, 0)
    assert (status.acknowledged_ns, status.cause, status.first_out) == (0, "", "")
    assert (status.suppressed_since_ns, status.shelved_since_ns) == (0, 0)
    assert (status.shelved_until_ns, status.out_since_ns) == (0, 0)
    assert (status.value, status.quality, status.inhibit_reason) == (None, 0, "")


@pytest.mark.parametrize("core", Core)
def test_an_alarm_is_annunciated_unless_it_is_normal(core: Core) -> None:
    assert AlarmStatus("PT-1.high", core).is_annunciated == (core is not Core.NORMAL)


@pytest.mark.parametrize("flag", [flag for flag in Inhibit if flag])
def test_any_flag_alone_keeps_it_from_being_annunciated(flag: Inhibit) -> None:
    status = AlarmStatus("PT-1.high", Core.UNACKNOWLEDGED, flag)

    assert (status.is_inhibited, status.is_annunciated) == (True, False)


@pytest.mark.parametrize(
    ("prompt", "expected"),
    [
        (Prompt.SHELVE, (True, False, False)),
        (Prompt.SUP, (False, True, False)),
        (Prompt.OOS, (False, False, True)),
    ],
)
def test_each_flag_has_its_word(prompt: Prompt, expected: tuple[bool, ...]) -> None:
    status = AlarmStatus("PT-1.high")

    status.turn_flag(prompt)

    words = (status.is_shelved, status.is_suppressed, status.is_out_of_service)
    assert words == expected


def test_who_set_it_aside_is_told_for_shelf_and_service() -> None:
    status = AlarmStatus("PT-1.high", shelf_reason="shelved", service_reason="out")

    assert status.inhibit_reason == "shelved; out"


@pytest.mark.parametrize("core", Core)
def test_the_words_for_the_core_state_are_its_own(core: Core) -> None:
    status = AlarmStatus("PT-1.high", core)

    assert status.is_acknowledged == ("unacknowledged" not in core.value)
    assert status.is_latched == core.value.startswith("latched")
