"""Tests for monitor.stand.draft.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

import tomllib
from datetime import date

import msgspec
import pytest

from monitor.limits.plan import Kind
from monitor.stand.draft import ChannelDraft, Draft, named_tables, read_draft
from monitor.stand.locate import locate
from monitor.stand.report import Report
from monitor.stand.schema import AlarmTable, ChannelTable
from monitor.stand.schema_limits import LimitTable


def draft_of(text: str) -> Draft:
    """Read a text as a draft."""
    report = Report("f", locate(text))
    draft = Draft(report, {}, {}, date(2026, 11, 24), tomllib.loads(text))
    read_draft(draft)
    return draft


def test_a_good_file_is_read_whole(good: str) -> None:
    draft = draft_of(good)

    assert draft.stand is not None
    assert draft.stand.name == "bench"
    assert draft.tags == ("PT-101", "PT-102", "TT-101", "PDT-101")
    assert draft.phase_names == ["fill", "leak"]
    assert list(draft.charts) == [0]
    assert isinstance(draft.channels["PT-101"].limits[Kind.HIGH], LimitTable)
    assert draft.report.problems == ()


def test_limits_keep_the_order_of_the_file(good: str) -> None:
    text = (
        good + "[channels.TT-101.limits.fault]\n[channels.TT-101.limits.high]\nsetpoint = 1\n"
    )

    draft = draft_of(text + 'priority = "low"\n[channels.TT-101.limits.stale]\n')

    assert list(draft.channels["TT-101"].limits) == [Kind.FAULT, Kind.HIGH, Kind.STALE]
    assert isinstance(draft.channels["TT-101"].limits[Kind.STALE], AlarmTable)


def test_a_broken_limit_leaves_its_channel_and_its_neighbours(good: str) -> None:
    draft = draft_of(good.replace("setpoint = 150\n", ""))

    assert list(draft.channels["PT-101"].limits) == [Kind.LOW]
    assert draft.report.errors == 1


def test_tags_of_broken_channels_are_known_all_the_same() -> None:
    draft = draft_of("[channels.PT-1]\nunit = 3\n[channels.PT-2]\nlimits = 3\n")

    assert draft.tags == ("PT-1", "PT-2")
    assert [problem.key for problem in draft.report.problems] == [
        "stand",
        "channels.PT-1.unit",
        "channels.PT-2.limits",
    ]


@pytest.mark.parametrize(
    ("text", "key", "problem"),
    [
        ("stand = 1\n", "stand", "must be a table with keys, is the number 1"),
        ("channels = 1\n", "channels", "must be tables like [channels.NAME], is the number 1"),
        ("channels.a = 1\n", "channels.a", "must be a table, is the number 1"),
        ("phases = [1]\n", "phases[1]", "must be a table with keys, is the number 1"),
        (
            "[phases]\n",
            "phases",
            "must be a list of tables; write [[phases]] with two brackets",
        ),
        ("chanels.a.b = 1\n", "chanels", "unknown key; did you mean 'channels'?"),
        (
            "[channels.a.limits]\nhigh = 1\n",
            "channels.a.limits.high",
            "must be a table with keys",
        ),
    ],
)
def test_what_is_no_table_is_told(text: str, key: str, problem: str) -> None:
    said = {problem.key: problem.text for problem in draft_of(text).report.problems}

    assert said[key].startswith(problem)


def test_only_tables_are_given_by_name(good: str) -> None:
    draft = draft_of("[channels]\na = 1\n[channels.b]\nunit = '1'\n")

    assert named_tables(draft, "channels") == {"b": {"unit": "1"}}
    assert named_tables(draft, "instruments") == {}


def channel(**keys: object) -> ChannelDraft:
    table = msgspec.convert(keys, ChannelTable)
    return ChannelDraft("PT-1", table, period_s=table.period_s)


def test_a_channel_is_stale_after_five_seconds_or_three_periods() -> None:
    assert channel().stale_after_s == 5
    assert channel(period_s=1.0).stale_after_s == 5
    assert channel(period_s=4.0).stale_after_s == 12
    assert channel(period_s=4.0, stale_after_s=6.0).stale_after_s == 6


def test_inputs_are_tags_however_they_are_written() -> None:
    inputs = {"a": "PT-2", "b": {"tag": "PT-3", "unit": "kPa"}}

    assert channel(inputs=inputs).input_tags() == {"a": "PT-2", "b": "PT-3"}


def test_a_channel_has_its_tag_for_a_title() -> None:
    assert channel().title == "PT-1"
    assert channel(title="Loop").title == "Loop"


def test_phases_are_looked_up_by_name(good: str) -> None:
    draft = draft_of(good)

    draft.check_phase(("x",), "leak")
    draft.check_phase(("y",), "leek")

    assert [(problem.key, problem.text) for problem in draft.report.problems] == [
        ("y", "unknown phase 'leek'; did you mean 'leak'?; phases are fill, leak")
    ]


def test_an_unknown_kind_of_limit_is_told(good: str) -> None:
    draft = draft_of(good + "[channels.TT-101.limits.hihg]\n")

    assert [(problem.key, problem.text) for problem in draft.report.problems] == [
        ("channels.TT-101.limits.hihg", "unknown key; did you mean 'high'?")
    ]


def test_a_channel_with_a_formula_is_computed(good: str) -> None:
    channels = draft_of(good).channels

    assert [tag for tag, one in channels.items() if one.is_computed] == ["PDT-101"]


PLACES = (
    '[[phases]]\nname = "hold"\n[[phases]]\nname = "climb"\n'
    '[[modes]]\nname = "normal"\n[[modes]]\nname = "loop_only"\n'
)


def looked_up(text: str, name: str, *, only_phases: bool = False) -> list[str]:
    """Look a name up in a draft; give what is said about it."""
    draft = draft_of(text)
    (draft.check_phase if only_phases else draft.check_place)(("x",), name)
    return [problem.text for problem in draft.report.problems if problem.key == "x"]


@pytest.mark.parametrize("name", ["hold", "climb", "normal", "loop_only"])
def test_a_place_is_a_phase_or_a_mode(name: str) -> None:
    assert looked_up(PLACES, name) == []


def test_an_unknown_place_is_told_with_the_nearest_of_both() -> None:
    assert looked_up(PLACES, "lop_only") == [
        "unknown phase or mode 'lop_only'; did you mean 'loop_only'?; phases are hold, climb; "
        "modes are normal, loop_only"
    ]


def test_without_modes_a_place_is_a_phase() -> None:
    assert looked_up('[[phases]]\nname = "hold"\n', "hld") == [
        "unknown phase 'hld'; did you mean 'hold'?; phases are hold"
    ]


def test_a_mode_is_no_phase_and_is_told_so() -> None:
    assert looked_up(PLACES, "normal", only_phases=True) == [
        "unknown phase 'normal'; it is a mode; phases are hold, climb"
    ]


@pytest.mark.parametrize(
    "broken",
    [
        '[[phases]]\nnam = "pull"\n',
        "[[modes]]\nname = 5\n",
        "[[modes]]\n",
    ],
)
def test_a_name_that_may_be_the_one_that_cannot_be_read_is_not_told(broken: str) -> None:
    assert looked_up(PLACES + broken, "pull") == []


def test_a_mistake_elsewhere_in_a_phase_hides_no_unknown_name() -> None:
    text = PLACES.replace('name = "climb"\n', 'name = "climb"\nplanned_s = -1\n')

    assert len(looked_up(text, "pull")) == 1


def test_without_any_phase_no_name_is_told() -> None:
    assert looked_up("", "pull") == []


def test_modes_combinations_and_criteria_are_read() -> None:
    combination = 'when = "a"\ninputs = { a = "PT-1.low" }\n'
    text = PLACES + f'[combinations.UA-1]\npriority = "low"\n{combination}'
    draft = draft_of(f'{text}[abort.UA-2]\nsafe_state = "shut"\n{combination}')

    assert (draft.mode_names, list(draft.combinations), list(draft.aborts)) == (
        ["normal", "loop_only"],
        ["UA-1"],
        ["UA-2"],
    )
