"""What changes over the range: the loop's margins, and the dwell of every setpoint."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from simcal.analysis.settle.result import PointResult, SettleResult
from simcal.show import drawing
from simcal.show.missed import missed
from simcal.show.scales import Scales

MARGINS = (
    ("gain", "gain margin,\nfactor", 1.0, 1.0),
    ("phase_deg", "phase margin,\ndegrees", 1.0, 0.0),
    ("delay_s", "delay margin,\nms", 1e3, 0.0),
)
"""Field, label, factor, and the value at which the loop becomes unstable."""
TALLEST = 8.6
"""Inches: a figure stays on one page."""


def margins_drawing(result: SettleResult, units: Scales) -> drawing.Drawing | None:
    """Gain, phase and delay margins over the pressure; None when no point has any."""
    points = [p for p in result.points if p.margins is not None]
    if not any(getattr(p.margins, field) is not None for p in points for field, *_ in MARGINS):
        return None
    return drawing.Drawing(
        name="margins",
        title="How far the pressure loop is from instability, over the range",
        description=(
            "Gain, phase and delay margin of the linearised sampled loop at each setpoint over its "
            "pressure, points reached upwards and downwards marked apart; the heavy dashed line in each "
            "panel is the limit of stability."
        ),
        figure=margins_figure(points, units),
    )


def margins_figure(points: Sequence[PointResult], units: Scales) -> Figure:
    """Three panels over one axis of pressure."""
    with drawing.style():
        figure = drawing.blank(4.4)
        panels = figure.subplots(3, 1, sharex=True)
        drawn: dict[str, Any] = {}
        for axes, (field, label, factor, limit) in zip(panels, MARGINS, strict=True):
            drawn |= _margin(axes, points, units, field, factor)
            drawn["limit of stability"] = axes.axhline(limit, color="black", linewidth=1.4, linestyle=(0, (6, 3)))
            axes.set_ylabel(label)
            low, high = axes.get_ylim()
            axes.set_ylim(min(low, limit) - 0.04 * (high - low), high + 0.08 * (high - min(low, limit)))
        panels[-1].set_xlabel(f"setpoint, {units.level_unit}")
        panels[-1].margins(x=0.04)
        drawing.legend(figure, list(drawn.values()), list(drawn))
        return drawing.finish(figure)


def _margin(axes: Axes, points: Sequence[PointResult], units: Scales, field: str, factor: float) -> dict[str, Any]:
    drawn = {}
    for direction, marker, fill in (("up", "^", "black"), ("down", "v", "white")):
        here = sorted(
            (units.number(p.target_Pa), getattr(p.margins, field))
            for p in points
            if p.direction == direction and getattr(p.margins, field) is not None
        )
        if here:
            levels, values = zip(*here, strict=True)
            drawn[f"reached {direction}wards" if direction == "up" else "reached downwards"] = axes.plot(
                levels,
                factor * np.array(values),
                marker=marker,
                markerfacecolor=fill,
                markeredgecolor="black",
                markersize=5,
                color=drawing.GREY,
                linewidth=0.8,
                linestyle="-" if direction == "up" else ":",
            )[0]
    if not drawn:
        axes.annotate("no crossing at any setpoint: no limit", (0.5, 0.5), xycoords="axes fraction", ha="center")
    return drawn


def dwell_drawing(result: SettleResult, units: Scales) -> drawing.Drawing | None:
    """Arrival and dwell of every setpoint, with the band of the trials; None when there is no point."""
    if not result.points:
        return None
    banded = any(p.dwell_low_s is not None for p in result.points)
    band = " Whiskers hold 90 % of the trials." if banded else ""
    return drawing.Drawing(
        name="dwell",
        title="Arrival and dwell at every setpoint",
        description=f"One bar a setpoint, first on top: time to arrive, then dwell until the reading.{band}",
        figure=dwell_figure(result.points, units),
    )


def dwell_figure(points: Sequence[PointResult], units: Scales) -> Figure:
    """Horizontal bars, so that the labels stay readable for any number of points."""
    with drawing.style():
        height = min(1.3 + 0.2 * len(points), TALLEST)
        figure = drawing.blank(height)
        axes = figure.subplots()
        places = np.arange(len(points))
        arrival = np.array([p.arrival_s or 0.0 for p in points])
        dwell = np.array([p.dwell_s or 0.0 for p in points])
        axes.barh(places, arrival, height=0.62, facecolor="white", edgecolor="0.35", hatch="////", linewidth=0.7)
        axes.barh(places, dwell, left=arrival, height=0.62, facecolor="#2c6a94", edgecolor="black", linewidth=0.7)
        handles = [
            Patch(facecolor="white", edgecolor="0.35", hatch="////"),
            Patch(facecolor="#2c6a94", edgecolor="black"),
        ]
        labels = ["arrival", "dwell"]
        whiskers = _whiskers(axes, points, places)
        if whiskers is not None:
            handles.append(whiskers)
            labels.append("dwell, 90 % of the trials")
        _troubles(axes, points, places, float(np.max(arrival + dwell, initial=1.0)))
        _rows(axes, points, units, height)
        axes.set_xlabel("time from the command, s")
        axes.set_xlim(left=0.0)
        drawing.legend(figure, handles, labels)
        return drawing.finish(figure)


def _whiskers(axes: Axes, points: Sequence[PointResult], places: np.ndarray) -> Any:
    known = [
        (i, p) for i, p in zip(places, points, strict=True) if None not in (p.dwell_low_s, p.dwell_high_s, p.arrival_s)
    ]
    if not known:
        return None
    rows = np.array([i for i, _ in known])
    start = np.array([p.arrival_s for _, p in known])
    low, high = (np.array([getattr(p, f"dwell_{end}_s") for _, p in known]) for end in ("low", "high"))
    middle = 0.5 * (low + high)
    return axes.errorbar(
        start + middle, rows, xerr=middle - low, fmt="none", ecolor="black", elinewidth=1.0, capsize=2.5
    )


def _troubles(axes: Axes, points: Sequence[PointResult], places: np.ndarray, longest: float) -> None:
    for place, p in zip(places, points, strict=True):
        word = missed(p) or ("void" if p.void is not None else "")
        if word:
            start = (p.arrival_s or 0.0) + max(p.dwell_s or 0.0, p.dwell_high_s or 0.0)
            start = start if p.ready_s is not None else 0.0
            axes.annotate(word, (start + 0.015 * longest, place), va="center", fontsize=8, fontweight="bold")


def _rows(axes: Axes, points: Sequence[PointResult], units: Scales, height: float) -> None:
    """Labels of the rows, every n-th when there are more than the page holds."""
    every = max(1, int(np.ceil(len(points) / max(1.0, (height - 1.0) / 0.155))))
    chosen = range(0, len(points), every)
    signs = {"up": "↑", "down": "↓"}
    names = [
        f"{p.number}:  {units.level(p.target_Pa)} {'vent' if p.mode == 'vent' else signs[p.direction]}"
        for p in points[::every]
    ]
    axes.set_yticks(list(chosen), names)
    axes.set_ylabel(f"point: setpoint, {units.level_unit}")
    axes.set_ylim(len(points) - 0.4, -0.6)
    axes.grid(False, axis="y")
    axes.set_axisbelow(True)
