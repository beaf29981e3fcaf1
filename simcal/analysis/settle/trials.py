"""Many runs over the stated spreads: the band of every dwell (of every error where the dwell is given), and which
unknown widens the answer most.

Trial i draws from (seed, i) and from the key of each unknown alone, so it is the same trial whatever the number of
trials or workers. Accuracy is not drawn: it is what the calibration is to find.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle.assess import assess
from simcal.analysis.settle.point import PointRun
from simcal.analysis.settle.result import Influence, PointResult, Trials
from simcal.analysis.settle.rig import Rig, finite, gains_of, make
from simcal.analysis.settle.run import Progress, run_steps
from simcal.bench.bench import Bench
from simcal.bench.drawn import draw
from simcal.run.ensemble import Rows, Store, chunks, together
from simcal.stats.band import band
from simcal.stats.shares import shares
from simcal.stats.streams import generator, probability

SHARE = 0.90
"""of the trials inside the band"""


@dataclass(frozen=True)
class Trial:
    """What one trial drew and found; inf where a point was not reached."""

    drawn: Mapping[str, float]
    dwell_s: tuple[float, ...]  # by point
    total_s: float  # inf where any point was not reached
    error_Pa: tuple[Mapping[str, float], ...] = ()  # by point and device, where the dwell is given
    used: float | None = None  # largest share of an allowance in the run, where the dwell is given


def _with_noise(bench: Bench, sequence: str) -> Bench:
    """Noise enters the simulated loop in trials."""
    asked = replace(bench.sequences[sequence], noise=True)
    return replace(bench, sequences={**bench.sequences, sequence: asked})


def loop_seed(seed: int, trial: int) -> int:
    """Seed of the noise inside the loop of one trial, 0 to 2^53."""
    return int(probability(generator(seed, trial, "loop noise")) * 2.0**53)


def run_trials(
    rig: Rig, count: int, seed: int, workers: int | None = None, dwell_s: float | None = None,
    progress: Progress | None = None, store: Store | None = None,
) -> list[Trial]:  # fmt: skip
    """`count` trials of the rig's run, in their order; gains that were tuned stay those of the nominal bench.

    dwell_s : given at every point; None: until ready. store: keeps what is done of an unfinished run.
    """
    noisy = _with_noise(rig.bench, rig.sequence_name)
    gains = gains_of(rig.system) if rig.bench.controller.tuning else None

    def one(trial: int) -> Trial:
        bench, drawn = draw(noisy, seed, trial)
        own = make(bench, rig.sequence_name, rig.device_name, rig.waited_for, gains)
        if dwell_s is not None:
            return _with_dwell(own, drawn, loop_seed(seed, trial), dwell_s)
        run = run_steps(own, loop_seed(seed, trial), keep=False)
        found = [np.inf] * _count(own)
        for i, point in enumerate(run.points):
            if point.window is not None:
                found[i] = (point.window - (point.arrival or 0)) * own.period
        return Trial(drawn, tuple(found), run.total_s if np.isfinite(found).all() else np.inf)

    keys = sorted(rig.bench.spreads)
    rows = together(
        chunks(lambda i: _row(one(i), keys, list(rig.bench.devices)), count, store=store, workers=workers,
               progress=progress)
    )  # fmt: skip
    return _trials(rows, count, keys, list(rig.bench.devices))


def _row(trial: Trial, keys: list[str], devices: list[str]) -> dict[str, list[float] | list[list[float]] | float]:
    """A trial as numbers; nan stands for what there is not."""
    return {
        "drawn": [trial.drawn[key] for key in keys],
        "dwell": list(trial.dwell_s),
        "total": trial.total_s,
        "error": [[errors.get(name, np.nan) for name in devices] for errors in trial.error_Pa],
        "used": np.nan if trial.used is None else trial.used,
    }


def _trials(rows: Rows, count: int, keys: list[str], devices: list[str]) -> list[Trial]:
    """The trials of an ensemble's rows."""
    return [
        Trial(
            drawn=dict(zip(keys, rows["drawn"][i].tolist(), strict=True)),
            dwell_s=tuple(rows["dwell"][i].tolist()),
            total_s=float(rows["total"][i]),
            error_Pa=tuple(
                {name: e for name, e in zip(devices, point, strict=True) if not np.isnan(e)}
                for point in rows["error"][i].tolist()
            ),
            used=None if np.isnan(rows["used"][i]) else float(rows["used"][i]),
        )
        for i in range(count)
    ]


