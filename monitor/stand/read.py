"""From a path to the tables of a stand file, with every way in which that can fail."""

from __future__ import annotations

import stat
from dataclasses import dataclass
from pathlib import Path

from monitor.errors import Problem, StandError, did_you_mean
from monitor.stand.locate import Locations, locate
from monitor.stand.syntax import Table, parse

#: Largest stand file, in bytes. A stand of 1000 channels with four limits each has 1 MB.
LARGEST = 4_000_000


@dataclass(frozen=True, slots=True)
class Source:
    """A stand file as it was read.

    Attributes:
        text: All of it.
        tables: Its values.
        places: Lines of its keys.
        problems: Things that stand twice in it.
    """

    text: str
    tables: Table
    places: Locations
    problems: tuple[Problem, ...] = ()


def read_source(path: Path) -> Source:
    """Read a stand file.

    Raises:
        StandError: It is not there, no text, or no TOML; every broken table is named.
    """
    text = _decoded(path, _bytes_of(path))
    tables, problems = parse(str(path), text)
    if tables is None:
        raise StandError(problems)
    return Source(text, tables, locate(text), tuple(problems))


def _refused(path: Path, text: str, line: int = 0) -> StandError:
    return StandError([Problem(str(path), line, "file", text)])


def _bytes_of(path: Path) -> bytes:
    """Read the file, if it is one and of a sensible size."""
    try:
        about = path.stat()
        if stat.S_ISDIR(about.st_mode):
            inside = sorted(found.name for found in path.glob("*.toml"))[:5]
            holds = f"; it holds {', '.join(inside)}" if inside else ""
            raise _refused(path, f"is a folder; name a stand file{holds}")
        if not stat.S_ISREG(about.st_mode):
            raise _refused(path, "is no ordinary file")
        if about.st_size > LARGEST:
            raise _refused(path, f"has {about.st_size} bytes; at most {LARGEST} are read")
        return path.read_bytes()
    except FileNotFoundError as error:
        raise _refused(path, f"not found{_near(path)}") from error
    except PermissionError as error:
        raise _refused(path, "may not be read; ask its owner for permission") from error
    except OSError as error:
        raise _refused(path, f"cannot be read: {error.strerror}") from error


def _near(path: Path) -> str:
    """Name the file that was probably meant."""
    try:
        others = [found.name for found in path.parent.glob("*.toml")]
    except OSError:
        return ""
    near = did_you_mean(path.name, others)
    return near or (f"; there are {', '.join(sorted(others)[:5])}" if others else "")


def _decoded(path: Path, data: bytes) -> str:
    """Turn bytes into text, without the mark that some editors put in front."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _refused(
            path, f"byte {error.start + 1} is not UTF-8; save the file as UTF-8", line
        ) from error
