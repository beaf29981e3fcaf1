"""Thinned traces for figures, from the recordings of the points."""

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle import parts
from simcal.analysis.settle.point import PointRun
from simcal.analysis.settle.result import PointResult, PointTrace, RunTrace
from simcal.analysis.settle.rig import Rig

Floats = NDArray[np.float64]

ROWS = 400
"""rows kept of a point"""
EARLY_SHARE = 0.6
"""of these rows, even in the logarithm of time; the others even in time"""


def thinned(count: int, rows: int = ROWS) -> NDArray[np.int64]:
    """Sample numbers that are kept of `count`: the first and the last, dense early."""
    if count <= rows:
        return np.arange(count)
    early = np.geomspace(1.0, count, int(rows * EARLY_SHARE)) - 1.0
    late = np.linspace(0.0, count - 1.0, rows - early.shape[0])
    return np.unique(np.concatenate((early, late)).round().astype(np.int64))


def zoom(rig: Rig, run: PointRun, result: PointResult) -> PointTrace:
    """One point on its own clock, thinned, up to the next command; the window's samples are all among the ends."""
    keep = thinned(min(run.end + 1, run.samples.count))
    seen = run.series(rig)
    course = seen.courses.get(result.device)
    signed = parts.courses(course, result.error_parts_Pa.get("leak", 0.0)) if course is not None else {}
    chosen = result.devices.get(result.device)
    return PointTrace(
        number=result.number,
        time_s=keep * rig.period,
        reference_Pa=seen.reference[keep],
        device_Pa={d.name: run.samples.gauge[keep, d.instrument.gauge] for d in rig.duts},
        error_Pa={name: c.difference[keep] for name, c in seen.courses.items()},
        parts_Pa={name: values[keep] for name, values in signed.items()},
        random_Pa=chosen.random_Pa if chosen is not None else 0.0,
        drive=run.samples.drive[keep],
    )


def whole(rig: Rig, runs: tuple[PointRun, ...]) -> RunTrace:
    """The run from its first command to its end, thinned point by point."""
    pieces = [(run, thinned(min(run.end + 1, run.samples.count))) for run in runs if run.samples.count]
    return RunTrace(
        time_s=_joined([np.asarray((run.start + keep) * rig.period) for run, keep in pieces]),
        setpoint_Pa=_joined([np.full(keep.shape[0], run.step.target_Pa) for run, keep in pieces]),
        reference_Pa=_joined([run.samples.gauge[keep, rig.reference.gauge] for run, keep in pieces]),
        device_Pa={
            d.name: _joined([run.samples.gauge[keep, d.instrument.gauge] for run, keep in pieces]) for d in rig.duts
        },
        drive=_joined([run.samples.drive[keep] for run, keep in pieces]),
    )


def _joined(pieces: list[Floats]) -> Floats:
    return np.concatenate(pieces) if pieces else np.empty(0)
