"""A bar that fills while runs are rehearsed: on a terminal, beside what is printed."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator

from rich.console import Console
from rich.progress import Progress


@contextlib.contextmanager
def progress_bar(console: Console | None = None) -> Iterator[Callable[[float], None]]:
    """Show a bar on standard error; none where that is no terminal.

    Args:
        console: Where to show it instead.

    Yields:
        What is to be told the share that is done, from 0 to 1.
    """
    console = console or Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("rehearsing", total=1.0)
        yield lambda share: bar.update(task, completed=share)
