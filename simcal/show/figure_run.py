"""The whole run: setpoints with nearness bands, reference and devices, and what a comparison would see."""

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.ticker import NullLocator

from simcal.analysis.settle.result import PointResult, RunTrace, SettleResult
from simcal.show import drawing, words
from simcal.show.scales import Scales

MOST_ALLOWANCES = 1e4
"""Reach of the lower panel to each side, in allowances, at most."""
MOST_DEVICES = 6
NEAR: dict[str, Any] = {"facecolor": "#bcd0dd", "edgecolor": "0.45", "hatch": "...", "linewidth": 0}
THINNEST_BAND = 0.015
"""Of the range of the pressure, about twice the setpoint's line: a thinner band of nearness is not drawn."""
REFERENCE: dict[str, Any] = {"color": "0.62", "linewidth": 2.6, "zorder": 3}
"""Broad and pale, so that the devices drawn on it leave it visible."""


def run_drawing(result: SettleResult, units: Scales) -> drawing.Drawing | None:
    """The figure of the run; None when the result carries no trace."""
    if result.trace is None or result.trace.time_s.size == 0:
        return None
    count = words.counted(len(result.points), "setpoint")
    return drawing.Drawing(
        name="run",
        title=f"The run of {drawing.named(result.sequence)} on {drawing.named(result.bench, 50)}",
        description=_described(result, count),
        figure=run_figure(result, result.trace, units),
    )


def _described(result: SettleResult, count: str) -> str:
    devices = list(result.trace.device_Pa) if result.trace else []
    more = f" Only the first {MOST_DEVICES} of {len(devices)} devices are drawn." if len(devices) > MOST_DEVICES else ""
    shut = ", the thin broken lines the moments the valves shut" if any(p.shut_s for p in result.points) else ""
    near = " and their nearness bands" if near_shows(result) else ", whose nearness is thinner than their line"
    own = ", each divided by its own allowance" if _shared(result) else ""
    return (
        f"Upper panel: pressure over {words.duration(result.total_s)} at {count}, with the readings of the "
        f"reference and the devices, the setpoints{near}. Lower panel: device minus "
        f"reference, head removed{own}, linear inside the allowance (the hatched band) and logarithmic outside. "
        f"Grey columns are the reading windows{shut}; the numbers on top are the points of the table.{more}"
    )


def run_figure(result: SettleResult, trace: RunTrace, units: Scales) -> Figure:
    """Two panels over one clock."""
    with drawing.style():
        figure = drawing.blank(4.6)
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=[3, 2])
        clock, name = clock_of(result.total_s)
        drawn = _pressures(upper, result, trace, units, clock)
        _differences(lower, result, units, clock)
        shut: dict[str, Any] = {}
        for axes in (upper, lower):
            _windows(axes, result.points, clock)
            shut = _shuttings(axes, result.points, clock)
        _numbers(upper, result, clock)
        upper.set_ylabel(f"pressure, {units.level_unit}")
        whole = f"device minus\nreference, {units.small_unit}"
        lower.set_ylabel("difference,\nown allowances" if _shared(result) else whole)
        lower.set_xlabel(f"time from the first command, {name}")
        lower.set_xlim(0.0, max(float(trace.time_s[-1]), result.total_s) / clock)
        window = Patch(facecolor=drawing.BAND, edgecolor="none")
        allowed = Patch(facecolor="white", edgecolor=drawing.GREY, hatch="////")
        drawn |= {"reading window": window, **shut, "allowance": allowed}
        drawing.legend(figure, list(drawn.values()), list(drawn))
        return drawing.finish(figure)


def clock_of(longest_s: float) -> tuple[float, str]:
    """Seconds in the unit of a time axis, and its name."""
    if longest_s <= 300.0:
        return 1.0, "s"
    return (60.0, "min") if longest_s <= 3.0 * 3600.0 else (3600.0, "h")


def _pressures(axes: Axes, result: SettleResult, trace: RunTrace, units: Scales, clock: float) -> dict[str, Any]:
    number = np.vectorize(units.number, otypes=[float])
    time = trace.time_s / clock
    for p, end in zip(result.points, ends(result), strict=True):
        span = [p.start_s / clock, end / clock]
        low, high = units.number(p.target_Pa - p.nearness_Pa), units.number(p.target_Pa + p.nearness_Pa)
        if near_shows(result):
            axes.fill_between(span, low, high, **NEAR, zorder=1)
        axes.plot(span, [units.number(p.target_Pa)] * 2, color=drawing.GREY, linewidth=0.8, zorder=2)
    setpoint = axes.plot([], [], color=drawing.GREY, linewidth=0.8)[0]
    drawn = {"setpoint": setpoint} | ({"nearness": Patch(**NEAR)} if near_shows(result) else {})
    reference = drawing.draw(axes, time, number(trace.reference_Pa), **REFERENCE)
    drawn["reference"] = reference
    for i, name in enumerate(list(trace.device_Pa)[:MOST_DEVICES]):
        shown = drawing.draw(axes, time, number(trace.device_Pa[name]), **drawing.line(i), zorder=4)
        drawn[f"device {drawing.named(name)}"] = shown
    return drawn


