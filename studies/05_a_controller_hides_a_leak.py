"""With the controller on no leak is seen: the pressure stands, and the valves tell.

Claim: on the bench for holds at 3 bar gauge a leak of up to a thousand times that of a good fitting leaves the
reference where it was, within a tenth of a pascal, while the controller works. With the valves shut the same leaks make
the pressure fall, by up to 1.5 kPa in a minute. What tells under control is the flow that the controller makes up.

Why: a controller with integral action lets in what leaves. Judge tightness with the valves shut, or look at the flow.

    python studies/05_a_controller_hides_a_leak.py [--quick] [--out FOLDER]

prints the table (recorded beside this file) and, with --out, saves its figure there.
"""

from functools import partial
from pathlib import Path

import numpy as np
import showing

import simcal
from simcal.analysis.hold import HoldResult
from simcal.bench.values import Level

HOLDS: dict[str, str] = {
    "tight": "0 mol/s",
    "2 nmol/s": "2e-9 mol/s",
    "20 nmol/s": "2e-8 mol/s",
    "200 nmol/s": "2e-7 mol/s",
    "2000 nmol/s": "2e-6 mol/s",
}
"""leak at 6 bar abs"""
QUICK = 5
"""rows of the reduced run: all"""
SETTLED, WATCH, PRESSURE = 240.0, 60.0, 3e5

Row = tuple[str, np.ndarray, np.ndarray, float, HoldResult]
"""name; time [s] and change of the reference [Pa] under control; flow made up [mol/s]; the hold"""


def held(name: str) -> Row:
    sets = [f"leak.fitting.rate={HOLDS[name]}", 'sequence.up_down.points=["50 %"]', "sequence.up_down.longest=600 s"]
    bench = simcal.load(showing.HOLDS, [*showing.SURE, *sets])
    point = simcal.settle(bench, dwell_s=SETTLED + WATCH)
    trace = point.trace
    assert trace is not None
    last = trace.time_s >= trace.time_s[-1] - WATCH
    time, seen = trace.time_s[last], trace.reference_Pa[last]
    made_up = point.points[0].make_up_mol_per_s or 0.0
    shut = simcal.hold(bench, pressure=Level(PRESSURE, True), soak_s=SETTLED, watch_s=WATCH)
    return name, time - time[0], seen - seen[0], made_up, shut


def table(rows: list[Row]) -> str:
    lines = [f"{'leak at 6 bar abs':18} {'on: change Pa':>13} {'made up nmol/s':>15} {'shut: change Pa':>16}"]
    for name, _, seen, made_up, shut in rows:
        lines.append(f"{name:18}  {abs(seen[-1]):12.1f}   {made_up * 1e9:12.1f}   {shut.truth.change_Pa:13.1f}")
    return "\n".join(lines)


def figure(rows: list[Row], folder: Path) -> None:
    drawn, (left, right) = showing.pyplot().subplots(1, 2, figsize=(6.3, 3.2), layout="constrained", sharey=True)
    colours = ("#000000", "#0a5a8c", "#c2560a", "#3d7a2a", "#8a3a86")
    dashes = ("-", (0, (6, 1.5)), (0, (1.5, 1.2)), (0, (7, 1.5, 1.5, 1.5)), (0, (10, 3)))
    for k, (name, time, seen, _, shut) in enumerate(rows):
        how = {"color": colours[k], "linestyle": dashes[k], "label": name}
        left.plot(time, seen, **how)
        right.plot(*showing.watched(shut), **how)
    left.set_ylabel("change of the pressure, Pa")
    left.set_ylim(-180.0, 20.0)  # the largest leak leaves the panel at once
    for axes, title in ((left, "controller on"), (right, "valves shut")):
        axes.set_title(title, fontsize=9)
        axes.set_xlabel("time, s")
        axes.grid(color="0.85", linewidth=0.5)
    handles, labels = left.get_legend_handles_labels()
    drawn.legend(handles, labels, loc="outside upper left", ncols=5, frameon=False, handlelength=3, fontsize=8)
    showing.save(drawn, folder, __file__)


def made(quick: bool) -> showing.Made:
    rows = [held(one) for one in list(HOLDS)[: QUICK if quick else None]]
    return table(rows), partial(figure, rows)


if __name__ == "__main__":
    showing.run(__doc__, f"the first {QUICK} rows only", made)
