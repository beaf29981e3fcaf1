"""A criterion: the chance of a fail by the leak, and below it what the drawn benches do against the limits."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes

from simcal.analysis.criterion import CriterionResult
from simcal.show import drawing, words
from simcal.show.criterion_text import clock, in_shop, share, short

LIMIT: dict[str, Any] = {"color": drawing.BLACK, "linewidth": 1.2, "linestyle": (0, (7, 2, 1, 2))}
MARKED: dict[str, Any] = {"color": drawing.GREY, "linewidth": 0.9, "linestyle": (0, (1.5, 1.5))}
NAMES = {"healthy": "healthy leak", "permitted": "permitted leak"}


def criterion_drawing(result: CriterionResult, shop: str) -> drawing.Drawing:
    """The operating curve with its uncertainty, and the change of every drawn bench with both leaks.

    shop: the unit of rates. result: one that has a criterion.
    """
    ends = [result.curve[0], result.curve[-1]]
    return drawing.Drawing(
        name="criterion",
        title=f"Criterion: soak {clock(result.soak_s)}, wait {clock(result.wait_s)}, watch {clock(result.watch_s)}",
        description=(
            f"Upper panel: share of the holds that fail against the leak, from {share(ends[0].fails)} with none to "
            f"{share(ends[1].fails)} at {words.figures(in_shop(ends[1].leak_mol_per_s, shop))} {shop}, with its 95 % "
            "interval; dotted lines mark the healthy and the permitted leak. "
            "Lower panel: mean change of the reading over the watch, in Pa, of every fresh bench with the healthy and "
            "with the permitted leak, and the limits of the drop and the rise as dash-dotted lines."
        ),
        figure=_figure(result, shop),
    )


def _figure(result: CriterionResult, shop: str) -> drawing.Figure:
    with drawing.style():
        figure = drawing.blank(4.6)
        upper, lower = figure.subplots(2, 1, height_ratios=[3, 1.5])
        shown = _curve(upper, result, shop)
        shown |= _changes(lower, result)
        drawing.legend(figure, list(shown.values()), list(shown))
        return drawing.finish(figure)


def _curve(axes: Axes, result: CriterionResult, shop: str) -> dict[str, Any]:
    leaks = np.array([in_shop(p.leak_mol_per_s, shop) for p in result.curve])
    fails, low, high = (100.0 * np.array([getattr(p, name) for p in result.curve]) for name in ("fails", "low", "high"))
    band = axes.fill_between(leaks, low, high, color=drawing.BAND, linewidth=0.0)
    line = axes.plot(leaks, fails, color=drawing.BLACK, marker="o", markersize=3.0, linewidth=1.3)[0]
    marked = None
    if result.false_alarm is not None:
        for rate in (result.healthy_mol_per_s, result.permitted_mol_per_s):
            marked = axes.axvline(in_shop(rate, shop), **MARKED)
    axes.set_xlim(0.0, float(leaks[-1]))
    axes.set_ylim(-2.0, 102.0)
    axes.set_xlabel(f"leak, {shop}")
    axes.set_ylabel("holds that fail, %")
    shown = {"holds that fail": line, "95 % interval": band}
    return shown if marked is None else {**shown, "healthy and permitted leak": marked}


def _changes(axes: Axes, result: CriterionResult) -> dict[str, Any]:
    """One dot a bench; the limits as lines across."""
    markers = {"healthy": "o", "permitted": "x"}
    for row, (name, values) in enumerate(result.changes_Pa.items()):
        heights = row + np.linspace(-0.28, 0.28, len(values)) if len(values) > 1 else np.array([float(row)])
        axes.plot(values, heights, linestyle="none", marker=markers[name], markersize=3.0, color="0.25", mew=0.8)
    limit = None
    sides = ((result.allowed_drop_Pa, -1.0, "drop"), (result.allowed_rise_Pa, 1.0, "rise"))
    for value, way, name in sides:
        if value is not None:
            limit = axes.axvline(way * value, **LIMIT)
            side = "left" if way < 0.0 else "right"
            axes.annotate(
                f"{name} {short(value)} Pa", (way * value, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 2),
                textcoords="offset points", fontsize=7.5, ha=side,
            )  # fmt: skip
    axes.set_yticks(range(len(result.changes_Pa)), [NAMES[name] for name in result.changes_Pa])
    axes.set_ylim(len(result.changes_Pa) - 0.5, -0.5)
    axes.set_xlabel("change of the reading over the watch, mean of a bench's holds, Pa")
    return {} if limit is None else {"limit": limit}