def near_shows(result: SettleResult) -> bool:
    """Whether a nearness band is broad enough to be told from the setpoint's line."""
    trace = result.trace
    if trace is None or not result.points:
        return False
    levels = np.concatenate([trace.reference_Pa, [p.target_Pa for p in result.points]])
    widest = 2.0 * max(p.nearness_Pa for p in result.points)
    return widest >= THINNEST_BAND * float(np.ptp(levels))


def _shared(result: SettleResult) -> bool:
    """Whether several devices are drawn, each against its own allowance."""
    return result.trace is not None and len(result.trace.device_Pa) > 1


def _differences(axes: Axes, result: SettleResult, units: Scales, clock: float) -> None:
    """Device minus reference, linear inside the largest allowance and logarithmic outside.

    Of several devices each is divided by its own allowance, so that one band serves them all.
    """
    shared = _shared(result)
    allowance = 1.0 if shared else max((p.allowance_Pa for p in result.points), default=1.0) or 1.0
    unit = 1.0 if shared else units.small_number(1.0)
    order = list(result.trace.device_Pa)[:MOST_DEVICES] if result.trace else []
    zooms = {zoom.number: zoom for zoom in result.zooms}
    largest = 3.0 * allowance
    for p, end in zip(result.points, ends(result), strict=True):
        _band(axes, [p.start_s / clock, end / clock], 1.0 if shared else unit * p.allowance_Pa)
        if p.number not in zooms:
            continue
        zoom = zooms[p.number]
        inside = zoom.time_s <= end - p.start_s
        for name in order:
            if name in zoom.error_Pa and inside.any():
                own = p.devices[name].allowance_Pa if shared else 1.0
                error = zoom.error_Pa[name][inside] / own
                largest = max(largest, float(np.nanmax(np.abs(error))))
                time = (p.start_s + zoom.time_s[inside]) / clock
                drawing.draw(axes, time, unit * error, **drawing.line(order.index(name)), zorder=4)
    _signed_log(axes, unit * allowance, min(largest / allowance, MOST_ALLOWANCES))


def _band(axes: Axes, span: list[float], edge: float) -> None:
    """The allowance over one point."""
    hatched: dict[str, Any] = {"facecolor": "none", "edgecolor": drawing.GREY, "hatch": "////", "linewidth": 0.4}
    axes.fill_between(span, -edge, edge, **hatched)


def _signed_log(axes: Axes, linear: float, reach: float) -> None:
    axes.set_yscale("symlog", linthresh=linear, linscale=1.0)
    axes.set_ylim(-1.5 * reach * linear, 1.5 * reach * linear)
    decades = [linear * 10.0**k for k in range(int(np.log10(reach)) + 1)]
    chosen = decades[:: max(1, (len(decades) + 1) // 3)]
    ticks = [-v for v in reversed(chosen)] + [0.0, *chosen]
    power = not all(drawing.plain(v) for v in ticks)
    axes.set_yticks(ticks, [drawing.tick(v, power) for v in ticks])
    axes.yaxis.set_minor_locator(NullLocator())


def ends(result: SettleResult) -> list[float]:
    """When each point gives way to the next, s on the run's clock."""
    starts = [p.start_s for p in result.points[1:]]
    last = float(result.trace.time_s[-1]) if result.trace is not None else result.total_s
    return [*starts, max(last, result.total_s)]


def _windows(axes: Axes, points: tuple[PointResult, ...], clock: float) -> None:
    for p in points:
        if p.ready_s is not None:
            start = (p.start_s + p.ready_s) / clock
            axes.axvspan(start, start + p.window_s / clock, facecolor=drawing.BAND, edgecolor="none", zorder=0)


def _shuttings(axes: Axes, points: tuple[PointResult, ...], clock: float) -> dict[str, Any]:
    """When the valves shut before an isolated reading; a handle for the legend where they do."""
    times = [(p.start_s + p.shut_s) / clock for p in points if p.shut_s is not None]
    lines = [axes.axvline(time, **drawing.SHUT, zorder=2) for time in times]
    return {"valves shut": lines[0]} if lines else {}


def _numbers(axes: Axes, result: SettleResult, clock: float) -> None:
    """Numbers of the points above their last window, dropped where they would run into each other."""
    top = axes.secondary_xaxis("top")
    stops = ends(result)
    places: list[float] = []
    labels: list[str] = []
    for p, end in zip(result.points, stops, strict=True):
        place = (end - 0.5 * p.window_s) / clock
        if not places or place - places[-1] >= 0.025 * stops[-1] / clock:
            places.append(place)
            labels.append(str(p.number))
    top.set_xticks(places, labels)
    top.tick_params(length=0, pad=1, labelsize=7.5)
