"""Independent re-implementation, shares nothing with simcal/: run a judge over seeded records and count.

    python -m tests.independent.holds --judge tests.independent.holds.reference:judge --count 60 --seed 1

A judge is a function of (time_s, pressure_Pa, temperature_K or None, about) that returns a mapping with `verdict`,
`low`, `high`, `median` (mol/s out); with `--told` it gets what only a reference may know as a fifth argument.
"""

import argparse
import json
from dataclasses import asdict
from pathlib import Path

from tests.independent.holds.population import PARTS
from tests.independent.holds.running import answers, tasks
from tests.independent.holds.scoring import lines, table


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
