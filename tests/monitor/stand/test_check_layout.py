"""Tests for monitor.stand.check_layout.

Source: hand-worked here; the good file is that of conftest.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from monitor.stand.model import Stand

TAGS = 'tags = ["PT-101", "PT-102"]\n'
LEAK = '[[phases]]\nname = "leak"\n'


@pytest.mark.parametrize(
    ("old", "new", "at", "key", "text"),
    [
        ('name = "bench"\n', "", "[stand]", "stand.name", 'missing; write name = "..."'),
        ('name = "bench"\n', 'name = ""\n', None, "stand.name", "must not be empty"),
        (
            'name = "bench"\n',
            'name = "leak bench/2"\n',
            None,
            "stand.name",
            "'leak bench/2' is to be letters, digits, _ and -: it names the folder of a run",
        ),
        (
            'title = "Leak bench"\n',
            f'title = "{"x" * 201}"\n',
            None,
            "stand.title",
            "has 201 characters; at most 200 are allowed",
        ),
        (
            "lag_s = 0.2\n",
            "lag_s = -0.2\n",
            None,
            "stand.lag_s",
            "-0.2 s is not between 0 and 10; write the longest time",
        ),
        ("lag_s = 0.2\n", "lag_s = 11\n", None, "stand.lag_s", "11 s is not between 0 and 10"),
        (
            "lag_s = 0.2\n",
            "lag_s = 4\n",
            "stale_after_s = 3",
            "channels.PT-101.stale_after_s",
            "3 s is not longer than the stand's lag_s, 4 s",
        ),
        (
            "lag_s = 0.2\n",
            "lags = 0.2\n",
            None,
            "stand.lags",
            "unknown key; did you mean 'lag_s'?",
        ),
        (
            LEAK,
            '[[phases]]\nname = "fill"\n',
            'name = "fill"\n\n[[charts',
            "phases[2].name",
            "'fill' is the name of phase 1 already",
        ),
        (
            'name = "leak"\n',
            'name = "leak test"\n',
            None,
            "phases[2].name",
            "'leak test' is to be a letter, then letters, digits, _ and -",
        ),
        (
            'name = "leak"\n',
            'title = "leak"\n',
            LEAK.replace("name", "title"),
            "phases[2].name",
            'missing; write name = "..."',
        ),
        (TAGS, "tags = []\n", None, "charts[1].tags", "is empty; name the channels to draw"),
        (
            TAGS,
            'tags = "PT-101"\n',
            None,
            "charts[1].tags",
            "must be a list, is the text 'PT-101'",
        ),
        (
            TAGS,
            TAGS.replace("PT-102", "PT-103"),
            "tags",
            "charts[1].tags[2]",
            "unknown channel 'PT-103'; did you mean 'PT-10",
        ),
        (
            TAGS,
            TAGS.replace("PT-102", "PT-101"),
            "tags",
            "charts[1].tags[2]",
            "PT-101 is in this chart already",
        ),
        (
            TAGS,
            TAGS.replace("PT-102", "TT-101"),
            "tags",
            "charts[1].tags[2]",
            "TT-101 is in '°C' but PT-101 in 'kPa'; one chart has one unit",
        ),
        (
            "[[charts]]",
            "[charts]",
            None,
            "charts",
            "must be a list of tables; write [[charts]]",
        ),
        (
            "[[charts]]",
            "[[chart]]",
            None,
            "chart",
            "unknown key; did you mean 'charts'?",
        ),
    ],
)
def test_a_mistake_in_the_frame_of_a_stand_is_told(
    old: str,
    new: str,
    at: str | None,
    key: str,
    text: str,
    good: str,
    problems: Callable[..., list[Problem]],
) -> None:
    assert good.count(old) == 1
    changed = good.replace(old, new)
    line = changed[: changed.index(new.strip() if at is None else at)].count("\n") + 1

    (said,) = problems(changed)

    assert (said.line, said.key, said.is_warning) == (line, key, False)
    assert said.text.startswith(text)


def test_a_stand_without_its_own_table_is_refused(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    (said,) = problems(good[good.index("[instruments") :])

    assert (said.line, said.key) == (0, "stand")
    assert said.text == 'missing; write [stand] with name = "..."'


def test_a_stand_without_phases_is_refused(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    text = good[: good.index("[[phases]]")].replace('suppressed_in = ["fill"]\n', "")
    text = text.replace("setpoint_in = { leak = 160 }\n", "")

    (said,) = problems(text)

    assert (said.key, said.text) == (
        "phases",
        'missing; write at least one [[phases]] with name = "..."',
    )


def test_a_chart_of_units_of_one_size_is_taken(
    good: str, problems: Callable[..., list[Problem]]
) -> None:
    text = good.replace(
        'unit = "kPa"\nsource = "panel.p2"', 'unit = "mbar"\nsource = "panel.p2"'
    )
    text = text.replace('unit = "degC"', 'unit = "hPa"').replace("pt100", "linear")
    text = text.replace(TAGS, 'tags = ["PT-102", "TT-101"]\n')

    assert [p.key for p in problems(text)] == ["channels.PDT-101.formula"]


def test_a_chart_has_the_name_of_its_channels_where_it_has_none(
    good: str, load: Callable[..., Stand]
) -> None:
    stand = load(good.replace('title = "Pressures"\n', ""))

    assert stand.charts[0].title == "PT-101, PT-102"


@pytest.mark.parametrize("lag", ["0", "10"])
def test_the_ends_of_what_a_lag_may_be_are_taken(
    lag: str, good: str, load: Callable[..., Stand]
) -> None:
    text = good.replace("stale_after_s = 3\n", "stale_after_s = 60\n")
    text = text.replace(
        "span = [0, 200]\n\n[channels.TT", "stale_after_s = 60\nspan = [0, 200]\n\n[channels.TT"
    )
    text = text.replace("span = [0, 60]\n", "span = [0, 60]\nstale_after_s = 60\n")

    assert load(text.replace("lag_s = 0.2", f"lag_s = {lag}")).lag_ns == int(lag) * 10**9
