"""`follow`: judging while the hold goes on, honest however often one looks.

A fixed interval looked at again and again ends up outside the truth sooner or later. Here the interval of every look is
that of the prior-posterior ratio (`stats.sequential`), which holds the truth at all looks together: one may stop at
the first look that decides. The price is a wider interval at each single look.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.judge import assemble
from simcal.analysis.judge.case import Case
from simcal.analysis.judge.infer import Inference, infer, mol_per_pascal
from simcal.analysis.judge.interval import HOPELESS_FIT, Interval, fall_interval, rate_mixture
from simcal.analysis.judge.judge import mean_pressure
from simcal.analysis.judge.judgement import UNDECIDED, verdict
from simcal.analysis.judge.posterior import LEAKS
from simcal.bench.about import About
from simcal.bench.record import Record
from simcal.errors import InputError
from simcal.stats.sequential import lasting_interval

Vector = NDArray[np.float64]

ALPHA = 0.05
"""probability that the truth is ever outside, over all looks"""
FIRST = 10.0
"""s, the shortest watch that is looked at"""


@dataclass(frozen=True)
class Look:
    """One look: the record's time it was taken at, and what then is known of the leak."""

    time_s: float
    verdict: str
    leak_mol_per_s: float
    low_mol_per_s: float
    high_mol_per_s: float
    permitted_mol_per_s: float
    fits: bool


def look(record: Record, about: About, horizon_s: float | None = None) -> Look:
    """What the rows so far say; `horizon_s` is the longest hold that is thought of (default: the present one).

    Keep `horizon_s` the same at all looks: the explanations that are weighed are those for a hold of that length.
    Raises InputError as `judge`, and where gas, capacity or the permitted leak are missing.
    """
    case, shut = assemble.case(record, about)
    limit = case.permitted
    if limit is None:
        raise InputError(about.file, "permitted_leak", "nothing to decide", "gas, capacity and permitted_leak")
    case = replace(case, horizon=horizon_s)
    inference = infer((case,))
    p_mean = mean_pressure(case)
    found = lasting(case, inference, p_mean)
    fits = inference.misfit <= HOPELESS_FIT
    ruling = verdict(found.low, found.high, limit) if fits else UNDECIDED
    return Look(shut + float(case.time[-1]), ruling, found.middle, found.low, found.high, limit, fits)


def follow(record: Record, about: About, horizon_s: float | None = None, growth: float = 1.15) -> Iterator[Look]:
    """Looks at a recorded hold as if it were still going on, each watch longer by `growth`, to the first that decides.

    The last look, at the end of the record, comes in any case when none decided before.
    """
    whole, shut = assemble.case(record, about)
    end, start = float(whole.time[-1]), whole.watch[0]
    horizon = horizon_s if horizon_s is not None else end
    watch = max(FIRST, 0.02 * (end - start))
    while start + watch < end:
        until = shut + start + watch
        if int(((record.time_s >= shut) & (record.time_s <= until) & ~record.hung()).sum()) >= 2 * assemble.FEWEST:
            found = look(record, replace(about, watch_until=until), horizon)
            yield found
            if found.verdict != UNDECIDED:
                return
        watch *= growth
    yield look(record, about, horizon)


def lasting(case: Case, inference: Inference, p_mean: float) -> Interval:
    """The interval of the rate that holds at all looks together, mol/s, widened as a single judgement's is."""
    assert case.permitted is not None
    per_pascal = mol_per_pascal(case, p_mean)
    middle = fall_interval(inference).middle
    prior_weight, prior_sd = (np.array(column) for column in zip(*LEAKS, strict=True))
    prior = prior_weight, np.zeros(len(LEAKS)), prior_sd * case.permitted
    low, high = lasting_interval(rate_mixture(case, inference, per_pascal), prior, ALPHA)
    return Interval(low, middle * per_pascal, high)
