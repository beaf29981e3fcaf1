"""One leak in 20, 100 and 500 cm3: what a criterion in Pa means depends on the volume.

Claim: the same leak makes the pressure fall 25 times faster in 20 cm3 than in 500 cm3, and the heat of the move goes
the other way: from a minute after the move on it makes ten times the fall in 500 cm3 that it makes in 20 cm3. There the
leak is most of what is seen, in 500 cm3 a small part. A limit in Pa per minute that was found on one volume is worth
nothing on another: a limit in mol/s is.

Why: dp/dt = R T (dn/dt) / V for the leak. What the heat does is a share of the pressure whatever the volume, but a
wider vessel takes longer to give it to its wall.

    python studies/03_one_leak_in_three_volumes.py [--quick] [--out FOLDER]

prints the table (recorded beside this file) and, with --out, saves its figure there.
"""

from functools import partial
from pathlib import Path

import showing

import simcal
from simcal.analysis.hold import HoldResult
from simcal.bench.values import Level

HOLDS: dict[str, tuple[float, str, str]] = {
    f"{capacity:g} cm3, {word}": (capacity, rate, word)
    for word, rate in (("leak", "2e-8 mol/s"), ("tight", "0 mol/s"))
    for capacity in (20.0, 100.0, 500.0)
}
"""all of what is shut in [cm3], the leak"""
QUICK = 4
"""rows of the reduced run, the first of the table"""
SOAK, WATCH, PRESSURE, BLOCK = 60.0, 600.0, 3e5, 5.0

Row = tuple[str, HoldResult]


def held(name: str) -> Row:
    """The block takes 5 cm3, the tube is short and holds half a cm3; every vessel is two bores long."""
    capacity, rate, _ = HOLDS[name]
    tube = 0.25 * 3.14159265 * 0.4**2 * 4.0
    port = capacity - BLOCK - tube
    bore = (2.0 * port / 3.14159265) ** (1.0 / 3.0) * 10.0
    sets = [
        f"volume.manifold.capacity={BLOCK} cm3", "volume.manifold.wall.bore=12 mm", f"volume.port.capacity={port} cm3",
        f"volume.port.wall.bore={bore} mm", "line.run.length=40 mm", f"leak.fitting.rate={rate}",
    ]  # fmt: skip
    bench = simcal.load(showing.HOLDS, [*showing.SURE, *sets])
    level = Level(PRESSURE, True)
    return name, simcal.hold(bench, pressure=level, soak_s=SOAK, watch_s=WATCH)


def table(rows: list[Row]) -> str:
    lines = [f"{'3 bar gauge, 10 min':22} {'leak Pa/min':>11} {'thermal Pa/min':>15} {'leak nmol/s':>12}"]
    for name, one in rows:
        leak, heat = (round(one.truth.parts_Pa[part] / 10.0, 2) + 0.0 for part in ("leak", "thermal"))  # no -0.00
        lines.append(f"{name:22}  {leak:10.2f}   {heat:12.2f}   {abs(one.truth.leak_mol_per_s) * 1e9:12.2f}")
    return "\n".join(lines)


def figure(rows: list[Row], folder: Path) -> None:
    drawn, axes = showing.pyplot().subplots(figsize=(6.3, 3.4), layout="constrained")
    colours = {20.0: "#0a5a8c", 100.0: "#c2560a", 500.0: "#3d7a2a"}
    marks = {20.0: "o", 100.0: "s", 500.0: "^"}
    for name, one in rows:
        capacity, _, word = HOLDS[name]
        time, change = showing.watched(one)
        dash = "-" if word == "leak" else (0, (1.5, 1.2))
        axes.plot(
            time / 60.0, change, color=colours[capacity], linestyle=dash, marker=marks[capacity],
            markevery=100, markersize=4, label=name,
        )  # fmt: skip
    axes.set_xlabel("time from shutting the valves, min")
    axes.set_ylabel("change of the pressure, Pa")
    axes.grid(color="0.85", linewidth=0.5)
    drawn.legend(loc="outside upper left", ncols=3, frameon=False, handlelength=4)
    showing.save(drawn, folder, __file__)


def made(quick: bool) -> showing.Made:
    rows = [held(one) for one in list(HOLDS)[: QUICK if quick else None]]
    return table(rows), partial(figure, rows)


if __name__ == "__main__":
    showing.run(__doc__, f"the first {QUICK} rows only", made)
