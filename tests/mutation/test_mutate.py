"""Tests for tests.mutation.mutate.

Source: Hand-worked here: a module of three lines, of whose faults a known one survives.
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest

from tests.mutation.mutate import HERE, ROOT, Settings, main, mutate
from tests.mutation.results import Accepted, read_accepted
from tests.mutation.running import CannotRunError, Copy, End

MODULE = '''"""Clips a value."""


def clipped(value, most):
    return most if value > most else value
'''
#: At the bound both give the same, so no test can tell > from >=.
EQUIVALENT = Accepted(
    "monitor/clip.py",
    "clipped",
    "return most if value > most else value",
    "value > most -> value >= most",
    "at the bound both give the bound",
)
TEST = """from monitor.clip import clipped


def test_above():
    assert clipped(3, 2) == 2


def test_below():
    assert clipped(1, 2) == 1
"""


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """Give a tree with one module and its test."""
    (tmp_path / "monitor").mkdir()
    (tmp_path / "monitor" / "__init__.py").touch()
    (tmp_path / "monitor" / "clip.py").write_text(MODULE)
    (tmp_path / "tests").mkdir()
    (tmp_path / "tests" / "test_clip.py").write_text(TEST)
    return Settings(
        root=tmp_path,
        modules=("monitor/*.py",),
        targets=(("monitor/*.py", ("tests/test_{name}.py",)),),
        accepted=(),
        results=tmp_path / "results.jsonl",
        workers=1,
    )


def test_a_fault_that_no_test_notices_survives_and_the_other_is_found(
    settings: Settings,
) -> None:
    score = mutate(settings)

    assert [job.fault.mutation for job in score.survivors] == ["value > most -> value >= most"]
    assert sorted(score.ends.values()) == ["killed", "survived"]
    assert score.lines() == [
        "monitor/clip.py:5 clipped",
        "  - return most if value > most else value",
        "  + return most if value >= most else value",
        "    value > most -> value >= most",
        "2 faults tried, 0 not tried",
        "1 found, 0 of them because the tests did not end",
        "1 survived; 0 more did and are accepted",
        "score 50.0 % of those that are not accepted",
    ]
    assert (settings.root / "monitor" / "clip.py").read_text() == MODULE


def test_a_survivor_that_was_accepted_does_not_stand_out(settings: Settings) -> None:
    score = mutate(replace(settings, accepted=(EQUIVALENT,)))

    assert score.is_clean
    assert score.lines()[-1] == "score 100.0 % of those that are not accepted"


def test_an_accepted_line_that_is_there_no_more_stands_out(settings: Settings) -> None:
    gone = replace(EQUIVALENT, line="return min(value, most)")

    score = mutate(replace(settings, accepted=(EQUIVALENT, gone)))

    assert score.outdated == [gone]
    assert not score.is_clean


def test_a_survivor_without_a_reason_is_not_accepted(settings: Settings) -> None:
    score = mutate(replace(settings, accepted=(replace(EQUIVALENT, why=" "),)))

    assert len(score.survivors) == 1


def test_a_fault_is_gone_before_another_module_is_tried(settings: Settings) -> None:
    for folder, name in (("monitor", "trim.py"), ("tests", "test_trim.py")):
        text = MODULE if folder == "monitor" else TEST.replace("clip ", "trim ")
        (settings.root / folder / name).write_text(text)
    both = (("*", ("tests/test_clip.py", "tests/test_trim.py")),)

    # Of this seed, a fault of clip that is found goes before one of trim that is not.
    score = mutate(replace(settings, targets=both, seed=2))

    assert sorted(job.module for job in score.survivors) == [
        "monitor/clip.py",
        "monitor/trim.py",
    ]


def test_what_was_compiled_of_a_module_is_not_taken_for_its_next_text(
    settings: Settings,
) -> None:
    copy = Copy(settings.root, settings.root / "copy")
    module, compiled = settings.root / "copy/monitor/clip.py", "monitor/__pycache__/clip.*"
    when = module.stat()

    first = copy.run(["tests/test_clip.py"], 60, compiles=True)
    # As long as the other text, and written in the same second.
    copy.write("monitor/clip.py", MODULE.replace("value > most", "value < most"))
    os.utime(module, ns=(when.st_atime_ns, when.st_mtime_ns))
    second = copy.run(["tests/test_clip.py"], 60)

    assert (first.end, second.end) == (End.SURVIVED, End.KILLED)
    assert list((settings.root / "copy").glob(compiled)) == []


def test_an_endless_loop_counts_as_found(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tests.mutation.mutate._GRACE_S", 2.0)
    monkeypatch.setattr("tests.mutation.mutate._PATIENCE", 1.0)
    module = "def clipped(value, most):\n    while value > most:\n        value -= 1\n"
    (settings.root / "monitor" / "clip.py").write_text(f"{module}    return value\n")

    ends = mutate(replace(settings, sample=0)).ends

    assert "timeout" in ends.values()


def test_a_run_goes_on_where_it_was_stopped(settings: Settings) -> None:
    first = mutate(replace(settings, sample=1, seed=1))
    lines = settings.results.read_text().splitlines()

    second = mutate(settings)

    assert (len(first.ends), len(lines)) == (1, 1)
    assert len(second.ends) == 2
    assert settings.results.read_text().splitlines()[:1] == lines
    assert len(settings.results.read_text().splitlines()) == 2


def test_a_survivor_is_tried_anew_when_a_test_has_changed(settings: Settings) -> None:
    mutate(settings)
    # Now the bound itself is told apart from an equal one.
    more = "\n\ndef test_at():\n    assert type(clipped(2.0, 2)) is float\n"
    (settings.root / "tests" / "test_clip.py").write_text(TEST + more)

    score = mutate(settings)

    assert score.survivors == []
    # Only the survivor was tried: the other was found before.
    assert len(settings.results.read_text().splitlines()) == 3


def test_tests_that_fail_without_a_fault_say_nothing(settings: Settings) -> None:
    (settings.root / "tests" / "test_clip.py").write_text(TEST.replace("== 1", "== 7"))

    with pytest.raises(CannotRunError, match="without a fault"):
        mutate(settings)


def test_tests_that_never_import_the_module_say_nothing(settings: Settings) -> None:
    (settings.root / "tests" / "test_clip.py").write_text("def test_it():\n    assert True\n")

    with pytest.raises(CannotRunError, match="cannot be imported"):
        mutate(settings)


def test_a_module_without_chosen_tests_is_refused(settings: Settings) -> None:
    with pytest.raises(CannotRunError, match=r"no tests for monitor/clip\.py"):
        mutate(replace(settings, targets=()))


def test_tests_that_do_not_exist_are_refused(settings: Settings) -> None:
    with pytest.raises(CannotRunError, match=r"none of these exists: tests/test_other\.py"):
        mutate(replace(settings, targets=(("*", ("tests/test_other.py",)),)))


def test_some_cases_of_many_can_be_chosen(settings: Settings) -> None:
    cases = "import pytest\nfrom monitor.clip import clipped\n\n\n"
    cases += '@pytest.mark.parametrize("value", range(9))\n'
    cases += "def test_it(value):\n    assert clipped(value, 5) == min(value, 5)\n"
    (settings.root / "tests" / "test_clip.py").write_text(cases)

    def survivors(cases: str) -> int:
        targets = (("*", (f"tests/test_clip.py::test_it[{cases}]",)),)
        results = settings.root / f"{cases}.jsonl"
        return len(mutate(replace(settings, targets=targets, results=results)).survivors)

    # At the bound itself no fault is noticed; above it the one that is not equivalent is.
    assert (survivors("5-5"), survivors("5-6")) == (2, 1)


def test_nothing_new_is_tried_after_the_time_is_over(settings: Settings) -> None:
    score = mutate(replace(settings, most_s=1e-9))

    assert (score.ends, score.untried) == ({}, 2)


def test_each_accepted_survivor_of_this_project_says_why() -> None:
    accepted = read_accepted(HERE / "accepted.toml")

    assert all(len(one.why) > 10 and (ROOT / one.module).is_file() for one in accepted)


def test_the_command_line_says_when_it_cannot_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code = main(["monitor/events.py", "--results", str(tmp_path / "results.jsonl")])

    assert code == 2
    assert "no tests for monitor/events.py" in capsys.readouterr().err
