"""A simulated hold: what the logger shows, and below it what the change is made of."""

import numpy as np

from simcal.analysis.hold.result import PARTS, HoldResult
from simcal.bench.bench import Bench
from simcal.show import drawing, words
from simcal.show.figure_run import clock_of

READING = {"color": "0.55", "linestyle": "none", "marker": ".", "markersize": 2.0}


def hold_drawing(result: HoldResult, bench: Bench) -> drawing.Drawing:
    """The record against time with the watch marked, and the parts of the change as bars."""
    plan = result.plan
    return drawing.Drawing(
        name="hold",
        title=f"Hold of {words.duration(plan.watch_s)} from {plan.direction}, simulated",
        description=(
            "Upper panel: the reading and the true pressure, each less its value at the start of the watch, in Pa, "
            "from the last part of the soak on; the grey column is the watch, the broken line the moment the valves "
            "shut. "
            "Lower panel: what the reading's change over the watch is made of: "
            + ", ".join(f"{part} {words.figures(result.truth.parts_Pa[part])} Pa" for part in PARTS)
            + "."
        ),
        figure=_figure(result, bench),
    )


def _figure(result: HoldResult, bench: Bench) -> drawing.Figure:
    rows, truth = result.rows, result.truth
    with drawing.style():
        figure = drawing.blank(4.4)
        upper, lower = figure.subplots(2, 1, height_ratios=[3, 1.3])
        clock, name = clock_of(float(rows.time_s[-1]))
        start = int(np.searchsorted(rows.time_s, result.watch_from_s - 1e-9))
        zero = bench.room.barometer if result.reading == "gauge" else 0.0
        true = truth.pressure_Pa - zero
        upper.axvspan(result.watch_from_s / clock, result.watch_until_s / clock, facecolor="0.93", edgecolor="none")
        shut = upper.axvline(result.isolated_at_s / clock, **drawing.SHUT)
        dots = drawing.draw(upper, rows.time_s / clock, rows.pressure_Pa - rows.pressure_Pa[start], **READING)
        line = drawing.draw(upper, rows.time_s / clock, true - true[start], color=drawing.BLACK, linewidth=1.0)
        upper.set_ylabel("pressure less that at the\nstart of the watch, Pa")
        upper.set_xlabel(f"time of the record, {name}")
        upper.set_xlim(0.0, float(rows.time_s[-1]) / clock)
        values = [truth.parts_Pa[part] for part in PARTS]
        lower.barh(range(len(PARTS)), values, color="0.75", edgecolor="0.2", height=0.6)
        lower.axvline(0.0, color="0.2", linewidth=0.8)
        lower.set_axisbelow(True)
        shown = [
            f"{part} {words.figures(value)} Pa".replace("-", "\u2212")
            for part, value in zip(PARTS, values, strict=True)
        ]
        lower.set_yticks(range(len(PARTS)), shown)
        lower.invert_yaxis()
        lower.set_xlabel("share of the change over the watch, Pa")
        drawing.legend(figure, [dots, line, shut], ["reading", "true pressure", "valves shut"])
        return drawing.finish(figure)
