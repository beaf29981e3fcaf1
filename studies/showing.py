"""What the studies share: command line, how a figure is begun and saved, the bench for holds without chance."""

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from simcal.analysis.hold import HoldResult

CONFIGS = Path(__file__).resolve().parent.parent / "configs"
HOLDS = CONFIGS / "holds-6bar.toml"
SURE = [
    *(f"{key}={value}" for key, value in {
        "room.drift": "0 K/h", "sensor.reference.drift": "0 Pa/h", "sensor.reference.zero_shift": "0 Pa/K",
        "sensor.reference.noise": "0 Pa", "sensor.reference.resolution": "0 Pa",
        "volume.manifold.capacity": "20 cm3", "volume.port.capacity": "100 cm3",
        "volume.manifold.wall.film_factor": 1, "volume.port.wall.film_factor": 1,
    }.items()),
]  # fmt: skip
"""of the bench for holds: nothing is left to be drawn, what differs is what a study changes"""

Made = tuple[str, Callable[[Path], None]]
"""the table to print, and what draws the figure into a folder"""


def run(doc: str | None, reduced: str, make: Callable[[bool], Made]) -> None:
    """Read the command line, print the table and save the figure; `make` is told whether to do less."""
    parser = argparse.ArgumentParser(description=doc.splitlines()[0] if doc else None)
    parser.add_argument("--quick", action="store_true", help=reduced)
    parser.add_argument("--out", type=Path, help="folder for the figure")
    asked = parser.parse_args()
    table, draw = make(asked.quick)
    print(table)
    if asked.out is not None:
        asked.out.mkdir(parents=True, exist_ok=True)
        draw(asked.out)


def pyplot() -> Any:
    """Matplotlib without a screen, whose SVG has the same bytes each time."""
    import matplotlib

    matplotlib.use("Agg")
    matplotlib.rcParams["svg.hashsalt"] = "simcal"
    from matplotlib import pyplot

    return pyplot


def save(drawn: Any, folder: Path, study: str) -> None:
    """Save a figure under the name of its study's file."""
    drawn.savefig(folder / f"{Path(study).stem}.svg", metadata={"Date": None})
    pyplot().close(drawn)


def watched(one: HoldResult) -> tuple[np.ndarray, np.ndarray]:
    """Time of the watch [s] and change of the true pressure since its start [Pa]."""
    inside = one.truth.times_s >= one.watch_from_s - 1e-9
    time, true = one.truth.times_s[inside], one.truth.pressure_Pa[inside]
    return time - time[0], true - true[0]
