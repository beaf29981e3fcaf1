"""One function over many numbers on processes of their own, for work in Python that holds the interpreter's lock."""

import multiprocessing
import signal
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from types import TracebackType
from typing import Any

from simcal.run.many import Progress, cores, run_many

_task: Callable[[int], Any] | None = None


class Processes:
    """`many(first, count, progress)` of `run.chunks`, on processes that live while the block lasts.

    Args:
        task: number -> result; it is sent to each process once, so it must be a picklable object of a module.
        workers: processes; None: one for each core. With one, everything is computed here.

    The results are those of one worker bit for bit. New processes begin by `spawn`: a script that calls this must be
    guarded by `if __name__ == "__main__"`.
    """

    def __init__(self, task: Callable[[int], Any], workers: int | None = None) -> None:
        self._function = task
        count = cores() if workers is None else workers
        self._workers = count
        self._pool = None if count == 1 else _pool(task, count)

    def __enter__(self) -> "Processes":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)

    def __call__(self, first: int, count: int, progress: Progress | None = None) -> list[Any]:
        """Results of the numbers first to first + count - 1, in order."""
        if self._pool is None:
            return run_many(lambda i: self._function(first + i), count, 1, progress)
        found = []
        share = max(1, count // (4 * self._workers))
        for one in self._pool.map(_call, range(first, first + count), chunksize=share):
            found.append(one)
            if progress is not None:
                progress(len(found), count)
        return found


def _pool(task: Callable[[int], Any], workers: int) -> ProcessPoolExecutor:
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(workers, context, initializer=_begin, initargs=(task,))


def _begin(task: Callable[[int], Any]) -> None:
    """In a new process: remember the task; Ctrl-C is for the first process, which then ends this one."""
    global _task
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _task = task


def _call(number: int) -> Any:
    assert _task is not None
    return _task(number)
