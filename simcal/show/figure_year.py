"""A year as a band chart: what every sensor and bench did, and how many jobs waited; and uptimes side by side."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from simcal.analysis.year.fleet import AWAY, WAITS
from simcal.analysis.year.floor import DOWN, RESEAT
from simcal.analysis.year.hours import DAY
from simcal.analysis.year.model import YEAR
from simcal.analysis.year.result import YearResult
from simcal.show import drawing, words

LOOKS: dict[str, dict[str, Any]] = {
    AWAY: {"facecolor": "0.35", "edgecolor": "black"},
    WAITS: {"facecolor": "white", "edgecolor": "black", "hatch": "////"},
    DOWN: {"facecolor": "black", "edgecolor": "black"},
    RESEAT: {"facecolor": "0.75", "edgecolor": "black", "hatch": "xxxx"},
}
NAMES = {AWAY: "sensor away", WAITS: "waits for its check", DOWN: "bench failed", RESEAT: "seal renewed"}
MOST_ROWS = 30
LEAST = 0.15
"""Days that a mark is wide at least, so that it is seen"""
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_STARTS = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)


def year_drawings(result: YearResult) -> list[drawing.Drawing]:
    """The chart of the first replication's first year, and the ways compared when there are any."""
    found = [_chart(result)]
    return [*found, _compared(result)] if result.variants else found


def _chart(result: YearResult) -> drawing.Drawing:
    sensors = [f"sensor {one.name}" for one in result.sensors]
    benches = sorted({mark.row for mark in result.shown.marks} - set(sensors)) or ["bench 0"]
    rows = [*sensors, *benches][:MOST_ROWS]
    with drawing.style():
        figure = drawing.blank(min(1.9 + 0.22 * len(rows), 8.5))
        bands, line = figure.subplots(2, 1, sharex=True, height_ratios=[max(len(rows), 3), 4])
        handles: dict[str, Any] = {}
        for mark in result.shown.marks:
            if mark.row in rows and mark.end > 0.0 and mark.start < YEAR:
                start = max(mark.start, 0.0) / DAY
                width = max(min(mark.end, YEAR) / DAY - start, LEAST)
                bar = bands.barh(
                    rows.index(mark.row), width, left=start, height=0.66, linewidth=0.5, **LOOKS[mark.what]
                )
                handles.setdefault(NAMES[mark.what], bar)
        shown = [_label(row) for row in rows]
        bands.set_yticks(range(len(rows)), shown)
        bands.set_ylim(len(rows) - 0.4, -0.6)
        bands.grid(visible=False, axis="y")
        bands.set_axisbelow(True)
        times, waiting = _queue(result.shown.queue)
        handles["jobs that wait"] = drawing.draw(
            line, times, waiting, color=drawing.BLACK, linewidth=0.8, drawstyle="steps-post"
        )
        line.set_ylim(bottom=0.0)
        line.set_ylabel("jobs that\nwait")
        line.set_xlim(0.0, YEAR / DAY)
        line.set_xticks(_STARTS, MONTHS)
        drawing.legend(figure, list(handles.values()), list(handles))
        made = drawing.finish(figure)
    return drawing.Drawing(
        name="year",
        title=f"One simulated year: {drawing.named(result.lab, 50)}",
        description=(
            "One row a sensor and a bench over the months of one replication: dark where a sensor is away, hatched "
            "where it waits for its check, black where a bench has failed, crossed where a seal is renewed; marks are "
            "at least a few hours wide. Below, the number of jobs that wait for a bench or a sensor."
        ),
        figure=made,
    )


def _label(row: str) -> str:
    """A row's name: a sensor's own, a bench's number from 1 on."""
    what, name = row.split(" ", 1)
    return drawing.named(name) if what == "sensor" else f"bench {int(name) + 1}"


def _queue(steps: Sequence[tuple[float, int]]) -> tuple[np.ndarray, np.ndarray]:
    """Days and jobs that wait, within the first year."""
    inside = [(t / DAY, n) for t, n in steps if 0.0 <= t <= YEAR]
    before = [n for t, n in steps if t < 0.0]
    whole = [(0.0, before[-1] if before else 0), *inside]
    return np.array([t for t, _ in whole]), np.array([n for _, n in whole], dtype=float)


def _compared(result: YearResult) -> drawing.Drawing:
    ways = [("as it is", result.numbers["uptime"]), *[(one.label, one.uptime) for one in result.variants]]
    with drawing.style():
        figure = drawing.blank(1.1 + 0.3 * len(ways))
        axes = figure.subplots()
        handles: dict[str, Any] = {}
        for row, (_, one) in enumerate(ways):
            if one.year_low is not None and one.year_high is not None:
                bar = axes.barh(row, 100.0 * (one.year_high - one.year_low), left=100.0 * one.year_low, height=0.6,
                                color="0.86", edgecolor="0.5", linewidth=0.6)  # fmt: skip
                handles["nine years of ten"] = bar
            ends = [[100.0 * (one.mean - one.low)], [100.0 * (one.high - one.mean)]]
            handles["mean and its 95 % interval"] = axes.errorbar(
                100.0 * one.mean, row, xerr=ends, fmt="o", color=drawing.BLACK, markersize=4, capsize=3, linewidth=1.0,
            )  # fmt: skip
        if result.target is not None:
            handles["target"] = axes.axvline(100.0 * result.target, color=drawing.BLACK, linestyle=(0, (5, 3)))
        axes.use_sticky_edges = False
        axes.set_yticks(range(len(ways)), [drawing.named(label, 40) for label, _ in ways])
        axes.set_ylim(len(ways) - 0.4, -0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel("uptime, % of jobs that could start when they came")
        drawing.legend(figure, list(handles.values()), list(handles))
        made = drawing.finish(figure)
    return drawing.Drawing(
        name="compared",
        title=f"Uptime of {words.plain(result.compared or '')} compared",
        description=(
            "One row a way to run the laboratory: the mean uptime with its 95 % interval as a dot with whiskers, and "
            "the band in which nine replications of ten lie as a light bar; a dashed line marks the target where one "
            "is stated."
        ),
        figure=made,
    )
