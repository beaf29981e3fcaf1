"""Which sensors to have: the cheapest set that covers all, or the one that covers most, by integer programming.

A need is what one instrument asks: for each of its points a set of sensors, written as the bits of a number, of which
one must be chosen. Of sets that are equally good the one with fewest sensors counts, then the one listed first.

Source: set covering and maximal covering as integer programmes; solved by scipy.optimize.milp (HiGHS, branch and cut).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_array

Array = NDArray[np.float64]
Need = frozenset[int]

LONGEST_S = 120.0
"""Longest time given to one programme; then the best set found counts, with its gap."""
NO_GAP = 1e-9
_WHOLE = 0.5


@dataclass(frozen=True)
class Choice:
    """Numbers of the chosen sensors, and whether that was proved the best; gap: relative, to the best bound."""

    sensors: tuple[int, ...]
    proved: bool
    gap: float


def need_of(masks: Iterable[int]) -> Need:
    """The sets of sensors that an instrument's points ask for, without those that another one implies."""
    different = sorted(set(masks), key=lambda mask: (mask.bit_count(), mask))
    least: list[int] = []
    for mask in different:
        if not any(one & mask == one for one in least):
            least.append(mask)
    return frozenset(least)


def met(need: Need, chosen: int) -> bool:
    """Whether the sensors with the bits of `chosen` serve every point of a need."""
    return all(mask & chosen for mask in need)


def merged(needs: Sequence[Need], weights: Sequence[float]) -> dict[Need, float]:
    """Different needs with the sum of their weights, in the order of their first."""
    found: dict[Need, float] = {}
    for need, weight in zip(needs, weights, strict=True):
        found[need] = found.get(need, 0.0) + weight
    return found


def cheapest(needs: Iterable[Need], prices: Sequence[float], places: int) -> Choice | None:
    """The cheapest set that meets every need, of at most `places` sensors; None where there is none.

    needs: none of them holds the empty set. prices: of each sensor, >= 0.
    """
    masks = need_of(mask for need in needs for mask in need)
    count = len(prices)
    rows = [(_bits(mask, count), 1.0, np.inf) for mask in sorted(masks)]
    rows.append((np.ones(count), 0.0, float(places)))
    price = _scaled(prices)
    return _lexicographic(rows, [price, np.ones(count), _order(count)], count, count)


def most(weights: Mapping[Need, float], prices: Sequence[float], places: int, budget: float | None = None) -> Choice:
    """The set that meets needs of the largest total weight, of at most `places` sensors that cost at most `budget`.

    Of such sets the cheapest. weights: need -> weight > 0; a need with the empty set is left out.
    """
    asked = {need: weight for need, weight in weights.items() if 0 not in need and weight > 0.0}
    count = len(prices)
    width = count + len(asked)
    price = _wide(_scaled(prices), width)
    rows = [(_wide(np.ones(count), width), 0.0, float(places))]
    if budget is not None:
        rows.append((price, 0.0, budget * _factor(prices) * (1.0 + NO_GAP)))
    gain = np.zeros(width)
    for number, (need, weight) in enumerate(asked.items(), start=count):
        gain[number] = -weight
        for mask in sorted(need):
            row = _wide(_bits(mask, count), width)
            row[number] = -1.0
            rows.append((row, 0.0, np.inf))
    aims = [gain, price, _wide(np.ones(count), width), _wide(_order(count), width)]
    found = _lexicographic(rows, aims, count, width)
    assert found is not None  # the empty set is always allowed
    return found


def _lexicographic(
    rows: list[tuple[Array, float, float]], aims: Sequence[Array], count: int, width: int
) -> Choice | None:
    """The smallest first aim, then of those the smallest second, and so on; the first one's gap is told."""
    rows = list(rows)
    proved, gap, best = True, 0.0, None
    for number, aim in enumerate(aims):
        found = _solved(aim, rows, count, width)
        if found.x is None:
            break
        best = found.x
        if number == 0:
            gap = float(found.mip_gap or 0.0)
            proved = found.status == 0 and gap <= NO_GAP
        value = float(aim @ best)
        rows.append((aim, -np.inf, value + NO_GAP * max(1.0, abs(value))))
    if best is None:
        return None
    return Choice(tuple(int(i) for i in np.flatnonzero(best[:count] > _WHOLE)), proved, gap)


def _solved(aim: Array, rows: Sequence[tuple[Array, float, float]], count: int, width: int) -> OptimizeResult:
    matrix = csr_array(np.stack([row for row, _, _ in rows]))
    whole = np.concatenate([np.ones(count), np.zeros(width - count)])  # what is met follows from what is chosen
    return milp(
        aim,
        constraints=LinearConstraint(matrix, [low for _, low, _ in rows], [high for _, _, high in rows]),
        integrality=whole,
        bounds=Bounds(0.0, 1.0),
        options={"time_limit": LONGEST_S, "mip_rel_gap": 0.0},
    )


def _factor(prices: Sequence[float]) -> float:
    """What brings the highest price to a thousand, so that the solver's tolerances mean the same in every currency."""
    highest = max(prices, default=0.0)
    return 1e3 / highest if highest > 0.0 else 1.0


def _scaled(prices: Sequence[float]) -> Array:
    return np.asarray(prices, dtype=np.float64) * _factor(prices)


def _bits(mask: int, count: int) -> Array:
    return np.array([float(mask >> i & 1) for i in range(count)])


def _wide(values: Sequence[float] | Array, width: int) -> Array:
    row = np.zeros(width)
    row[: len(values)] = values
    return row


def _order(count: int) -> Array:
    return np.arange(1.0, count + 1.0)
