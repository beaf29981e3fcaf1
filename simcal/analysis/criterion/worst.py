"""The bench that is nearest to a wrong decision, and which of its values makes it so."""

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.criterion.result import Worst
from simcal.analysis.criterion.search import Candidate
from simcal.analysis.criterion.setup import Setup
from simcal.analysis.criterion.verify import Checked
from simcal.stats.shares import leading, shares

Vector = NDArray[np.float64]


def worst(own: Setup, at: Candidate, fresh: Checked) -> Worst | None:
    """Of the fresh benches; None without a spread of the bench."""
    keys = sorted(own.bench.spreads)
    if not keys:
        return None
    good, bad = (fresh.change[:, int(np.argmin(np.abs(fresh.levels - q)))] for q in (own.asked.healthy_share(), 1.0))
    false_alarm, left = at.limit - good, bad - at.limit
    side = good if false_alarm.min() <= left.min() else bad
    b = int(np.argmin(np.minimum(false_alarm, left)))
    found = leading(shares({key: fresh.shares[:, k] for k, key in enumerate(keys)}, side))
    place = keys.index(found.name) if found is not None else None
    return Worst(
        false_alarm=float(fresh.failing(own.asked.healthy_share())[b]),
        miss=float(1.0 - fresh.failing(1.0)[b]),
        drawn=dict(zip(keys, fresh.values[b].tolist(), strict=True)),
        cause=None if found is None else found.name,
        cause_share=None if found is None else found.share,
        cause_value=None if place is None else float(fresh.values[b, place]),
        cause_stated=None if found is None else float(own.bench.value(found.name)),
    )


def leading_key(one: Setup, change: Vector, drawn: NDArray[np.float64]) -> str | None:
    """The key that moves a change [b] most between benches; drawn: shares of the spreads [b, key]."""
    keys = sorted(one.bench.spreads)
    found = leading(shares({key: drawn[:, k] for k, key in enumerate(keys)}, change))
    return None if found is None else found.name
