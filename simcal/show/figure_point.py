"""One setpoint zoomed: the error on a log scale with its parts, the allowance, arrival, dwell and window."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.ticker import LogLocator, NullFormatter

from simcal.analysis.settle.result import PointResult, PointTrace, SettleResult
from simcal.show import drawing
from simcal.show.figure_run import clock_of
from simcal.show.scales import Scales

DECADES = 3.0
"""Decades shown below the allowance, at most."""
ABOVE = 1.025
"""Height of the arrow of the dwell, of the upper panel's own height."""


def longest_dwell(result: SettleResult) -> int | None:
    """Number of the point worth a zoom: of those that can be read the one with the longest dwell."""
    known = {zoom.number for zoom in result.zooms}
    points = [p for p in result.points if p.number in known]
    best = max(points, key=lambda p: (p.dwell_s is not None, p.dwell_s or 0.0), default=None)
    return best.number if best else None


def point_drawing(result: SettleResult, units: Scales, number: int | None = None) -> drawing.Drawing | None:
    """The zoomed figure of one point, else of the longest dwell; None when there is no trace of it."""
    wanted = longest_dwell(result) if number is None else number
    zoom = next((z for z in result.zooms if z.number == wanted), None)
    point = next((p for p in result.points if p.number == wanted), None)
    if zoom is None or point is None or zoom.time_s.size == 0 or not zoom.error_Pa:
        return None
    level = units.level_named(point.target_Pa)
    return drawing.Drawing(
        name=f"point_{point.number}",
        title=f"Point {point.number}, {level} {point.direction}: the error while it dies out",
        description=_described(point, units),
        figure=point_figure(point, zoom, units),
    )


def _described(p: PointResult, units: Scales) -> str:
    if p.ready_s is None:
        times = "The point was not reached."
    else:
        left = f"{units.small_named(p.error_at_reading_Pa)} of {units.small_named(p.allowance_Pa)} allowed"
        times = (
            f"Arrival {units.time_named(p.arrival_s)} after the command, dwell "
            f"{units.time_named(p.dwell_s)}, reading from {units.time_named(p.ready_s)}; error left {left}."
        )
    shut = "" if p.shut_s is None else f" The valves shut {units.time_named(p.shut_s)} after the command."
    return (
        "Upper panel: size of device minus reference on a log scale, with its parts, and with the random part, two "
        "standard deviations of the mean, added. Lower panel: distance of the reference's reading from the "
        f"setpoint, with nearness. {times}{shut}"
    )


def point_figure(p: PointResult, zoom: PointTrace, units: Scales) -> Figure:
    """Two log panels over the time from the command."""
    with drawing.style():
        figure = drawing.blank(4.9)
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=[5, 2])
        last = _last_shown(p, zoom)
        clock, name = clock_of(last)
        drawn = _errors(upper, p, zoom, units, clock)
        drawn |= _distance(lower, p, zoom, units, clock)
        drawn |= _marks(upper, lower, p, units, clock, last / clock)
        _one_form((upper, lower))
        upper.set_ylabel(f"error, size, {units.small_unit}")
        lower.set_ylabel(f"off target,\n{units.small_unit}")
        lower.set_xlabel(f"time from the command, {name}")
        lower.set_xlim(0.0, last / clock)
        drawing.legend(figure, list(drawn.values()), list(drawn))
        return drawing.finish(figure)


def _last_shown(p: PointResult, zoom: PointTrace) -> float:
    end = float(zoom.time_s[-1])
    if p.ready_s is None:
        return end
    return min(end, max(1.35 * p.end_s, p.end_s + p.window_s)) or 1.0


def _errors(axes: Axes, p: PointResult, zoom: PointTrace, units: Scales, clock: float) -> dict[str, Any]:
    time = zoom.time_s / clock
    shown: dict[str, Any] = {}
    governing = zoom.error_Pa.get(p.device, next(iter(zoom.error_Pa.values())))
    shown["error"] = _log(axes, time, governing, units, color=drawing.BLACK, linewidth=1.8, zorder=5)
    whole = np.abs(governing) + zoom.random_Pa
    if zoom.random_Pa > 0.0:
        shown["error + random part"] = _log(axes, time, whole, units, color=drawing.GREY, linewidth=1.0, zorder=4)
    for i, (part, values) in enumerate(zoom.parts_Pa.items()):
        if np.any(np.abs(values) > _floor(p)):
            shown[part] = _log(axes, time, values, units, **drawing.line(i), zorder=3)
    others = [n for n in zoom.error_Pa if n != p.device]
    for name in others:
        handle = _log(axes, time, zoom.error_Pa[name], units, color="#9a9a9a", linewidth=0.8, linestyle=":", zorder=2)
        shown.setdefault("other devices", handle)
    low = units.small_number(_floor(p))
    high = units.small_number(max(20.0 * _allowance(p), min(float(np.max(whole)), 3e3 * _allowance(p))))
    _log_axis(axes, low, 1.5 * high)
    return shown


