"""One function over many numbers on threads; compiled kernels release the interpreter's lock, so cores are used."""

import os
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from typing import Generic, TypeVar

Result = TypeVar("Result")
Progress = Callable[[int, int], None]
"""Called with (done, count) in the caller's own thread, never from a worker."""

GLANCE_S = 0.2
"""Seconds between two looks at what is done; Ctrl-C is seen as soon."""


def cores() -> int:
    """How many cores this process may use, at least 1."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return max(1, os.cpu_count() or 1)


def run_many(
    function: Callable[[int], Result],
    count: int,
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[Result]:
    """`[function(0), ..., function(count - 1)]`, computed by `workers` threads, always in this order.

    `function` must depend on its number alone: then the list is the same for any number of workers. What one
    call raises is raised here (the lowest number that failed), calls not yet begun are dropped; so it is with
    Ctrl-C, which leaves as KeyboardInterrupt.

    Args:
        function: called once with each number, from several threads at a time.
        count: how many numbers, 0 or more.
        workers: threads, 1 or more; None takes one for each core.
        progress: told how many are done.

    Raises:
        ValueError: count is negative or workers below 1.
    """
    if count < 0:
        raise ValueError(f"count(={count}) must be >= 0")
    threads = min(cores() if workers is None else workers, max(count, 1))
    if threads < 1:
        raise ValueError(f"workers(={workers}) must be >= 1")
    tell = progress or _nothing
    tell(0, count)
    return _in_turn(function, count, tell) if threads == 1 else _on_threads(function, count, threads, tell)


def _in_turn(function: Callable[[int], Result], count: int, tell: Progress) -> list[Result]:
    results = []
    for number in range(count):
        results.append(function(number))
        tell(number + 1, count)
    return results


def _on_threads(function: Callable[[int], Result], count: int, threads: int, tell: Progress) -> list[Result]:
    work = _Work(function, count)
    pool = ThreadPoolExecutor(threads, thread_name_prefix="simcal-run")
    try:
        pending = {pool.submit(work.take) for _ in range(threads)}
        while pending:
            _, pending = wait(pending, timeout=GLANCE_S)
            tell(len(work.results), count)
    finally:
        work.stopped.set()
        pool.shutdown(wait=False, cancel_futures=True)
    if work.failures:
        raise work.failures[min(work.failures)]
    return [work.results[number] for number in range(count)]


class _Work(Generic[Result]):
    """Numbers handed out in order to any thread that asks, until all are done, one failed, or it is stopped.

    The lowest number that fails is always begun before any other that fails, so it is always found.
    """

    def __init__(self, function: Callable[[int], Result], count: int) -> None:
        self.function = function
        self.numbers = iter(range(count))
        self.lock = threading.Lock()
        self.stopped = threading.Event()
        self.results: dict[int, Result] = {}
        self.failures: dict[int, BaseException] = {}

    def take(self) -> None:
        """Work on one number after the other."""
        while not self.stopped.is_set():
            with self.lock:
                number = next(self.numbers, None)
            if number is None:
                return
            try:
                self.results[number] = self.function(number)
            except BaseException as error:
                self.failures[number] = error
                self.stopped.set()


def _nothing(done: int, count: int) -> None:
    """Tell nobody."""
