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

LONGEST_S = 60.0
"""Longest time given to one programme; then the best set found counts, with its gap."""
NO_GAP = 1e-9
_WHOLE = 0.5


@dataclass(frozen=True)
class Choice:
    """Numbers of the chosen sensors, and whether that was proved the best.

    gap: relative distance to the best bound, 0 when proved, None where no bound is known.
    """

    sensors: tuple[int, ...]
    proved: bool
    gap: float | None


@dataclass(frozen=True)
class _Row:
    """low <= sum of values x the unknowns at `columns` <= high."""

    columns: Sequence[int]
    values: Sequence[float] | Array
    low: float
    high: float


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
    rows = [_one_of(mask, ()) for mask in sorted(masks)]
    rows.append(_Row(range(count), np.ones(count), 0.0, float(places)))
    return _lexicographic(rows, [_scaled(prices), np.ones(count), _order(count)], count, count)


def most(weights: Mapping[Need, float], prices: Sequence[float], places: int, budget: float | None = None) -> Choice:
    """The set that meets needs of the largest total weight, of at most `places` sensors that cost at most `budget`.

    Of such sets the cheapest. weights: need -> weight > 0; a need with the empty set is left out.
    """
    asked = {need: weight for need, weight in weights.items() if 0 not in need and weight > 0.0}
    count = len(prices)
    rows = [_Row(range(count), np.ones(count), 0.0, float(places))]
    if budget is not None:
        rows.append(_Row(range(count), _scaled(prices), 0.0, budget * _factor(prices) * (1.0 + NO_GAP)))
    for number, need in enumerate(asked, start=count):
        rows += [_one_of(mask, (number,)) for mask in sorted(need)]
    gain = np.concatenate([np.zeros(count), -np.array(list(asked.values()), dtype=np.float64)])
    rest = np.zeros(len(asked))
    aims = [gain, *[np.append(aim, rest) for aim in (_scaled(prices), np.ones(count), _order(count))]]
    return _lexicographic(rows, aims, count, count + len(asked)) or Choice((), False, None)


def _one_of(mask: int, met: Sequence[int]) -> _Row:
    """One sensor of the mask at least; or, where `met` names an unknown, that one is at most their sum."""
    columns = [i for i in range(mask.bit_length()) if mask >> i & 1]
    least = 0.0 if met else 1.0
    return _Row([*columns, *met], [1.0] * len(columns) + [-1.0] * len(met), least, np.inf)


def _lexicographic(rows: Sequence[_Row], aims: Sequence[Array], count: int, width: int) -> Choice | None:
    """The smallest first aim, then of those the smallest second, and so on; the first one's gap is told."""
    rows = list(rows)
    proved, gap, best = True, 0.0, None
    for number, aim in enumerate(aims):
        found = _solved(aim, rows, count, width)
        if found.x is None:
            break
        best = found.x
        if number == 0:
            proved = found.status == 0
            gap = 0.0 if proved else found.mip_gap
        value = float(aim @ best)
        rows.append(_Row(range(width), aim, -np.inf, value + NO_GAP * max(1.0, abs(value))))
    if best is None:
        return None
    known = float(gap) if gap is not None and np.isfinite(gap) else None
    return Choice(tuple(int(i) for i in np.flatnonzero(best[:count] > _WHOLE)), proved, known)


def _solved(aim: Array, rows: Sequence[_Row], count: int, width: int) -> OptimizeResult:
    starts = np.cumsum([0, *[len(row.columns) for row in rows]])
    columns = np.concatenate([np.asarray(row.columns, dtype=np.int64) for row in rows])
    values = np.concatenate([np.asarray(row.values, dtype=np.float64) for row in rows])
    matrix = csr_array((values, columns, starts), shape=(len(rows), width))
    whole = np.concatenate([np.ones(count), np.zeros(width - count)])  # what is met follows from what is chosen
    return milp(
        aim,
        constraints=LinearConstraint(matrix, [row.low for row in rows], [row.high for row in rows]),
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


def _order(count: int) -> Array:
    return np.arange(1.0, count + 1.0)
