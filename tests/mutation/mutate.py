"""Makes deliberate faults in pure code, one at a time, and sees whether a test finds each.

    .venv/bin/python -m tests.mutation.mutate monitor/limits/*.py --sample 200 --seed 1

Each fault is made in a copy of the tree, where the tests that ``targets.toml`` chooses for the
module run up to the first failure. One that no test notices has survived: it is printed with
its line before and after. Read it. Either a test is missing, then write it, or the program
does the same with the fault as without, then list it in ``accepted.toml`` with the reason, so
that a new survivor stands out. Entries there name the text of a line, not its number.

Faults: a comparison and its neighbours, plus and minus, times and divided by, ``&`` and ``|``,
``and`` and ``or``, a ``not`` or a sign left out, a constant off by one or a flag the other way,
a result negated, a call for its effect or a change of what is kept left out, an entry of a
table left out, min and max, any and all, left and right exchanged.

Results are kept (``--results``), so that a run which was stopped goes on where it was; faults
are tried in an order that ``--seed`` shuffles, so that a part of them is a fair sample.
Exit code: 0 when every fault that was tried was found or is accepted, 1 when not, 2 when the
chosen tests fail without any fault, or pass with a module that cannot even be imported.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
import threading
import time
import tomllib
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from fnmatch import fnmatch
from pathlib import Path
from queue import SimpleQueue

from tests.mutation.faults import faults_in, with_fault
from tests.mutation.results import (
    Accepted,
    Job,
    Results,
    digest_of,
    outdated,
    read_accepted,
)
from tests.mutation.running import CannotRunError, Copy, End

ROOT = Path(__file__).parents[2]
HERE = Path(__file__).parent
#: How much longer than without a fault the tests may take, and seconds on top of that.
_PATIENCE, _GRACE_S = 4.0, 15.0
_MODULES = ("monitor/limits/*.py", "monitor/alarms/*.py")
_BROKEN = "raise RuntimeError('a module that cannot be imported')\n"


@dataclass(frozen=True, slots=True)
class Settings:
    """What to do.

    Attributes:
        root: The tree.
        modules: Paths in it, as patterns.
        targets: (pattern of modules, tests) in order; the first that matches counts.
        accepted: Survivors that were read.
        results: File of results.
        sample: How many faults to try; 0 for all.
        seed: Of their order.
        workers: How many at a time.
        most_s: Seconds after which no new fault is tried; 0 for no end.
    """

    root: Path
    modules: tuple[str, ...]
    targets: tuple[tuple[str, tuple[str, ...]], ...]
    accepted: tuple[Accepted, ...]
    results: Path
    sample: int = 0
    seed: int = 0
    workers: int = 2
    most_s: float = 0.0


@dataclass(slots=True)
class Score:
    """What came of the faults that were tried."""

    ends: dict[str, End] = field(default_factory=dict)
    survivors: list[Job] = field(default_factory=list)
    accepted: list[Job] = field(default_factory=list)
    outdated: list[Accepted] = field(default_factory=list)
    untried: int = 0

    @property
    def is_clean(self) -> bool:
        """Whether there is nothing to look at."""
        return not self.survivors and not self.outdated

    def lines(self) -> list[str]:
        """Say it to a person."""
        found = sum(end is not End.SURVIVED for end in self.ends.values())
        slow = sum(end is End.TIMEOUT for end in self.ends.values())
        counted = len(self.ends) - len(self.accepted)
        text = []
        for job in sorted(self.survivors, key=lambda one: (one.module, one.fault.start)):
            fault = job.fault
            after = with_fault(job.text, fault).splitlines()[fault.line - 1].strip()
            text += [f"{job.module}:{fault.line} {fault.function}", f"  - {fault.before}"]
            text += [f"  + {after}", f"    {fault.mutation}"]
        text += [f"no such line or mutation any more: {one}" for one in self.outdated]
        share = 100 * found / counted if counted else 100.0
        return [
            *text,
            f"{len(self.ends)} faults tried, {self.untried} not tried",
            f"{found} found, {slow} of them because the tests did not end",
            f"{len(self.survivors)} survived; {len(self.accepted)} more did and are accepted",
            f"score {share:.1f} % of those that are not accepted",
        ]


def mutate(settings: Settings) -> Score:
    """Try faults; give what came of them.

    Raises:
        CannotRunError: The chosen tests fail without a fault, or do not see the module.
    """
    all_jobs = _jobs(settings)
    jobs = random.Random(settings.seed).sample(all_jobs, len(all_jobs))
    jobs = jobs[: settings.sample] if settings.sample else jobs
    known = Results(settings.results, digest_of(settings.root / "tests"))
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        copies = [
            Copy(settings.root, Path(folder) / str(number))
            for number in range(settings.workers)
        ]
        left = [job for job in jobs if known.get(job) is None]
        limits_s = _checked(settings, copies, {job.module: job.text for job in left})
        _try_all(settings, copies, left, known, limits_s)
    return _score(settings, jobs, all_jobs, known)


def _jobs(settings: Settings) -> list[Job]:
    """List every fault of every module."""
    paths = sorted({path for one in settings.modules for path in settings.root.glob(one)})
    texts = {
        path.relative_to(settings.root).as_posix(): path.read_text(encoding="utf-8")
        for path in paths
    }
    return [Job(name, text, fault) for name, text in texts.items() for fault in faults_in(text)]


def _tests_of(settings: Settings, module: str) -> list[str]:
    """Give the tests that are to find faults in *module*."""
    path = Path(module)
    for pattern, tests in settings.targets:
        if fnmatch(module, pattern):
            folder, name = path.parent.as_posix(), path.stem
            named = [test.format(folder=folder, name=name) for test in tests]
            return [one for test in named for one in _some_of(test)]
    raise CannotRunError(f"targets.toml has no tests for {module}")


def _some_of(test: str) -> list[str]:
    """Write ``test.py::name[4-6]``, some of many numbered cases, as one test for each."""
    found = re.fullmatch(r"(.*)\[(\d+)-(\d+)\]", test)
    if not found:
        return [test]
    return [f"{found[1]}[{number}]" for number in range(int(found[2]), int(found[3]) + 1)]


def _checked(
    settings: Settings, copies: Sequence[Copy], texts: dict[str, str]
) -> dict[str, float]:
    """See that tests pass without a fault and notice a broken module; give time limits."""
    limits_s, taken_s = {}, {}
    for module, text in texts.items():
        tests = _tests_of(settings, module)
        copies[0].write(module, _BROKEN)
        if copies[0].run(tests, 600).end is not End.KILLED:
            raise CannotRunError(f"{module}: its tests pass though it cannot be imported")
        copies[0].write(module, text)
        # Once for each choice of tests, whatever their order.
        choice = tuple(sorted(set(tests[1:] or tests)))
        if choice not in taken_s:
            outcomes = [copy.run(tests, 600, compiles=True) for copy in copies]
            if any(outcome.end is not End.SURVIVED for outcome in outcomes):
                raise CannotRunError(f"{module}: without a fault\n{outcomes[0].text}")
            taken_s[choice] = max(outcome.seconds for outcome in outcomes)
        limits_s[module] = _PATIENCE * taken_s[choice] + _GRACE_S
    return limits_s


def _try_all(
    settings: Settings,
    copies: Sequence[Copy],
    jobs: Sequence[Job],
    known: Results,
    limits_s: dict[str, float],
) -> None:
    """Try faults, as many at a time as there are copies."""
    free: SimpleQueue[Copy] = SimpleQueue()
    for copy in copies:
        free.put(copy)
    lock, began_s = threading.Lock(), time.monotonic()

    def try_one(job: Job) -> None:
        if settings.most_s and time.monotonic() - began_s > settings.most_s:
            return
        copy = free.get()
        try:
            copy.write(job.module, with_fault(job.text, job.fault))
            outcome = copy.run(_tests_of(settings, job.module), limits_s[job.module])
        finally:
            copy.write(job.module, job.text)
            free.put(copy)
        with lock:
            known.add(job, outcome.end)

    with ThreadPoolExecutor(len(copies)) as pool:
        for _ in pool.map(try_one, jobs):
            pass


def _score(
    settings: Settings, jobs: Sequence[Job], all_jobs: Sequence[Job], known: Results
) -> Score:
    """Sort what is known of *jobs*."""
    score = Score(outdated=outdated(settings.accepted, all_jobs))
    for job in jobs:
        end = known.get(job)
        if end is None:
            score.untried += 1
            continue
        score.ends[job.key] = end
        if end is End.SURVIVED:
            is_read = any(one.covers(job) for one in settings.accepted)
            (score.accepted if is_read else score.survivors).append(job)
    return score


def main(arguments: Sequence[str] | None = None) -> int:
    """Run from a command line; see the module's docstring for the exit code."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("modules", nargs="*", default=_MODULES, help="paths or patterns")
    parser.add_argument("--sample", type=int, default=0, help="how many faults; 0 for all")
    parser.add_argument("--seed", type=int, default=0, help="of the order of faults")
    parser.add_argument("--workers", type=int, default=2, help="how many at a time")
    parser.add_argument("--minutes", type=float, default=0, help="when to stop; 0 for no end")
    parser.add_argument("--results", type=Path, default=ROOT / ".mutation.jsonl")
    given = parser.parse_args(arguments)
    rows = tomllib.loads((HERE / "targets.toml").read_text(encoding="utf-8"))["targets"]
    settings = Settings(
        root=ROOT,
        modules=tuple(given.modules),
        targets=tuple((row["modules"], tuple(row["tests"])) for row in rows),
        accepted=tuple(read_accepted(HERE / "accepted.toml")),
        results=given.results,
        sample=given.sample,
        seed=given.seed,
        workers=given.workers,
        most_s=given.minutes * 60,
    )
    try:
        score = mutate(settings)
    except CannotRunError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    sys.stdout.write("\n".join(score.lines()) + "\n")
    return 0 if score.is_clean else 1


if __name__ == "__main__":
    sys.exit(main())
