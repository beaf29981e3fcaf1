"""The same table in at most K dwells: rounded up, one for each stretch of pressure in a direction.

Exact: dynamic programming over the points of each direction in order of pressure, then over how the K dwells
are shared between the directions. The rounding is common practice, no source.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

BOTH = "both"

Plan = tuple[float, tuple[tuple[int, int], ...]]
"""extra time [s] and the cuts (first, last)"""

STEPS = ((10.0, 1.0), (60.0, 5.0), (300.0, 10.0), (math.inf, 30.0))
"""dwells up to the first number [s] are rounded up to a whole multiple of the second [s]"""
DECIMALS = 9
"""of costs [s], so that what is equal but for the order of a sum ties, and the fewest dwells win"""


@dataclass(frozen=True)
class Need:
    """What one point asks for: number, direction, target [Pa], dwell [s], longest dwell allowed [s] (inf: any)."""

    number: int
    direction: str
    target_Pa: float
    dwell_s: float
    most_s: float = math.inf


@dataclass(frozen=True)
class Stretch:
    """Points of one direction, neighbours in pressure, with one dwell [s]; `points` are positions in the list."""

    direction: str
    dwell_s: float
    points: tuple[int, ...]


def round_up(dwell: float) -> float:
    """The next dwell [s] that one would write into a procedure; 0 stays 0."""
    for limit, step in STEPS:
        rounded = math.ceil(dwell / step - 1e-9) * step
        if rounded <= limit:
            return max(rounded, 0.0)
    raise ValueError(f"dwell(={dwell}) must be finite.")


def _costs(needs: list[Need]) -> Callable[[int, int], tuple[float, float]]:
    """(cost, dwell) of giving the neighbours first..last one dwell; cost is inf where one of them cannot wait."""

    @cache
    def cost(first: int, last: int) -> tuple[float, float]:
        part = needs[first : last + 1]
        dwell = round_up(max(n.dwell_s for n in part))
        if any(dwell > n.most_s for n in part):
            return math.inf, dwell
        return sum(dwell - n.dwell_s for n in part), dwell

    return cost


def _best(needs: list[Need], most: int) -> list[Plan]:
    """For 0..most dwells the least extra time [s] and the cuts of one direction's points."""
    count, cost = len(needs), _costs(needs)
    none: Plan = (math.inf, ())
    table = [[none] * (count + 1) for _ in range(most + 1)]
    table[0][0] = (0.0, ())
    for k in range(1, most + 1):
        table[k][0] = (0.0, ())
        for end in range(1, count + 1):
            choices = [table[k - 1][end]]
            for first in range(end):
                if first > 0 and needs[first].target_Pa == needs[first - 1].target_Pa:
                    continue  # one pressure, one dwell
                before, cuts = table[k - 1][first]
                choices.append((before + cost(first, end - 1)[0], (*cuts, (first, end - 1))))
            table[k][end] = min(choices, key=lambda c: (round(c[0], DECIMALS), len(c[1])))
    return [row[count] for row in table]


def by_direction(needs: list[Need]) -> dict[str, list[Need]]:
    """The points of each direction in order of pressure; equal pressures stay neighbours."""
    out: dict[str, list[Need]] = {}
    for need in needs:
        out.setdefault(need.direction, []).append(need)
    return {d: sorted(group, key=lambda n: (n.target_Pa, n.number)) for d, group in out.items()}


def _plan(needs: list[Need], most: int) -> tuple[tuple[Stretch, ...], float] | None:
    """The best stretches with every direction on its own, and their extra time [s]; None if it cannot be done."""
    directions = by_direction(needs)
    plans: dict[int, tuple[float, tuple[Stretch, ...]]] = {0: (0.0, ())}
    for name, part in directions.items():
        cost = _costs(part)
        longer: dict[int, tuple[float, tuple[Stretch, ...]]] = {}
        for extra, cuts in _best(part, most)[1:]:
            stretches = tuple(
                Stretch(name, cost(first, last)[1], tuple(n.number for n in part[first : last + 1]))
                for first, last in cuts
            )
            for used, (before, plan) in plans.items():
                total, together = used + len(cuts), before + extra
                if total <= most and together < math.inf and (total not in longer or together < longer[total][0]):
                    longer[total] = (together, plan + stretches)
        plans = longer  # of all plans with the same number of dwells only the quickest can be part of the answer
    if not plans:
        return None
    extra, plan = min(plans.values(), key=lambda p: (round(p[0], DECIMALS), len(p[1])))
    return plan, extra


def group(needs: list[Need], most: int) -> tuple[tuple[Stretch, ...], float] | None:
    """At most `most` dwells with the least total time, and the time [s] they cost beyond point by point.

    Every stretch is of one direction; only where `most` is too small for that both directions share a dwell, which
    then stands once for each. None when no choice of dwells suits: a point that cannot wait as long as its neighbour
    must.
    """
    found = _plan(needs, most)
    if found is not None:
        return merged(found[0]), found[1]
    if most >= len(by_direction(needs)):
        return None
    together = _plan([replace(n, direction=BOTH) for n in needs], most)
    if together is None:
        return None
    stretches = [s for shared in merged(together[0]) for s in _by_direction(shared, needs)]
    return tuple(stretches), together[1]


def merged(stretches: tuple[Stretch, ...]) -> tuple[Stretch, ...]:
    """Neighbours of one direction with the same dwell as one stretch."""
    out: list[Stretch] = []
    for one in stretches:
        if out and (out[-1].direction, out[-1].dwell_s) == (one.direction, one.dwell_s):
            one = replace(one, points=out.pop().points + one.points)
        out.append(one)
    return tuple(out)


def _by_direction(shared: Stretch, needs: list[Need]) -> list[Stretch]:
    """A stretch of both directions as one for each."""
    direction = {n.number: n.direction for n in needs}
    names = dict.fromkeys(direction[number] for number in shared.points)
    return [Stretch(name, shared.dwell_s, tuple(n for n in shared.points if direction[n] == name)) for name in names]