def _allowance(p: PointResult) -> float:
    """The allowance, Pa; 1 Pa where there is none, so that a log axis has a place to stand."""
    return p.allowance_Pa if p.allowance_Pa > 0.0 else 1.0


def _floor(p: PointResult) -> float:
    """Lowest error shown, Pa: a part below it is not drawn."""
    known = [abs(v) for v in p.error_parts_Pa.values() if abs(v) > 0.0]
    lowest = min(known, default=_allowance(p) * 1e-2) * 0.5
    return float(np.clip(lowest, _allowance(p) * 10.0**-DECADES, _allowance(p) * 1e-2))


def _distance(axes: Axes, p: PointResult, zoom: PointTrace, units: Scales, clock: float) -> dict[str, Any]:
    away = zoom.reference_Pa - p.target_Pa
    _log(axes, zoom.time_s / clock, away, units, color=drawing.BLACK, linewidth=1.2)
    near = units.small_number(p.nearness_Pa if p.nearness_Pa > 0.0 else _allowance(p))
    line = axes.axhline(near, color=drawing.GREY, linewidth=1.0, linestyle=(0, (4, 2)))
    _log_axis(axes, near * 1e-2, max(4.0 * units.small_number(abs(p.step_Pa)), 10.0 * near))
    return {"nearness": line}


def _log(axes: Axes, time: np.ndarray, values: np.ndarray, units: Scales, **how: Any) -> Any:
    size = np.abs(np.asarray(values, dtype=float)) * units.small_number(1.0)
    return drawing.draw(axes, time, np.where(size > 0.0, size, np.nan), **how)


def _log_axis(axes: Axes, low: float, high: float) -> None:
    axes.set_yscale("log")
    axes.set_ylim(low, high)
    axes.yaxis.set_major_locator(LogLocator(numticks=8))
    axes.yaxis.set_minor_formatter(NullFormatter())


def _one_form(panels: Sequence[Axes]) -> None:
    """Ticks of all panels plain, or all as powers of ten."""
    power = any(not drawing.plain(10.0 ** math.floor(math.log10(axes.get_ylim()[1]))) for axes in panels)
    power |= any(not drawing.plain(10.0 ** math.ceil(math.log10(axes.get_ylim()[0]))) for axes in panels)
    for axes in panels:
        axes.yaxis.set_major_formatter(lambda value, _: drawing.tick(value, power))


def _marks(upper: Axes, lower: Axes, p: PointResult, units: Scales, clock: float, last: float) -> dict[str, Any]:
    """Allowance, arrival, shutting of the valves and reading as lines and a band that the legend names.

    No words stand among the curves; the dwell has its arrow and its words above the axes.
    """
    allowed = units.small_number(_allowance(p))
    line = upper.axhline(allowed, color=drawing.BLACK, linewidth=1.2, linestyle=(0, (8, 3)))
    shown: dict[str, Any] = {f"allowance {units.small_named(p.allowance_Pa)}": line}
    if p.arrival_s is not None:
        shown["arrival"] = _upright((upper, lower), p.arrival_s / clock, drawing.ARRIVAL)
    if p.shut_s is not None:
        shown["valves shut"] = _upright((upper, lower), p.shut_s / clock, drawing.SHUT)
    if p.arrival_s is None or p.ready_s is None:
        return shown
    arrival, ready = p.arrival_s / clock, p.ready_s / clock
    for axes in (upper, lower):
        axes.axvspan(ready, ready + p.window_s / clock, facecolor=drawing.BAND, edgecolor="none", zorder=0)
    shown["reading"] = Patch(facecolor=drawing.BAND, edgecolor="none")
    _label(upper, arrival, ready, units.time_named(p.dwell_s), last)
    return shown


def _upright(panels: tuple[Axes, ...], time: float, how: dict[str, Any]) -> Any:
    """One moment marked in every panel; a handle for the legend."""
    lines = [axes.axvline(time, **how) for axes in panels]
    return lines[0]


def _label(axes: Axes, arrival: float, ready: float, dwell: str, last: float) -> None:
    """The dwell above the axes: an arrow from arrival to the window where there is room for one, and its words."""
    frame = ("data", "axes fraction")
    if ready - arrival > 0.02 * last:
        axes.annotate(
            "",
            (ready, ABOVE),
            (arrival, ABOVE),
            xycoords=frame,
            textcoords=frame,
            arrowprops={"arrowstyle": "<|-|>", "lw": 0.9, "shrinkA": 0, "shrinkB": 0, "color": "black"},
            annotation_clip=False,
        )
    middle = 0.5 * (arrival + ready)
    side = "center" if 0.1 < middle / last < 0.9 else "left" if middle / last <= 0.1 else "right"
    axes.annotate(
        f"dwell {dwell}",
        (middle, ABOVE),
        xycoords=frame,
        xytext=(0, 4),
        textcoords="offset points",
        ha=side,
        va="bottom",
        fontsize=8.5,
        annotation_clip=False,
    )
