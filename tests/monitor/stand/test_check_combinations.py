"""Tests for monitor.stand.check_combinations.

Source: hand-worked here on the file of places_stand.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from monitor.errors import Problem
from tests.monitor.stand.places_stand import PLACES, one_problem

Problems = Callable[..., list[Problem]]

WHEN = 'when = "low and not open"\n'
INPUTS = 'inputs = { low = "PT-301.low", open = "ZS-401.state" }\n'
ABORT = 'inputs = { low = "PT-301.low", hot = "TT-301.high", dry = "UA-401.combination" }\n'
SAFE = 'safe_state = "Cabin at ambient pressure, oxygen shut."\n'

MISTAKES = {
    "no expression": (
        WHEN,
        'when = "low and"\n',
        None,
        "combinations.UA-401.when",
        "'low and': is no expression of names with and, or, not",
    ),
    "a comparison": (
        WHEN,
        'when = "low > 3 and not open"\n',
        None,
        "combinations.UA-401.when",
        "'low > 3 and not open': 'low > 3' has no place here; join names with and, or, not",
    ),
    "too many of too few": (
        WHEN,
        'when = "at_least(3, low, open)"\n',
        None,
        "combinations.UA-401.when",
        "'at_least(3, low, open)': at_least takes how many, and then at least so many names",
    ),
    "unknown name": (
        WHEN,
        'when = "low and not open and opn"\n',
        None,
        "combinations.UA-401.when",
        "unknown name 'opn'; did you mean 'open'?; inputs are low, open",
    ),
    "unused input": (
        WHEN,
        'when = "low"\n',
        INPUTS,
        "combinations.UA-401.inputs.open",
        "does not stand in the condition",
    ),
    "unknown limit": (
        INPUTS,
        INPUTS.replace("ZS-401.state", "ZS-410.state"),
        None,
        "combinations.UA-401.inputs.open",
        "unknown limit 'ZS-410.state'; did you mean 'ZS-401.state'?",
    ),
    "unknown kind": (
        INPUTS,
        INPUTS.replace("ZS-401.state", "ZS-401.disagreement"),
        None,
        "combinations.UA-401.inputs.open",
        "unknown limit 'ZS-401.disagreement'; ZS-401 has ZS-401.state, ZS-401.stale, "
        "ZS-401.fault",
    ),
    "nothing like it": (
        INPUTS,
        INPUTS.replace("ZS-401.state", "door"),
        None,
        "combinations.UA-401.inputs.open",
        "unknown limit 'door'; write TAG.KIND: PT-101.high",
    ),
    "itself": (
        INPUTS,
        INPUTS.replace("ZS-401.state", "UA-401.combination"),
        None,
        "combinations.UA-401.inputs.open",
        "UA-401.combination looks at itself",
    ),
    "a loop": (
        INPUTS,
        INPUTS.replace("ZS-401.state", "UA-901.abort"),
        None,
        "combinations.UA-401.inputs",
        "go round in a loop: UA-401.combination > UA-901.abort > UA-401.combination",
    ),
    "input that is a number": (
        INPUTS,
        INPUTS.replace('"ZS-401.state"', "5"),
        None,
        "combinations.UA-401.inputs.open",
        "must be a text in quotes, is the number 5",
    ),
    "no inputs": (
        INPUTS,
        "",
        "[combinations.UA-401]",
        "combinations.UA-401.inputs",
        "missing; write inputs = { ... }",
    ),
    "a setpoint": (
        WHEN,
        f"{WHEN}setpoint = 5\n",
        "setpoint = 5",
        "combinations.UA-401.setpoint",
        "unknown key; known are",
    ),
    "samples instead of a delay": (
        WHEN,
        f"{WHEN}n_of_m = [2, 3]\n",
        "n_of_m",
        "combinations.UA-401.n_of_m",
        "unknown key; known are",
    ),
    "no priority": (
        'priority = "high"\non_delay_s = 4\n',
        "on_delay_s = 4\n",
        "[combinations.UA-401]",
        "combinations.UA-401.priority",
        'missing; write priority = "top" or "high" or "medium" or "low" or "journal"',
    ),
    "no response": (
        'response = "Look for the leak."\n',
        "",
        "[combinations.UA-401]",
        "combinations.UA-401.response",
        'missing; write what to do, or priority = "journal"',
    ),
    "unknown place": (
        WHEN,
        f'{WHEN}watched_in = ["loop-only"]\n',
        "watched_in",
        "combinations.UA-401.watched_in[1]",
        "unknown phase or mode 'loop-only'; did you mean 'loop_only'?; phases are ground, "
        "climb, "
        "hold, descent, idle; modes are normal, loop_only",
    ),
    "no safe state": (
        SAFE,
        "",
        "[abort.UA-901]",
        "abort.UA-901.safe_state",
        'missing; write safe_state = "..."',
    ),
    "an empty safe state": (
        SAFE,
        'safe_state = " "\n',
        None,
        "abort.UA-901.safe_state",
        "must not be empty",
    ),
    "a criterion that nobody hears": (
        SAFE,
        f'{SAFE}priority = "journal"\n',
        'priority = "journal"',
        "abort.UA-901.priority",
        'is "journal": an abort criterion must be heard',
    ),
    "a criterion that a phase hides": (
        SAFE,
        f'{SAFE}suppressed_in = ["ground"]\n',
        'suppressed_in = ["ground"]\n\n[[phases]]',
        "abort.UA-901.suppressed_in",
        "hides an abort criterion; say by watched_in where it has a meaning",
    ),
    "a criterion that another alarm hides": (
        SAFE,
        f'{SAFE}suppressed_by = ["link:panel.high"]\n',
        "suppressed_by",
        "abort.UA-901.suppressed_by",
        "hides an abort criterion; say by watched_in where it has a meaning",
    ),
    "a criterion that looks at an unknown limit": (
        ABORT,
        ABORT.replace("UA-401.combination", "UA-401.combined"),
        None,
        "abort.UA-901.inputs.dry",
        "unknown limit 'UA-401.combined'; did you mean 'UA-401.combination'?",
    ),
    "bad data that is held": (
        'priority = "low"\n',
        'priority = "low"\non_bad = "hold"\n',
        'on_bad = "hold"',
        "channels.TT-301.limits.high.on_bad",
        'is "hold": bad data can keep UA-901.abort from coming; take it out, and bad data '
        "raises it",
    ),
    "bad data that raises what is negated": (
        "is = 1\n",
        'is = 1\non_bad = "raise"\n',
        'when = "at_least',
        "abort.UA-901.when",
        'bad data raises ZS-401.state, and under "not" that keeps the criterion from coming; '
        'write on_bad = "hold" there',
    ),
    "a limit that counts both ways": (
        'when = "at_least(2, low, hot, dry)"\n',
        'when = "at_least(2, low, hot, dry) or not hot"\n',
        None,
        "abort.UA-901.when",
        "TT-301.high counts both as it is and negated, so bad data raises it for neither",
    ),
}


@pytest.mark.parametrize(("old", "new", "at", "key", "text"), MISTAKES.values(), ids=MISTAKES)
def test_a_mistake_in_a_combination_is_told(
    old: str, new: str, at: str | None, key: str, text: str, problems: Problems
) -> None:
    line, problem = one_problem(problems, old, new, at)

    assert (problem.line, problem.key) == (line, key)
    assert problem.text.startswith(text)


def told(problems: list[Problem]) -> list[tuple[str, str, bool]]:
    """Give key, text and whether it is a warning, of each."""
    return [(one.key, one.text, one.is_warning) for one in problems]


def combination(tag: str, *inputs: str, extra: str = "") -> str:
    """Write another combination, of limits that must stand together."""
    names = {f"i{number}": name for number, name in enumerate(inputs)}
    listed = ", ".join(f'{name} = "{wanted}"' for name, wanted in names.items())
    return (
        f'[combinations."{tag}"]\nwhen = "{" and ".join(names)}"\ninputs = {{ {listed} }}\n'
        f'priority = "journal"\n{extra}'
    )


def test_nothing_is_said_about_the_good_file(problems: Problems) -> None:
    assert problems(PLACES) == []


@pytest.mark.parametrize(
    "limit",
    [
        "PT-301.stale",
        "PT-301.fault",
        "link:panel.high",
        "host:recording.high",
        "phase:hold.phase_overlong",
        "UA-401.combination",
        "UA-901.abort",
    ],
)
def test_a_combination_may_look_at_any_limit_of_the_stand(
    limit: str, problems: Problems
) -> None:
    assert problems(PLACES + combination("UA-402", limit)) == []


@pytest.mark.parametrize(
    ("tag", "text"),
    [
        ("UA.402", "'.' has no place in a tag; write letters, a dash and a number: UA-101"),
        ("UA 402", "' ' has no place in a tag; write letters, a dash and a number: UA-101"),
        ("", "has no tag; write letters, a dash and a number: UA-101"),
        ("PT-301", "is the tag of channel 'PT-301' already"),
        ("ua-401", "is the tag of combinations 'UA-401' already"),
    ],
)
def test_a_combination_has_a_tag_of_its_own(tag: str, text: str, problems: Problems) -> None:
    said = problems(PLACES + combination(tag, "PT-301.low"))

    assert [problem.text for problem in said] == [text]


def test_a_criterion_has_a_tag_of_its_own_too(problems: Problems) -> None:
    text = PLACES.replace("[abort.UA-901]", "[abort.UA-401]")

    assert told(problems(text)) == [
        ("abort.UA-401", "is the tag of combinations 'UA-401' already", False)
    ]


def test_a_loop_of_three_is_spelled_out_once(problems: Problems) -> None:
    text = PLACES + combination("UA-1", "UA-2.combination")
    text += combination("UA-2", "UA-3.combination") + combination("UA-3", "UA-1.combination")

    assert told(problems(text)) == [
        (
            "combinations.UA-1.inputs",
            "go round in a loop: UA-1.combination > UA-2.combination > UA-3.combination > "
            "UA-1.combination",
            False,
        )
    ]


def test_two_loops_are_told_apart(problems: Problems) -> None:
    text = PLACES
    for one, other in (("UA-1", "UA-2"), ("UA-2", "UA-1"), ("UA-3", "UA-4"), ("UA-4", "UA-3")):
        text += combination(one, f"{other}.combination")

    assert [problem.key for problem in problems(text)] == [
        "combinations.UA-1.inputs",
        "combinations.UA-3.inputs",
    ]


def test_what_leads_into_a_loop_is_not_blamed(problems: Problems) -> None:
    text = PLACES + combination("UA-0", "UA-1.combination")
    text += combination("UA-1", "UA-2.combination") + combination("UA-2", "UA-1.combination")

    assert [problem.key for problem in problems(text)] == ["combinations.UA-1.inputs"]


def test_two_ways_to_one_limit_are_no_loop(problems: Problems) -> None:
    text = PLACES + combination("UA-1", "UA-401.combination")
    text += combination("UA-2", "UA-401.combination", "UA-1.combination")

    assert problems(text) == []


def test_a_limit_with_a_mistake_of_its_own_is_not_unknown_too(problems: Problems) -> None:
    text = PLACES.replace("is = 1\n", "is = 2\n")

    assert [problem.key for problem in problems(text)] == ["channels.ZS-401.limits.state.is"]


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("is = 1\n", 'is = "shut"\n', "channels.ZS-401.limits.state.is"),
        (WHEN, "when = 5\n", "combinations.UA-401.when"),
    ],
)
def test_a_limit_that_cannot_be_read_is_not_unknown_too(
    old: str, new: str, key: str, problems: Problems
) -> None:
    said = problems(PLACES.replace(old, new))

    assert [problem.key for problem in said] == [key]


def test_another_limit_of_a_channel_with_a_mistake_is_unknown_all_the_same(
    problems: Problems,
) -> None:
    text = PLACES.replace("is = 1\n", 'is = "shut"\n')
    text += combination("UA-402", "ZS-401.low")

    assert [problem.key for problem in problems(text)] == [
        "channels.ZS-401.limits.state.is",
        "combinations.UA-402.inputs.i0",
    ]


def test_limits_that_are_no_table_hide_which_there_are(problems: Problems) -> None:
    start = PLACES.index("[channels.ZS-401.limits.state]")
    end = PLACES.index("[combinations.UA-401]")
    text = PLACES[:start] + "limits = 5\n" + PLACES[end:]

    assert [problem.key for problem in problems(text)] == ["channels.ZS-401.limits"]


def test_tables_that_are_none_are_told_once(problems: Problems) -> None:
    start, end = PLACES.index("[combinations.UA-401]"), PLACES.index("[abort.UA-901]")
    text = "combinations = 5\n" + PLACES[:start] + PLACES[end:]

    assert [problem.key for problem in problems(text)][:1] == ["combinations"]


def test_what_is_negated_and_held_is_right(problems: Problems) -> None:
    text = PLACES.replace("is = 1\n", 'is = 1\non_bad = "hold"\n')

    assert problems(text) == []


def test_a_limit_of_top_priority_is_raised_by_bad_data_unless_it_says_otherwise(
    problems: Problems,
) -> None:
    text = PLACES.replace('is = 1\npriority = "medium"\n', 'is = 1\npriority = "top"\n')

    assert [problem.key for problem in problems(text)] == ["abort.UA-901.when"]


def test_a_sensors_own_alarm_looks_at_bad_data_anyway(problems: Problems) -> None:
    text = PLACES.replace('hot = "TT-301.high"', 'hot = "TT-301.fault"')

    assert problems(text) == []


def test_a_combination_that_is_no_criterion_may_hold_on_bad_data(problems: Problems) -> None:
    text = PLACES.replace('priority = "low"\n', 'priority = "low"\non_bad = "hold"\n')
    text = text.replace('hot = "TT-301.high"', 'hot = "TT-301.fault"')

    assert problems(text + combination("UA-402", "TT-301.high")) == []
