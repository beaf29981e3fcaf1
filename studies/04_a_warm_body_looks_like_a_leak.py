"""A body that cools to the room looks like a leak, for as long as one usually watches.

Claim: a tight vessel of 3 mm of steel that is 1 K warmer than the room loses pressure in a straight line, to the eye:
over a watch of 5 min no reading is off the line by more than a twentieth of the fall. A leak of 27 nmol/s gives the
same picture. Waiting 10 min takes a quarter of it away; after an hour most of it is gone and the leak is not.

Why: 3 mm of steel keep their heat for half an hour or more (heat capacity over the conductance of still air), and
p dT/T makes 14 hPa of 1 K at 4 bar abs.

    python studies/04_a_warm_body_looks_like_a_leak.py [--quick] [--out FOLDER]

prints the table (recorded beside this file) and, with --out, saves its figure there.
"""

from functools import partial
from pathlib import Path

import numpy as np
import showing

import simcal
from simcal.analysis.hold import HoldResult
from simcal.bench.values import Level

HOLDS: dict[str, tuple[str, str, float]] = {
    "1 K warm, at once": ("1 K", "0 mol/s", 0.0),
    "leak, at once": ("0 K", "4e-8 mol/s", 0.0),
    "1 K warm, after 10 min": ("1 K", "0 mol/s", 600.0),
    "leak, after 10 min": ("0 K", "4e-8 mol/s", 600.0),
    "1 K warm, after 1 h": ("1 K", "0 mol/s", 3600.0),
    "leak, after 1 h": ("0 K", "4e-8 mol/s", 3600.0),
}
QUICK = 4
"""rows of the reduced run, the first of the table"""
SOAK, WATCH, PRESSURE = 120.0, 300.0, 3e5

Row = tuple[str, HoldResult]


def held(name: str) -> Row:
    warmer, rate, wait = HOLDS[name]
    sets = [f"volume.port.wall.warmer={warmer}", f"leak.fitting.rate={rate}"]
    level = Level(PRESSURE, True)
    return name, simcal.hold(
        simcal.load(showing.HOLDS, [*showing.SURE, *sets]), pressure=level, soak_s=SOAK, wait_s=wait, watch_s=WATCH
    )


def bent(one: HoldResult) -> float:
    """Largest distance from the straight line through both ends, % of the change."""
    time, change = showing.watched(one)
    return 100.0 * float(np.abs(change - change[-1] * time / time[-1]).max() / abs(change[-1]))


def table(rows: list[Row]) -> str:
    lines = [f"{'3 bar gauge, 5 min':24} {'change Pa':>9} {'off a line %':>13} {'leak nmol/s':>12}"]
    for name, one in rows:
        rate = abs(one.truth.leak_mol_per_s) * 1e9
        lines.append(f"{name:24}  {one.truth.change_Pa:8.1f}   {bent(one):10.1f}   {rate:12.2f}")
    return "\n".join(lines)


def figure(rows: list[Row], folder: Path) -> None:
    drawn, axes = showing.pyplot().subplots(figsize=(6.3, 3.4), layout="constrained")
    colours = {0.0: "#0a5a8c", 600.0: "#c2560a", 3600.0: "#3d7a2a"}
    marks = {0.0: "o", 600.0: "s", 3600.0: "^"}
    for name, one in rows:
        warmer, _, wait = HOLDS[name]
        time, change = showing.watched(one)
        dash = "-" if warmer == "1 K" else (0, (1.5, 1.2))
        axes.plot(
            time / 60.0, change, color=colours[wait], linestyle=dash, marker=marks[wait], markevery=100, markersize=4,
            label=name,
        )  # fmt: skip
    axes.set_xlabel("time of the watch, min")
    axes.set_ylabel("change of the pressure, Pa")
    axes.grid(color="0.85", linewidth=0.5)
    drawn.legend(loc="outside upper left", ncols=3, frameon=False, handlelength=3, fontsize=8)
    showing.save(drawn, folder, __file__)


def made(quick: bool) -> showing.Made:
    rows = [held(one) for one in list(HOLDS)[: QUICK if quick else None]]
    return table(rows), partial(figure, rows)


if __name__ == "__main__":
    showing.run(__doc__, f"the first {QUICK} rows only", made)
