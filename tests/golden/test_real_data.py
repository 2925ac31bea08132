"""Tests for monitor.pipeline.

Source: tests/golden/{occupancy,weather,water_flow}/README.md: recordings of real sensors, with
journals whose every event was looked at beside a plot of the recording.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from monitor.events import Event
from tests.golden.real_data import (
    CASES,
    HERE,
    Case,
    golden,
    journal_lines,
    load_case,
    ns_of,
    run_cut,
    run_whole,
)

assert CASES


@cache
def loaded(name: str) -> tuple[Case, tuple[Event, ...]]:
    """Give a case and the events of its run in one step."""
    case = load_case(name)
    return case, tuple(run_whole(case))


def test_there_are_three_recordings_with_their_licences() -> None:
    assert CASES == ["occupancy", "water_flow", "weather"]
    for name in CASES:
        assert "Copyright (c)" in (HERE / name / "LICENSE").read_text(encoding="utf-8")
        assert "Licence" in (HERE / name / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", CASES)
def test_the_journal_of_a_recording_is_the_golden_one(name: str) -> None:
    _, events = loaded(name)

    assert journal_lines(events) == golden(name)
    assert len(golden(name)) > 20


@pytest.mark.parametrize("name", CASES)
def test_a_recording_s_stand_file_has_no_mistake_and_no_warning(name: str) -> None:
    case, _ = loaded(name)

    assert case.stand.warnings == ()


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("name", CASES)
def test_a_recording_cut_into_random_steps_gives_the_same_to_the_last_bit(
    name: str, seed: int
) -> None:
    case, events = loaded(name)
    rng = np.random.default_rng(seed)

    assert tuple(run_cut(case, rng, int(rng.integers(2, 200)))) == events


@pytest.mark.parametrize("name", CASES)
def test_each_limit_on_a_value_of_a_recording_has_something_to_say(name: str) -> None:
    case, events = loaded(name)
    spoke = {event.subject for event in events}

    silent = {limit.id for limit in case.stand.plan.limits if limit.id not in spoke}

    # Alarms of sensors, links, the recording and what arms late exist by themselves.
    assert {x for x in silent if not x.endswith((".fault", ".stale", ".arming"))} == {
        f"link:{case.stand.instruments[0].name}.high",
        "host:recording.high",
    }


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("2022-03-27T01:00:00+01:00", 1_648_339_200),
        ("2022-03-27T03:00:00+02:00", 1_648_342_800),
        ("1/2/2022 0:05", 1_641_081_900),
        ("2015-02-04 17:51:00", 1_423_072_260),
    ],
)
def test_times_of_recordings_are_read_with_their_zone_or_as_utc(
    text: str, seconds: int
) -> None:
    assert ns_of(text) == seconds * 10**9
