"""A spare sensor is a bargain against a second bench at many times its price, the fourth one at none.

Claim: with three sensors and none to spare, the works is up for 95.7 % of its jobs, since every sensor is away for
three weeks a year. Two spares bring 99 %; a third brings a ninth of what the first did, a fourth nothing. A second
bench with sensors of its own brings the rest too, and helps when a controller fails. The price at which a spare is no
bargain any more is that at which a point of uptime costs as much as by the second bench, which is taken without staff:
some 70, 40 and 36 thousand for the first three, which cost about 4 each.

    python studies/08_spare_or_second_bench.py [--quick] [--out FOLDER]

prints the table (recorded in 08_spare_or_second_bench.txt beside this file) and, with --out, saves its figure there.
"""

from dataclasses import replace
from itertools import islice
from pathlib import Path

import numpy as np
import showing
import years

from simcal.analysis.year.compare import spares

QUICK = 1
"""spares of the reduced run"""
TARGET = 0.99


def found(quick: bool) -> tuple[list[str], list[np.ndarray], list[float]]:
    """Labels, uptimes and costs a year without staff, as it is, with 1, 2, ... spares, and last with a second bench."""
    lab = years.works()
    model = years.model(lab)
    model = replace(model, prices=replace(model.prices, hour=0.0, late=0.0, refused=0.0))
    ways = list(spares(model, years.SEED))
    taken = [*islice(ways, QUICK if quick else len(ways) - 1), ways[-1]]
    labels = ["as it is", *[label for label, _, _ in taken]]
    made = [years.rows(one) for one in (model, *[way for _, way, _ in taken])]
    return labels, [one["uptime"] for one in made], [float(one["cost"].sum(axis=1).mean()) for one in made]


def made(quick: bool) -> showing.Made:
    labels, ups, costs = found(quick)
    lab = years.works()
    write_off, calibration = lab.year.cost.write_off, lab.year.cost.calibration
    head = f"{'':34} {'uptime, %':>10}  {'gained':>10}  {'EUR a year':>10}  {'worth, kEUR':>11}"
    lines = [head, years.line(labels[0], [years.percent(ups[0]), "0.00", f"{costs[0]:.0f}"])]
    bench, extra = ups[-1].mean(), costs[-1] - costs[0]
    for label, before, up, cost in zip(labels[1:-1], ups, ups[1:-1], costs[1:-1], strict=False):
        gained, left = up.mean() - before.mean(), bench - before.mean()
        worth = write_off * (gained / left * extra - calibration) / 1e3
        cells = [years.percent(up), f"{100 * gained:.2f}", f"{cost:.0f}", f"{max(worth, 0.0):.1f}"]
        lines.append(years.line(label, cells))
    cells = [years.percent(ups[-1]), f"{100 * (bench - ups[0].mean()):.2f}", f"{costs[-1]:.0f}"]
    lines.append(years.line("a bench more, with sensors", cells))
    lines.append("worth: price at which the spare is no bargain against the bench")

    def draw(folder: Path) -> None:
        drawn, axes = showing.pyplot().subplots(figsize=(6.3, 3.4), layout="constrained")
        for row, (up, label) in enumerate(zip(ups, labels, strict=True)):
            low, high = np.quantile(100 * up, [0.05, 0.95])
            axes.barh(row, high - low, left=low, height=0.55, color="0.86", edgecolor="0.5")
            axes.plot(100 * up.mean(), row, "o", color="black", markersize=5)
            axes.text(100 * up.mean(), row - 0.36, label, fontsize="small", ha="center")
        axes.axvline(100 * TARGET, color="black", linestyle=(0, (5, 3)))
        axes.set_ylim(len(ups) - 0.4, -0.8)
        axes.set_yticks([])
        axes.use_sticky_edges = False
        axes.set_xlabel("uptime, % of jobs that could start when they came: mean, nine years of ten, target")
        showing.save(drawn, folder, __file__)

    return "\n".join(lines), draw


if __name__ == "__main__":
    showing.run(__doc__, f"{QUICK} spare and the bench only", made)
