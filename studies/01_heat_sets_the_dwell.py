"""After a step the dwell is set by the heat of the gas, not by the valves.

Claim: on the hard-piped 6 bar bench, valves six times larger bring the pressure down to 20 % in a quarter of the time,
and the dwell that follows becomes longer, not shorter. What shortens it is what lets the gas take up its heat sooner,
or lets less of it matter: a narrower vessel, helium, a wider line between reference and device.

Why: the expansion cools the gas, and while the controller holds, the gas warms again and must be let out. That flow
drops a pressure along the line, which the comparison sees as an error. A faster valve only leaves less time for the
warming to have happened on the way.

    python studies/01_heat_sets_the_dwell.py [--quick] [--out FOLDER]

prints the table (recorded in 01_heat_sets_the_dwell.txt beside this file) and, with --out, saves its figure there.
"""

from functools import partial
from pathlib import Path

import showing

import simcal

BENCH = showing.CONFIGS / "hard-piped-6bar.toml"
STEP = 'sequence.up_down.points=["40 %", "20 %"]'


def valves(inlet: str, outlet: str) -> list[str]:
    return [f"valve.inlet.conductance={inlet} dm3/(s bar)", f"valve.outlet.conductance={outlet} dm3/(s bar)"]


CHANGES: dict[str, list[str]] = {
    "as it stands": [],
    "valves a third": valves("0.0033", "0.01"),
    "valves twice": valves("0.02", "0.06"),
    "line 3 mm, not 2": ["line.run.bore=3 mm"],
    "helium": ["gas=helium"],
    "vessel bore 20 mm, not 40": ["volume.port.wall.bore=20 mm"],
    "vessel bore 10 mm, not 40": ["volume.port.wall.bore=10 mm"],
    "capacity 50 cm3, not 100": ["volume.port.capacity=50 cm3"],
    "capacity 200 cm3, not 100": ["volume.port.capacity=200 cm3"],
    "argon": ["gas=argon"],
}
QUICK = 6
"""rows of the reduced run, the first of the table"""

Row = tuple[str, float, float, str]
"""what was changed, arrival [s], dwell [s], what limits the dwell"""


def settled(change: str) -> Row:
    point = simcal.settle(simcal.load(BENCH, [STEP, *CHANGES[change]])).points[-1]
    if point.arrival_s is None or point.dwell_s is None:
        raise RuntimeError(f"{change}: {point.reason}")
    return change, point.arrival_s, point.dwell_s, str(point.limited_by)


def table(rows: list[Row]) -> str:
    lines = [f"{'from 2.4 to 1.2 bar gauge':28} {'arrival s':>9} {'dwell s':>9}  limited by"]
    lines += [f"{change:28} {arrival:9.2f} {dwell:9.2f}  {limit}" for change, arrival, dwell, limit in rows]
    return "\n".join(lines)


def figure(rows: list[Row], folder: Path) -> None:
    names, arrivals, dwells, _ = zip(*rows, strict=True)
    drawn, axes = showing.pyplot().subplots(figsize=(6.3, 3.4), layout="constrained")
    axes.barh(names, arrivals, facecolor="white", edgecolor="0.35", hatch="////", label="arrival")
    axes.barh(names, dwells, left=arrivals, facecolor="#2b6a94", edgecolor="black", label="dwell")
    axes.invert_yaxis()
    axes.set_xlabel("time from the command, s")
    axes.grid(axis="x", color="0.85", linewidth=0.5)
    axes.set_axisbelow(True)
    drawn.legend(loc="outside upper left", ncols=2, frameon=False)
    showing.save(drawn, folder, __file__)


def made(quick: bool) -> showing.Made:
    rows = [settled(one) for one in list(CHANGES)[: QUICK if quick else None]]
    return table(rows), partial(figure, rows)


if __name__ == "__main__":
    showing.run(__doc__, f"the first {QUICK} rows only", made)
