"""The benchmark command: `python -m tests.benchmark [PART ...]`, from the top of the repository."""

from __future__ import annotations

import argparse
import csv
import datetime
import os
import platform
from pathlib import Path

import numba
import numpy
import scipy

from simcal import cache
from simcal.run.many import cores
from tests.benchmark.parts import PARTS, Figures

HISTORY = Path(__file__).with_name("history.csv")


def main() -> None:
    """Measure the parts asked for, and write them down."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark", description=__doc__)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}; none: all")
    parser.add_argument("--repeats", type=int, default=9, help="times that each is measured; medians are shown")
    parser.add_argument("--no-history", action="store_true", help=f"do not add a line to {HISTORY.name}")
    asked = parser.parse_args()
    unknown = [name for name in asked.parts if name not in PARTS]
    if unknown:
        parser.error(f"no part {', '.join(unknown)}")
    figures: Figures = {}
    for name in asked.parts or PARTS:
        print(f"{name}: {(PARTS[name].__doc__ or '').splitlines()[0]}")
        figures |= PARTS[name](max(1, asked.repeats))
    if not asked.no_history:
        remember(figures)
        print(f"written to {HISTORY.name}; load of the machine now {load()}")


def load() -> str:
    """How busy the machine is, where it says so."""
    return f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"


def remember(figures: Figures) -> None:
    """Add one line; a figure that the history does not know yet gets a column at the end."""
    facts = {
        "date": datetime.date.today().isoformat(),
        "version": cache.version(),
        "cores": str(cores()),
        "machine": platform.machine(),
        "system": platform.system(),
        "python": platform.python_version(),
        "numpy": numpy.__version__,
        "scipy": scipy.__version__,
        "numba": numba.__version__,
        "load": load(),
    }
    line = facts | {name: f"{value:.4g}" for name, value in figures.items()}
    lines = []
    if HISTORY.is_file():
        with HISTORY.open(encoding="utf-8", newline="") as file:
            lines = list(csv.DictReader(file))
    columns = list(dict.fromkeys([*(lines[0] if lines else {}), *line]))
    with HISTORY.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows([*lines, line])


if __name__ == "__main__":
    main()