def _count(rig: Rig) -> int:
    """Points of the sequence, preloads apart."""
    return sum(not step.preload for step in rig.steps)


def _with_dwell(rig: Rig, drawn: Mapping[str, float], seed: int, dwell_s: float) -> Trial:
    """One trial of the reverse question: every point is judged by what is left after the dwell."""
    points: list[PointResult] = []

    def look(point: PointRun) -> None:
        points.append(assess(rig, point, dwell_s))

    run = run_steps(rig, seed, lambda _number: dwell_s, keep=False, look=look)
    dwells = [p.dwell_s if p.reached and p.dwell_s is not None else np.inf for p in points]
    dwells += [np.inf] * (_count(rig) - len(points))
    errors = [
        {d.name: d.error_at_reading_Pa for d in p.devices.values() if d.error_at_reading_Pa is not None}
        if p.dwell_s is not None
        else {}
        for p in points
    ]
    errors += [{}] * (_count(rig) - len(points))
    there = all(errors)
    used = max((largest_share(p) for p in points), default=np.inf) if there else np.inf
    return Trial(drawn, tuple(dwells), run.total_s if np.isfinite(dwells).all() else np.inf, tuple(errors), used)


def largest_share(point: PointResult) -> float:
    """Largest share of its allowance that the difference and the random part take of any device in the window."""
    used = [
        (np.inf if d.largest_Pa is None else d.largest_Pa) / d.allowance_Pa
        for d in point.devices.values()
        if d.error_at_reading_Pa is not None
    ]
    return float(max(used, default=0.0))


def summary(trials: list[Trial]) -> Trials:
    """Bands and shares of a list of trials."""
    dwells = np.array([t.dwell_s for t in trials])
    missed = ~np.isfinite(dwells).all(axis=1)
    totals = band([t.total_s for t in trials], SHARE)
    inputs = {key: [t.drawn[key] for t in trials] for key in trials[0].drawn}
    answers = [float(np.sum(t.dwell_s)) if t.used is None else t.used for t in trials]
    found = shares(inputs, answers) if inputs else ()
    return Trials(
        count=len(trials),
        total_low_s=finite(totals.low),
        total_high_s=finite(totals.high),
        not_reached=int(missed.sum()),
        sensitivity=tuple(Influence(one.name, one.share) for one in found if one.stands_out),
        dwell_s=np.where(np.isfinite(dwells), dwells, np.nan),
    )


def with_bands(points: tuple[PointResult, ...], trials: list[Trial]) -> tuple[PointResult, ...]:
    """The points with the 90 % band of their dwells, or of their errors where the dwell is given.

    An end is None where it lies among trials that never got there.
    """
    dwells: NDArray[np.float64] = np.array([t.dwell_s for t in trials])
    out = []
    for i, point in enumerate(points):
        reached = float(np.isfinite(dwells[:, i]).mean())
        if trials[0].used is None:
            ends = band(dwells[:, i], SHARE)
            low, high = (None if finite(v) is None else round(v, 9) for v in (ends.low, ends.high))
            point = replace(point, dwell_low_s=low, dwell_high_s=high)
        else:
            low, high = _error_band([t.error_Pa[i].get(point.device) for t in trials])
            point = replace(point, error_low_Pa=low, error_high_Pa=high)
        out.append(replace(point, dwell_reached_share=reached))
    return tuple(out)


def _error_band(errors: list[float | None]) -> tuple[float | None, float | None]:
    """The band of errors, Pa; a trial that never got there may have had any error, so it counts at both ends."""
    low = band([-np.inf if e is None else e for e in errors], SHARE).low
    high = band([np.inf if e is None else e for e in errors], SHARE).high
    return finite(low), finite(high)
