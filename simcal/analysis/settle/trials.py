"""Many runs over the stated spreads: the band of every dwell, and which unknown widens the answer most.

Trial i draws from (seed, i) and from the key of each unknown alone, so it is the same trial whatever the number of
trials or workers. Accuracy is not drawn: it is what the calibration is to find.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle.result import Influence, PointResult, Trials
from simcal.analysis.settle.rig import Rig, gains_of, make
from simcal.analysis.settle.run import Dwells, Progress, nothing, run_steps
from simcal.bench.bench import Bench
from simcal.run.many import run_many
from simcal.stats.band import band
from simcal.stats.shares import shares
from simcal.stats.streams import generator, probability

SHARE = 0.90
"""of the trials inside the band"""


@dataclass(frozen=True)
class Trial:
    """What one trial drew and found; times by point, inf where the point was not reached."""

    drawn: Mapping[str, float]
    dwell_s: tuple[float, ...]
    total_s: float


def draw(bench: Bench, seed: int, trial: int) -> tuple[Bench, dict[str, float]]:
    """The bench of one trial, and the share of its spread that every unknown drew (0..1, exclusive).

    A share says where in its spread a value lies, so it serves for every shape.
    """
    drawn, out = {}, bench
    for key in sorted(bench.spreads):
        drawn[key] = probability(generator(seed, trial, key))
        out = out.replace(key, bench.spreads[key].at(bench.value(key), drawn[key]))
    return out, drawn


def _with_noise(bench: Bench, sequence: str) -> Bench:
    """Noise enters the simulated loop in trials."""
    asked = replace(bench.sequences[sequence], noise=True)
    return replace(bench, sequences={**bench.sequences, sequence: asked})


def loop_seed(seed: int, trial: int) -> int:
    """Seed of the noise inside the loop of one trial, 0 to 2^53."""
    return int(probability(generator(seed, trial, "loop noise")) * 2.0**53)


def run_trials(
    rig: Rig, count: int, seed: int, workers: int | None = None, dwells: Dwells = nothing,
    progress: Progress | None = None,
) -> list[Trial]:  # fmt: skip
    """`count` trials of the rig's run, in their order; gains that were tuned stay those of the nominal bench."""
    noisy = _with_noise(rig.bench, rig.sequence_name)
    gains = gains_of(rig.system) if rig.bench.controller.tuning else None

    def one(trial: int) -> Trial:
        bench, drawn = draw(noisy, seed, trial)
        own = make(bench, rig.sequence_name, rig.device_name, rig.waited_for, gains)
        run = run_steps(own, loop_seed(seed, trial), dwells, keep=False)
        found = [np.inf] * sum(not s.preload for s in own.steps)
        for i, point in enumerate(run.points):
            if point.window is not None:
                found[i] = (point.window - (point.arrival or 0)) * own.period
        return Trial(drawn, tuple(found), run.total_s)

    return run_many(one, count, workers, progress)


def summary(trials: list[Trial]) -> Trials:
    """Bands and shares of a list of trials."""
    dwells = np.array([t.dwell_s for t in trials])
    missed = ~np.isfinite(dwells).all(axis=1)
    totals = band([t.total_s for t in trials], SHARE)
    inputs = {key: [t.drawn[key] for t in trials] for key in trials[0].drawn}
    found = shares(inputs, dwells.sum(axis=1)) if inputs else ()
    return Trials(
        count=len(trials),
        total_low_s=totals.low,
        total_high_s=totals.high,
        not_reached=int(missed.sum()),
        sensitivity=tuple(Influence(one.name, one.share) for one in found if one.stands_out),
        dwell_s=np.where(np.isfinite(dwells), dwells, np.nan),
    )


def with_bands(points: tuple[PointResult, ...], trials: list[Trial]) -> tuple[PointResult, ...]:
    """The points with the 90 % band of their dwells; an end is None where it lies among trials that never got there."""
    dwells: NDArray[np.float64] = np.array([t.dwell_s for t in trials])
    out = []
    for i, point in enumerate(points):
        ends = band(dwells[:, i], SHARE)
        reached = float(np.isfinite(dwells[:, i]).mean())
        low, high = (round(float(v), 9) if np.isfinite(v) else None for v in (ends.low, ends.high))
        out.append(replace(point, dwell_low_s=low, dwell_high_s=high, dwell_reached_share=reached))
    return tuple(out)
