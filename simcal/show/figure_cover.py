"""The map: pressure against sensors, what each could serve, what it reads, and below them what nobody serves."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from simcal.analysis.cover.result import NONE, VENT, CoverResult, InstrumentCover, PointCover, SensorUse
from simcal.bench.lab import Lab
from simcal.show import cover_words as cw
from simcal.show import drawing, words

MOST = 24
"""Rows of sensors; those of the set and the owned ones come first."""
BINS = 240
"""Places on a row that are told apart."""
DECADES = 5.0
"""Decades of pressure below the largest that are shown."""
LOOKS: dict[str, dict[str, Any]] = {
    "could serve": {"marker": "o", "markersize": 4.0, "markerfacecolor": "white"},
    "reads": {"marker": "o", "markersize": 4.0},
    "served by none": {"marker": "x", "markersize": 5.0, "markeredgewidth": 1.4},
}


def cover_drawing(result: CoverResult, lab: Lab, shown: Sequence[InstrumentCover]) -> drawing.Drawing:
    """Pressure as each sensor reads it, on a logarithmic axis; 0 gauge, which is the vent's, is left out."""
    w = cw.Words.of(lab, unicode=True)
    rows = _rows(result)
    left = len(result.sensors) - len(rows)
    return drawing.Drawing(
        name="map",
        title=f"Pressure against sensors: {drawing.named(result.lab, 50)}",
        description=(
            "One row a sensor, those of the set in bold first; its range as a light bar, and on it every point of the "
            "work that it could serve by the rule: filled where it is read with this sensor, open where another one "
            "reads it or none does; a cross in the row at the bottom where no sensor of the set serves it. Pressures "
            f"in {w.unit} as the sensor reads them, at the bottom as the instrument does, size only."
            + (f" {left} more sensors are left out." if left else "")
        ),
        figure=_figure(shown, rows, w),
    )


def _rows(result: CoverResult) -> list[SensorUse]:
    order = sorted(result.sensors, key=lambda one: (not one.chosen, not one.owned, -one.serves))
    return sorted(order[:MOST], key=lambda one: (not one.chosen, one.high_Pa, one.name))


def _figure(shown: Sequence[InstrumentCover], rows: Sequence[SensorUse], w: cw.Words) -> drawing.Figure:
    points = [p for one in shown for p in one.points if p.mode != VENT]
    found = _found(rows, points, w)
    every = [at for marks in found.values() for _, at in marks]
    highest = max([*every, *[row.high_Pa / words.PRESSURE_UNITS[w.unit] for row in rows]])
    lowest = max(min(every, default=highest / 100.0) / 2.0, highest * 10.0**-DECADES)
    with drawing.style():
        figure = drawing.blank(1.3 + 0.24 * (len(rows) + 1))
        axes = figure.subplots()
        axes.set_xscale("log")
        axes.set_xlim(lowest, highest * 1.25)
        handles = _bars(axes, rows, lowest, w)
        handles |= _marks(axes, found)
        names = [drawing.named(row.name) + (" (owned)" if row.owned else "") for row in rows]
        axes.set_yticks(range(len(rows) + 1), [*names, "none of the set"])
        for label, row in zip(axes.get_yticklabels(), rows, strict=False):
            label.set_fontweight("bold" if row.chosen else "normal")
        axes.set_ylim(len(rows) + 0.6, -0.6)
        axes.grid(visible=False, axis="y")
        axes.set_axisbelow(True)
        axes.xaxis.set_major_formatter(lambda value, _: drawing.tick(value))
        axes.set_xlabel(f"pressure, {w.unit}")
        drawing.legend(figure, list(handles.values()), list(handles))
        return drawing.finish(figure)


def _bars(axes: Axes, rows: Sequence[SensorUse], lowest: float, w: cw.Words) -> dict[str, Any]:
    """The range of each sensor, dark-edged when it is of the set."""
    handles: dict[str, Any] = {}
    for number, row in enumerate(rows):
        high = row.high_Pa / words.PRESSURE_UNITS[w.unit]
        bar = axes.barh(
            number, high - lowest, left=lowest, height=0.62,
            color="0.86" if row.chosen else "0.95", edgecolor="0.2" if row.chosen else "0.75", linewidth=0.8,
        )  # fmt: skip
        handles.setdefault("range, of the set" if row.chosen else "range, not of the set", bar)
    return handles


def _found(rows: Sequence[SensorUse], points: Sequence[PointCover], w: cw.Words) -> dict[str, list[tuple[int, float]]]:
    """What is marked -> (row, pressure in the answer's unit above 0)."""
    number = {row.name: i for i, row in enumerate(rows)}
    unit = words.PRESSURE_UNITS[w.unit]

    def at(name: str, p: PointCover) -> tuple[int, float]:
        zero = w.barometer_Pa if rows[number[name]].gauge else 0.0
        return number[name], abs(p.pressure_Pa - zero) / unit

    found = {
        "could serve": [at(name, p) for p in points for name in p.able if name in number and name != p.sensor],
        "reads": [at(p.sensor, p) for p in points if p.sensor in number],
        "served by none": [(len(rows), abs(p.stated_Pa) / unit) for p in points if p.mode == NONE],
    }
    return {name: [one for one in marks if one[1] > 0.0] for name, marks in found.items()}


def _marks(axes: Axes, found: Mapping[str, Sequence[tuple[int, float]]]) -> dict[str, Any]:
    """The points of the work: one mark at most for each place of a row."""
    handles: dict[str, Any] = {}
    for name, marks in found.items():
        thin = sorted({(row, round(float(np.log10(at)) * BINS / DECADES)): at for row, at in marks}.items())
        if thin:
            xs, ys = [at for _, at in thin], [row for (row, _), _ in thin]
            handles[name] = axes.plot(xs, ys, linestyle="none", color=drawing.BLACK, **LOOKS[name])[0]
    return handles
