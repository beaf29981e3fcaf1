"""Independent re-implementation, shares nothing with simcal/: make seeded records and let a judge say what it says.

Apart from `__main__`, whose functions a spawned process does not find.
"""

import importlib
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from tests.independent.holds.population import PARTS, record
from tests.independent.holds.scoring import Answer

SHARE = {"clear-cut": 0.4, "hard": 0.4, "confounded": 0.2}


def found(name: str) -> Callable:
    """The function `module:function`."""
    module, _, function = name.partition(":")
    return getattr(importlib.import_module(module), function)


def one(task: tuple[str, str, int, int, bool]) -> Answer:
    """Make the record, let it be judged."""
    judge, part, seed, index, told = task
    own = record(part, seed, index)
    given = (own.time_s, own.pressure_Pa, own.temperature_K, own.about)
    began = time.perf_counter()
    said = found(judge)(*given, own.told) if told else found(judge)(*given)
    return Answer(
        part, index, own.truth["leak_mol_per_s"], own.truth["permitted_mol_per_s"], said["verdict"], said["low"],
        said["high"], said["median"], time.perf_counter() - began, ",".join(own.truth["confounders"]),
    )  # fmt: skip


def tasks(judge: str, count: int, seed: int, told: bool, parts: tuple[str, ...] = PARTS) -> list[tuple]:
    """What is to be judged: `count` records shared among the parts."""
    whole = sum(SHARE[part] for part in parts)
    return [(judge, part, seed, i, told) for part in parts for i in range(round(count * SHARE[part] / whole))]


def answers(todo: list[tuple], workers: int = 2) -> list[Answer]:
    """All of them, in their order, on processes of their own."""
    if workers < 2:
        return [one(task) for task in todo]
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        return list(pool.map(one, todo, chunksize=8))
