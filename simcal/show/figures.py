"""The figures of an answer, in the order in which they are shown."""

from simcal.analysis.settle.result import SettleResult
from simcal.show.drawing import Drawing, png, svg
from simcal.show.figure_point import point_drawing
from simcal.show.figure_range import dwell_drawing, margins_drawing
from simcal.show.figure_run import run_drawing
from simcal.show.scales import Setting, scales

__all__ = ["Drawing", "png", "settle_drawings", "svg"]


def settle_drawings(result: SettleResult, setting: Setting | None = None) -> tuple[Drawing, ...]:
    """The run, the point with the longest dwell, the dwell over the points, the loop's margins.

    A figure whose data the result does not carry is left out. Each holds a matplotlib `Figure` that
    belongs to the caller: nothing is registered with pyplot, and no setting of matplotlib stays changed.
    """
    units = scales(result, setting or Setting())
    made = (
        run_drawing(result, units),
        dwell_drawing(result, units),
        point_drawing(result, units),
        margins_drawing(result, units),
    )
    return tuple(drawing for drawing in made if drawing is not None)
