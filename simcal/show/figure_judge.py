"""A judged hold: the record with its explanation, the parts of its change, the leak against what is permitted."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from simcal.analysis.judge import Judgement
from simcal.analysis.judge.judgement import PARTS
from simcal.show import drawing, words
from simcal.show.figure_run import clock_of
from simcal.show.judge_text import judge_sentence
from simcal.show.judge_units import Judged, RateUnits, rate_units

BLOCK: dict[str, Any] = {"color": "0.35", "linestyle": "none", "marker": "o", "markersize": 2.6}
BAR: dict[str, Any] = {"ecolor": "0.35", "elinewidth": 0.8, "capsize": 1.5}
WATCH: dict[str, Any] = {"facecolor": "0.93", "edgecolor": "none", "zorder": 0}
LIMIT: dict[str, Any] = {"facecolor": "white", "edgecolor": drawing.GREY, "hatch": "////", "linewidth": 0.6}
BOUND = 1.959963984540054
"""Standard deviations of the bars: 95 % of a normal spread."""


def judge_drawing(judged: Judged) -> drawing.Drawing:
    """The figure of one judgement; the strip with the leak is left out where no rate is known."""
    found = judged.found
    return drawing.Drawing(
        name="judge",
        title=f"Hold judged: {drawing.named(found.record, 50)}",
        description=_described(judged),
        figure=judge_figure(found, rate_units(judged, True)),
    )


def _described(judged: Judged) -> str:
    rest = (
        "Middle panel: the parts of the change since that moment. Strip below: the 95 % interval of the net outflow "
        "with its middle; hatched, the rates that are permitted. "
        if judged.found.low_mol_per_s is not None
        else ""
    )
    return (
        "First panel: means of blocks of readings, with bars of 95 %, less what the explanation shows at the start of "
        f"the watch, and the most probable explanation; the grey column is the watch. {rest}{judge_sentence(judged)}."
    )


def judge_figure(found: Judgement, rates: RateUnits) -> Figure:
    """Two panels over one clock, and the strip; without a rate nothing is attributed, and the first panel is all."""
    attributed = found.low_mol_per_s is not None and found.high_mol_per_s is not None
    with drawing.style():
        figure = drawing.blank(5.4 if attributed else 3.2)
        heights = [3.0, 2.4, 0.8] if attributed else [3.0]
        panels = list(np.atleast_1d(figure.subplots(len(heights), 1, height_ratios=heights)))
        timed = panels[:2]
        clock, name = clock_of(float(found.explained.time_s[-1]))
        drawn = _record(panels[0], found, clock)
        if attributed:
            drawn |= _parts(panels[1], found, clock)
            drawn |= _strip(panels[2], found, rates)
            panels[0].tick_params(labelbottom=False)
        for axes in timed:
            axes.axvspan(found.watch_from_s / clock, found.watch_until_s / clock, **WATCH)
            axes.set_xlim(*_span(found, clock))
        timed[-1].set_xlabel(f"time of the record, {name}")
        drawn["watch"] = Patch(**{**WATCH, "edgecolor": "0.6"})
        drawing.legend(figure, list(drawn.values()), list(drawn))
        return drawing.finish(figure)


def _span(found: Judgement, clock: float) -> tuple[float, float]:
    first, last = float(found.explained.time_s[0]), float(found.explained.time_s[-1])
    margin = 0.02 * (last - first)
    return (min(first, found.watch_from_s) - margin) / clock, (max(last, found.watch_until_s) + margin) / clock


def _record(axes: Axes, found: Judgement, clock: float) -> dict[str, Any]:
    seen = found.explained
    start = float(np.interp(found.watch_from_s, seen.time_s, seen.explained_Pa))
    time = seen.time_s / clock
    blocks = axes.errorbar(time, seen.reading_Pa - start, yerr=BOUND * seen.sd_Pa, **BLOCK, **BAR, zorder=3)
    line = axes.plot(time, seen.explained_Pa - start, color=drawing.BLACK, linewidth=1.1, zorder=4)[0]
    axes.set_ylabel("change of the\nreading, Pa")
    return {"block means, 95 %": blocks, "explanation": line}


def _parts(axes: Axes, found: Judgement, clock: float) -> dict[str, Any]:
    """The parts since the start of the watch."""
    seen, shown = found.explained, {}
    for i, part in enumerate(PARTS):
        if part == "unexplained":
            continue
        course = np.asarray(seen.parts_Pa[part])
        shown[part] = axes.plot(seen.time_s / clock, course, **drawing.line(i), zorder=3)[0]
    noise = np.asarray(seen.reading_Pa - seen.explained_Pa)
    shown["unexplained"] = axes.plot(
        seen.time_s / clock, noise, color="0.55", linestyle="none", marker="x", markersize=2.6, zorder=2
    )[0]
    axes.axhline(0.0, color="0.2", linewidth=0.7, zorder=1)
    axes.set_ylabel("its parts, Pa")
    return shown


def _strip(axes: Axes, found: Judgement, rates: RateUnits) -> dict[str, Any]:
    """The interval against the permitted rates."""
    size, unit = rates.amount
    low, middle, high = (
        (rate or 0.0) / size for rate in (found.low_mol_per_s, found.leak_mol_per_s, found.high_mol_per_s)
    )
    axes.errorbar(
        [middle], [0.0], xerr=[[middle - low], [high - middle]], color=drawing.BLACK, marker="D", markersize=4,
        elinewidth=2.0, capsize=5, zorder=3,
    )  # fmt: skip
    reach = [low, high, 0.0]
    shown: dict[str, Any] = {}
    if found.permitted_mol_per_s is not None:
        limit = found.permitted_mol_per_s / size
        axes.axvspan(-limit, limit, **LIMIT, zorder=1)
        reach += [-limit, limit]
        shown["permitted"] = Patch(**LIMIT)
    axes.axvline(0.0, color="0.2", linewidth=0.7, zorder=2)
    margin = 0.06 * (max(reach) - min(reach))
    axes.set_xlim(min(reach) - margin, max(reach) + margin)
    axes.set_ylim(-1.0, 1.0)
    axes.set_yticks([])
    verdict = found.verdict or "no limit"
    axes.set_ylabel(verdict, rotation=0, ha="right", va="center")
    axes.set_xlabel(f"net outflow, 95 % interval, {words.with_micro(unit, True)}")
    return shown
