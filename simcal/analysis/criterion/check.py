"""How well a sum of parts stands for a whole hold: runs simulated in one piece, everything on from the start."""

from dataclasses import replace

import numpy as np

from simcal.analysis.criterion.setup import CYCLE, DIRECTION, Setup
from simcal.analysis.criterion.trace import simulate, whole, windows
from simcal.analysis.criterion.verify import coefficients, even_draws
from simcal.bench.drawn import draw


def largest_difference(setup: Setup, number: int) -> float:
    """Of one run of one bench with the permitted leak, sum against whole, of the change over the watch, Pa.

    setup: with one soak, wait and watch.
    """
    one = _on_one_side(replace(setup, asked=replace(setup.asked, runs=1)), number)
    bench, shares = draw(one.bench, one.asked.seed, number)
    drawn = simulate(one, bench, shares)
    parts = coefficients(one, number, bench.sensors[one.plans[0].sensor].drift)
    start, end = (side[:, 0, 0] for side in windows(one, drawn.signals))
    change = end - start
    summed = change[1] + sum(float(c[0]) * change[one.cases.index(case)] for case, c in parts.items())
    for key in one.per_run:
        bench = bench.replace(key, float(one.bench.value(key)) + float(parts[key][0]))
    phase = (
        2.0 * np.pi * float(even_draws(one.asked.seed, number, "runs room.cycle", 1)[0]) if CYCLE[0] in parts else 0.0
    )
    signals = np.mean([whole(one, bench, plan, phase) for plan in one.plans], axis=0)
    n, last = one.asked.readings, len(signals)
    first = round(float(one.grid.waits[0]) / one.asked.every_s)
    return float(abs(signals[last - n :].mean() - signals[first : first + n].mean() - summed))


def _on_one_side(setup: Setup, number: int) -> Setup:
    """The side from which the run comes, where it may come from either."""
    if DIRECTION not in setup.cases:
        return setup
    plan = setup.plans[int(coefficients(setup, number, 0.0)[DIRECTION][0] > 0.0)]
    asked = replace(setup.asked, direction=plan.direction)
    return replace(setup, asked=asked, plans=(plan,), cases=tuple(case for case in setup.cases if case != DIRECTION))
