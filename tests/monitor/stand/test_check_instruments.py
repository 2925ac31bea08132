"""Tests for monitor.stand.check_instruments.

Source: hand-worked here; the good file and the kind of instrument are those of conftest.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from monitor.errors import Problem
from monitor.stand.check_instruments import split_source
from monitor.stand.model import Stand

FIELDS = 'fields = ["", "p1", "p2", "t1"]\n'
KIND = 'kind = "lines"\n'


@pytest.mark.parametrize(
    ("old", "new", "at", "key", "text"),
    [
        (
            KIND,
            'kind = "line"\n',
            None,
            "kind",
            "unknown kind 'line'; did you mean 'lines'?; kinds",
        ),
        (KIND, "kind = 3\n", None, "kind", "unknown kind 3; kinds are lines"),
        (KIND, "", "[instruments.panel]", "kind", "missing; kinds are lines"),
        (
            FIELDS,
            FIELDS + "port_s = 1\n",
            "port_s",
            "port_s",
            "unknown key; did you mean 'port'?",
        ),
        (
            FIELDS,
            FIELDS + "xyz = 1\n",
            "xyz",
            "xyz",
            "unknown key; known are kind, alarm, port, fields",
        ),
        (FIELDS, FIELDS + "baud = 9601\n", "baud", "baud", "9601 is no usual rate; write 9600"),
        (
            FIELDS,
            FIELDS.replace("p2", "p 2"),
            "fields",
            "fields[3]",
            "'p 2' is no name of a signal",
        ),
        (
            FIELDS,
            FIELDS + 'baud = "9600"\n',
            "baud",
            "baud",
            "must be a whole number, is the text",
        ),
        (
            FIELDS,
            FIELDS + "timeout_s = nan\n",
            "timeout",
            "timeout_s",
            "must be a finite number",
        ),
        (
            'port = "/dev/ttyUSB0"\n',
            "",
            "[instruments.panel]",
            "port",
            'missing; write port = "..."',
        ),
        (
            "[instruments.panel.alarm]\n",
            "[instruments.panel.alarms]\n",
            None,
            "alarms",
            "unknown key; did you mean 'alarm'?",
        ),
        (
            "[instruments.panel.alarm]\npriority",
            "[instruments.panel.alarm]\nprioriti",
            "prioriti",
            "alarm.prioriti",
            "unknown key; did you mean 'priority'?",
        ),
        (
            'priority = "high"\non_delay_s = 3\n',
            'priority = "urgent"\non_delay_s = 3\n',
            "priority",
            "alarm.priority",
            "unknown 'urgent'; known are top, high, medium, low, journal",
        ),
        (
            "on_delay_s = 3\n",
            'on_delay_s = 3\nsuppressed_in = ["fil"]\n',
            "suppressed_in",
            "alarm.suppressed_in[1]",
            "unknown phase 'fil'; did you mean 'fill'?; phases are fill, leak",
        ),
    ],
)
def test_a_mistake_in_an_instrument_is_told(
    old: str,
    new: str,
    at: str | None,
    key: str,
    text: str,
    mistake: Callable[..., tuple[int, Problem]],
) -> None:
    line, problem = mistake(old, new, at)

    assert (problem.line, problem.key) == (line, f"instruments.panel.{key}")
    assert problem.text.startswith(text)
    assert not problem.is_warning


def test_a_broken_instrument_does_not_make_its_channels_wrong(
    good: str, problems: Callable[[str], list[Problem]]
) -> None:
    said = problems(good.replace(KIND, 'kind = "line"\n'))

    assert [problem.key for problem in said] == ["instruments.panel.kind"]


def test_a_name_with_a_dash_is_refused(
    good: str, problems: Callable[[str], list[Problem]]
) -> None:
    said = problems(good.replace("panel", "gas-panel"))

    assert [(problem.line, problem.key, problem.text) for problem in said] == [
        (6, "instruments.gas-panel", "a name is a letter, then letters, digits and _")
    ]


def test_a_stand_without_instruments_is_refused(
    problems: Callable[[str], list[Problem]],
) -> None:
    said = problems('[stand]\nname = "a"\n')

    assert ("instruments", "missing; write [instruments.NAME] with its kind") in [
        (problem.key, problem.text) for problem in said
    ]


def test_instruments_that_are_no_tables_are_refused(
    good: str, problems: Callable[[str], list[Problem]]
) -> None:
    text = good.replace("[stand]", "instruments.other = 1\n[stand]", 1)

    assert str(problems(text)[0]).endswith(
        "stand.toml:1: error: instruments.other: must be a table, is the number 1"
    )


def test_an_instrument_that_nobody_reads_is_told(
    good: str, problems: Callable[[str], list[Problem]]
) -> None:
    (said,) = problems(
        good + '[instruments.spare]\nkind = "lines"\nport = "x"\nfields = ["a"]\n'
    )

    assert (said.key, said.text, said.is_warning) == (
        "instruments.spare",
        "no channel reads from it",
        True,
    )


def test_settings_from_outside_count(good: str, load: Callable[..., Stand]) -> None:
    changes = {
        "port": "/dev/pts/4",
        "baud": "115200",
        "timeout_s": "0.5",
        "is_slow": "true",
        "note": "x",
    }

    settings: Any = load(good, overrides={"panel": changes}).instruments[0].settings

    assert (settings.port, settings.baud, settings.timeout_s) == ("/dev/pts/4", 115200, 0.5)
    assert (settings.is_slow, settings.note) == (True, "x")


@pytest.mark.parametrize(
    ("changes", "key", "text"),
    [
        (
            {"pnael": {"port": "x"}},
            "pnael",
            "set from outside, but unknown; did you mean 'panel'?",
        ),
        ({"panel": {"prot": "x"}}, "panel.prot", "set from outside, but unknown; did you mean"),
        (
            {"panel": {"baud": "fast"}},
            "panel.baud",
            "set from outside to 'fast', which does not",
        ),
        ({"panel": {"fields": "a"}}, "panel.fields", "set from outside to 'a', which does not"),
        ({"panel": {"baud": "300"}}, "panel.baud", "300 is no usual rate"),
    ],
)
def test_wrong_settings_from_outside_are_told(
    changes: dict[str, dict[str, str]],
    key: str,
    text: str,
    good: str,
    problems: Callable[..., list[Problem]],
) -> None:
    (said,) = problems(good, overrides=changes)

    assert said.key == f"instruments.{key}"
    assert said.text.startswith(text)


def test_a_source_is_split_at_its_first_dot() -> None:
    assert split_source("panel.a.b") == ("panel", "a.b")
    assert split_source("panel") == ("panel", "")
