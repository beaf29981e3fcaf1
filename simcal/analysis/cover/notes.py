"""What is said beside the answer to `cover`."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.cover.budget import Budget
from simcal.analysis.cover.choose import Need
from simcal.analysis.cover.dwell import Left
from simcal.analysis.cover.result import Plan
from simcal.bench.lab import BENCH, Lab

Mask = NDArray[np.bool_]


def notes(
    lab: Lab, whole: Budget, serves: Mask, left: Mapping[str, Left], plan: Plan, needs: Sequence[Need]
) -> Iterator[str]:
    """One line each."""
    hopeless = sum(0 in need for need in needs)
    if hopeless:
        yield f"{hopeless} of {len(needs)} kinds of instrument could not be covered by all sensors together"
    if not plan.proved:
        how = "of unknown worth" if plan.gap is None else f"within {100.0 * plan.gap:.3g} % of the best bound"
        yield f"the search was stopped: the set is {how}, not proved the best"
    if lab.prior is None:
        yield "no [prior] is stated: every risk is the largest that any share in tolerance could give, the worst case"
    idle = [name for k, (name, one) in enumerate(lab.sensors.items()) if one.owned and not serves[:, k].any()]
    if idle:
        yield f"owned, but serves no point of this work by the rule: {', '.join(idle)}"
    if lab.benches:
        without = [name for name, one in left.items() if one.bench is None]
        if without:
            few = ", ".join(without[:4]) + (f" and {len(without) - 4} more" if len(without) > 4 else "")
            yield f"no bench of this LAB reaches all points of {few}: what the dwell leaves there is as stated"
    if bool((whole.vent & whole.held).any()):
        yield "0 gauge is served by the vent: the room is its own reference there, no sensor counts"
    if lab.rule.uncertainty == BENCH and bool((whole.device > 0.0).any()):
        yield "the rule looks at the bench alone; the ratio with the device's own share stands beside it"
