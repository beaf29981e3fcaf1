"""A progress bar on a terminal, and nothing anywhere else."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

NamedProgress = Callable[[str, int, int], None]
"""Called with (what, done, count); each `what` gets a bar of its own."""


@contextmanager
def on_terminal(quiet: bool = False) -> Iterator[NamedProgress | None]:
    """A function that draws bars on stderr while the block lasts.

    None when `quiet` or when stderr is no terminal; the drawing library is imported only when it draws.
    """
    if quiet or sys.stderr is None or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress, TaskID

    tasks: dict[str, TaskID] = {}
    with Progress(console=Console(stderr=True), transient=True) as bars:

        def tell(what: str, done: int, count: int) -> None:
            if what not in tasks:
                tasks[what] = bars.add_task(what)
            bars.update(tasks[what], total=count, completed=done)

        yield tell
