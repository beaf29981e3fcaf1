"""The chosen set against every set there is; the route against every route."""

import itertools
import random

import numpy as np
import pytest

from simcal.analysis.cover.choose import cheapest, merged, met, most, need_of
from simcal.analysis.cover.route import route


def drawn(draw, sensors, instruments, hardest=3):
    """Needs of random instruments, none of them hopeless."""
    some = (1 << sensors) - 1

    def mask():
        return draw.randint(1, some) & draw.randint(1, some) or 1 << draw.randrange(sensors)

    return [need_of(mask() for _ in range(draw.randint(1, hardest))) for _ in range(instruments)]


def sets_of(sensors, places):
    for size in range(places + 1):
        yield from itertools.combinations(range(sensors), size)


def bits(chosen):
    return sum(1 << k for k in chosen)


@pytest.mark.parametrize("seed", range(25))
def test_the_cheapest_set_is_the_best_of_all_sets(seed):
    draw = random.Random(seed)
    sensors, places = draw.randint(3, 8), draw.randint(1, 4)
    needs = drawn(draw, sensors, draw.randint(1, 10))
    prices = [draw.choice((0.0, 4000.0, draw.randint(1, 9000))) for _ in range(sensors)]
    good = [s for s in sets_of(sensors, places) if all(met(need, bits(s)) for need in needs)]
    found = cheapest(needs, prices, places)
    if not good:
        assert found is None
        return
    best = min((sum(prices[k] for k in s), len(s), sum(s)) for s in good)
    assert found.proved
    assert found.gap == 0.0
    assert found.sensors in good
    assert (sum(prices[k] for k in found.sensors), len(found.sensors), sum(found.sensors)) == pytest.approx(best)


@pytest.mark.parametrize("seed", range(25))
def test_the_most_for_a_budget_is_the_best_of_all_sets(seed):
    draw = random.Random(100 + seed)
    sensors, places = draw.randint(3, 8), draw.randint(1, 4)
    needs = drawn(draw, sensors, draw.randint(1, 10))
    weights = [float(draw.choice((1, 1, 5, draw.randint(1, 60)))) for _ in needs]
    prices = [float(draw.choice((0, 4000, draw.randint(1, 9000)))) for _ in range(sensors)]
    budget = draw.choice((None, 0.0, 4000.0, 9000.0))

    def worth(s):
        return sum(w for need, w in zip(needs, weights, strict=True) if met(need, bits(s)))

    def cost(s):
        return sum(prices[k] for k in s)

    allowed = [s for s in sets_of(sensors, places) if budget is None or cost(s) <= budget]
    best = max((worth(s), -cost(s), -len(s)) for s in allowed)
    found = most(merged(needs, weights), prices, places, budget)
    assert found.proved
    assert found.sensors in allowed
    assert (worth(found.sensors), -cost(found.sensors), -len(found.sensors)) == pytest.approx(best)


def test_a_need_keeps_what_asks_most():
    assert need_of([0b111, 0b011, 0b110, 0b011]) == frozenset({0b011, 0b110})
    assert need_of([]) == frozenset()
    assert met(frozenset(), 0)
    assert not met(frozenset({0}), 0b111)


@pytest.mark.parametrize("seed", range(30))
def test_the_route_has_the_fewest_switches_and_of_those_the_best_ratios(seed):
    draw = random.Random(seed)
    points, sensors = draw.randint(1, 6), draw.randint(1, 4)
    serves = np.array([[draw.random() < 0.6 for _ in range(sensors)] for _ in range(points)])
    ratio = np.array([[draw.uniform(4.0, 20.0) for _ in range(sensors)] for _ in range(points)])
    free = np.array([draw.random() < 0.2 for _ in range(points)])
    needed = [p for p in range(points) if not free[p] and serves[p].any()]
    chosen, switches = route(serves, ratio, free)
    assert [k is not None for k in chosen] == [p in needed for p in range(points)]
    ways = itertools.product(*[np.flatnonzero(serves[p]).tolist() for p in needed])

    def price(way):
        turns = sum(a != b for a, b in itertools.pairwise(way))
        return turns, sum(1.0 / ratio[p, k] for p, k in zip(needed, way, strict=True))

    best = min(price(way) for way in ways)
    taken = price([chosen[p] for p in needed])
    assert (switches, taken[0]) == (best[0], best[0])
    assert taken[1] == pytest.approx(best[1])
