"""From above the heat changes its sign and the leak keeps its own.

Claim: on the bench for holds, right after a move, gas that cools makes the pressure of a tight volume fall when it was
reached from below and rise when it was reached from above. A leak makes it fall both times, by the same. So two holds,
one from each side, say what is leak without waiting for the heat, if both are modelled: their plain mean is not the
leak, because the two moves are not mirror images of each other.

Why: compression leaves gas and body warmer than the room, expansion leaves them colder; a hole does not know what came
before. Up goes through the smaller valve, so the gas loses more of its heat on the way.

    python studies/02_above_and_below.py [--quick] [--out FOLDER]

prints the table (recorded beside this file) and, with --out, saves its figure there.
"""

from functools import partial
from pathlib import Path

import showing

import simcal
from simcal.analysis.hold import HoldResult
from simcal.bench.values import Level

HOLDS: dict[str, tuple[str, str]] = {
    "tight, from below": ("0 mol/s", "below"),
    "tight, from above": ("0 mol/s", "above"),
    "leak, from below": ("5e-8 mol/s", "below"),
    "leak, from above": ("5e-8 mol/s", "above"),
}
QUICK = 4
"""rows of the reduced run: all"""
SOAK, WATCH, PRESSURE = 30.0, 300.0, 3e5

Row = tuple[str, HoldResult]


def held(name: str) -> Row:
    rate, side = HOLDS[name]
    bench = simcal.load(showing.HOLDS, [*showing.SURE, f"leak.fitting.rate={rate}"])
    level = Level(PRESSURE, True)
    return name, simcal.hold(bench, pressure=level, soak_s=SOAK, watch_s=WATCH, direction=side)


def table(rows: list[Row]) -> str:
    lines = [f"{'3 bar gauge, 5 min':22} {'leak Pa':>9} {'thermal Pa':>11} {'change Pa':>10}"]
    for name, one in rows:
        parts = one.truth.parts_Pa
        leak = parts["leak"] if abs(parts["leak"]) > 0.05 else 0.0
        lines.append(f"{name:22}  {leak:8.1f}   {parts['thermal']:10.1f}   {one.truth.change_Pa:8.1f}")
    return "\n".join(lines)


def figure(rows: list[Row], folder: Path) -> None:
    styles = {
        "tight, from below": {"color": "#0a5a8c", "linestyle": "-"},
        "tight, from above": {"color": "#0a5a8c", "linestyle": (0, (6, 1.5))},
        "leak, from below": {"color": "#c2560a", "linestyle": "-", "linewidth": 2.4},
        "leak, from above": {"color": "#c2560a", "linestyle": (0, (6, 1.5)), "linewidth": 2.4},
    }
    drawn, axes = showing.pyplot().subplots(figsize=(6.3, 3.4), layout="constrained")
    for name, one in rows:
        time, change = showing.watched(one)
        axes.plot(time / 60.0, change, label=name, **styles[name])
    axes.axhline(0.0, color="0.5", linewidth=0.7)
    axes.set_xlabel("time from shutting the valves, min")
    axes.set_ylabel("change of the pressure, Pa")
    axes.grid(color="0.85", linewidth=0.5)
    drawn.legend(loc="outside upper left", ncols=2, frameon=False, handlelength=4)
    showing.save(drawn, folder, __file__)


def made(quick: bool) -> showing.Made:
    rows = [held(one) for one in list(HOLDS)[: QUICK if quick else None]]
    return table(rows), partial(figure, rows)


if __name__ == "__main__":
    showing.run(__doc__, f"the first {QUICK} rows only", made)
