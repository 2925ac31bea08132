"""What is known of each fault: results of earlier runs, and survivors that were read."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from tests.mutation.faults import Fault
from tests.mutation.running import End


@dataclass(frozen=True, slots=True)
class Job:
    """A fault in a module, *text* being the module's without it."""

    module: str
    text: str
    fault: Fault

    @property
    def key(self) -> str:
        """Name it so that the same fault of the same text is found again in a later run."""
        fault = self.fault
        parts = (self.module, self.text, fault.start, fault.end, fault.put)
        return sha256(repr(parts).encode()).hexdigest()[:24]


class Results:
    """Results in a file, one a line, kept as they come: a run that was stopped goes on.

    A fault that was found stays found while its module is the same. One that survived is
    tried anew when any test has changed.

    Args:
        path: The file.
        tests: Digest of all tests.
    """

    def __init__(self, path: Path, tests: str) -> None:
        """Read what there is."""
        self._path = path
        self._tests = tests
        self._known: dict[str, End] = {}
        lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
        for line in lines:
            row = json.loads(line)
            if row["end"] != End.SURVIVED or row["tests"] == tests:
                self._known[row["key"]] = End(row["end"])

    def get(self, job: Job) -> End | None:
        """Give what is known of *job*."""
        return self._known.get(job.key)

    def add(self, job: Job, end: End) -> None:
        """Note how *job* ended."""
        self._known[job.key] = end
        row = {"key": job.key, "end": end.value, "tests": self._tests}
        row |= {"module": job.module, "mutation": job.fault.mutation}
        with self._path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")


def digest_of(folder: Path) -> str:
    """Give a digest of every file of tests in *folder*."""
    digest = sha256()
    for path in sorted(folder.rglob("*.py")):
        digest.update(path.as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:24]


@dataclass(frozen=True, slots=True)
class Accepted:
    """A survivor that was read and is no fault, or none that a test of this kind can find.

    Attributes:
        module: Path of the module.
        function: Dotted name of the function or class; empty outside.
        line: Text of the line. No number: that would change with every line above it.
        mutation: As the tool prints it; ``*`` for every one of that line.
        why: The reason.
    """

    module: str
    function: str
    line: str
    mutation: str
    why: str

    def covers(self, job: Job) -> bool:
        """Whether *job* is the one."""
        fault = job.fault
        return (
            (self.module, self.function, self.line)
            == (job.module, fault.function, fault.before)
            and self.mutation in ("*", fault.mutation)
            and bool(self.why.strip())
        )


def read_accepted(path: Path) -> list[Accepted]:
    """Read the list of accepted survivors.

    Raises:
        TypeError: An entry has too few or too many keys.
    """
    if not path.exists():
        return []
    entries = tomllib.loads(path.read_text(encoding="utf-8")).get("accepted", [])
    return [Accepted(**entry) for entry in entries]


def outdated(accepted: Iterable[Accepted], jobs: Iterable[Job]) -> list[Accepted]:
    """Give entries for a line or a mutation that is there no more."""
    jobs = list(jobs)
    modules = {job.module for job in jobs}
    return [
        one
        for one in accepted
        if one.module in modules and not any(one.covers(job) for job in jobs)
    ]
