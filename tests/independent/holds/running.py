"""Independent re-implementation, shares nothing with simcal/: make seeded records and let a judge say what it says.

Apart from `__main__`, whose functions a spawned process does not find.
"""

import importlib
import os
import pickle
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from tests.independent.holds.population import PARTS, Record, record
from tests.independent.holds.scoring import Answer

SHARE = {"clear-cut": 0.4, "hard": 0.4, "confounded": 0.2}


def found(name: str) -> Callable:
    """The function `module:function`."""
    module, _, function = name.partition(":")
    return getattr(importlib.import_module(module), function)


def one(task: tuple[str, str, int, int, bool]) -> Answer:
    """Make the record, let it be judged."""
    judge, part, seed, index, told = task
    return asked(judge, made(part, seed, index), told)


def each(task: tuple[tuple[tuple[str, bool], ...], str, int, int]) -> list[Answer]:
    """Make the record once, let each of several judges (name, whether it is told) judge it."""
    judges, part, seed, index = task
    own = made(part, seed, index)
    return [asked(judge, own, told) for judge, told in judges]


def made(part: str, seed: int, index: int) -> Record:
    """The record; kept in the folder that SIMCAL_HOLDS names, if any: making takes longer than judging."""
    folder = os.environ.get("SIMCAL_HOLDS")
    if folder is None:
        return record(part, seed, index)
    path = Path(folder) / f"{seed}-{part}-{index}.pkl"
    if not path.exists():
        path.write_bytes(pickle.dumps(record(part, seed, index)))
    own: Record = pickle.loads(path.read_bytes())
    return own


def asked(judge: str, own: Record, told: bool) -> Answer:
    """What a judge says of a record."""
    given = (own.time_s, own.pressure_Pa, own.temperature_K, own.about)
    began = time.perf_counter()
    said = found(judge)(*given, own.told) if told else found(judge)(*given)
    return Answer(
        own.part, own.index, own.truth["leak_mol_per_s"], own.truth["permitted_mol_per_s"], said["verdict"],
        said["low"], said["high"], said["median"], time.perf_counter() - began, ",".join(own.truth["confounders"]),
    )  # fmt: skip


def tasks(judge: str, count: int, seed: int, told: bool, parts: tuple[str, ...] = PARTS) -> list[tuple]:
    """What is to be judged: `count` records shared among the parts."""
    whole = sum(SHARE[part] for part in parts)
    return [(judge, part, seed, i, told) for part in parts for i in range(round(count * SHARE[part] / whole))]


def answers(todo: list[tuple], workers: int = 2, by: Callable = one) -> list:
    """All of them, in their order, on processes of their own; `by` is `one` or `each`."""
    if workers < 2:
        return [by(task) for task in todo]
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        return list(pool.map(by, todo, chunksize=8))
