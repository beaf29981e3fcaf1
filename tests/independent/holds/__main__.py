"""Independent re-implementation, shares nothing with simcal/: run a judge over seeded records and count.

    python -m tests.independent.holds --judge tests.independent.holds.reference:judge --count 60 --seed 1

A judge is a function of (time_s, pressure_Pa, temperature_K or None, about) that returns a mapping with `verdict`,
`low`, `high`, `median` (mol/s out); with `--told` it gets what only a reference may know as a fifth argument.
"""

import argparse
import importlib
import json
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from multiprocessing import get_context
from pathlib import Path

from tests.independent.holds.population import PARTS, record
from tests.independent.holds.scoring import Answer, lines, table

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


def main() -> None:
    """Read the command line, run, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.independent.holds")
    parser.add_argument("--judge", required=True, help="module:function")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--part", choices=PARTS, action="append")
    parser.add_argument("--told", action="store_true", help="the judge is told what only a reference may know")
    parser.add_argument("--out", type=Path, help="JSON file for every answer")
    asked = parser.parse_args()
    todo = tasks(asked.judge, asked.count, asked.seed, asked.told, tuple(asked.part or PARTS))
    got = answers(todo, asked.workers)
    print(lines(table(got)))
    if asked.out:
        asked.out.write_text(json.dumps([asdict(a) for a in got], indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
