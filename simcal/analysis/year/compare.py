"""Other ways to run the same laboratory: more sensors, other dates, other intervals; all by the same draws."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from simcal.analysis.year.model import Model, Prices, without_work
from simcal.analysis.year.plans import search, staggered, together, with_bench, with_intervals, with_spare
from simcal.analysis.year.shop import Shop

Way = tuple[str, Model, tuple[float, ...]]
"""Its words, its model, and the dates of its plan as parts of the interval"""
MOST_SPARES = 4
LOOKS = 8
"""Replications by which the search tells plans and spares apart, with draws of their own"""
FACTORS = (0.5, 0.75, 1.5, 2.0)


def _worth(model: Model, seed: int) -> Callable[[Shop], float]:
    """Share of the demand that could start when due, of another shop: mean of `LOOKS` replications without work."""

    def worth(shop: Shop) -> float:
        other = replace(model, shop=shop)
        return float(np.mean([without_work(other, seed, -1 - i) for i in range(LOOKS)]))

    return worth


def spares(model: Model, seed: int) -> Iterator[Way]:
    """One, two, ... pieces more, each the one that helps most beside those before; and a bench more instead."""
    worth = _worth(model, seed)
    shop, price = model.shop, model.prices
    first = _first_pieces(shop)
    bought: list[str] = []
    for _ in range(MOST_SPARES if first else 0):
        ways = [with_spare(shop, i, model.warm_up_s) for i in first]
        best = max(range(len(ways)), key=lambda k: worth(ways[k]))
        shop = ways[best]
        price = _paid(price, [first[best]])
        bought.append(shop.sensors[first[best]].name)
        yield f"+ {' + '.join(bought)}", replace(model, shop=shop, prices=price), ()
    of = first[: model.shop.places]
    shop = with_bench(model.shop, of, model.warm_up_s)
    yield "a bench more, with sensors", replace(model, shop=shop, prices=_paid(model.prices, of)), ()


def plans(model: Model, seed: int) -> Iterator[Way]:
    """All together, evenly staggered, and the plan that a search finds."""
    for label, plan in (("all together", together), ("evenly staggered", staggered)):
        yield label, replace(model, shop=plan(model.shop, model.warm_up_s)), ()
    shop, dates = search(model.shop, model.warm_up_s, _worth(model, seed))
    yield "found by search", replace(model, shop=shop), tuple(dates)


def intervals(model: Model, _seed: int) -> Iterator[Way]:
    """Every interval shorter or longer."""
    for factor in FACTORS:
        shop = with_intervals(model.shop, factor, model.warm_up_s)
        yield f"intervals x {factor:g}", replace(model, shop=shop), ()


COMPARISONS: dict[str, Callable[[Model, int], Iterator[Way]]] = {
    "spares": spares,
    "plans": plans,
    "intervals": intervals,
}


def _paid(prices: Prices, more: Sequence[int]) -> Prices:
    """Prices with a piece more of these sensors."""
    if not prices.sensors:
        return prices
    return replace(prices, sensors=(*prices.sensors, *[prices.sensors[i] for i in more]))


def _first_pieces(shop: Shop) -> Sequence[int]:
    """One piece of every sensor that some work needs."""
    asked = 0
    for kind in shop.kinds:
        for mask in kind.need:
            asked |= mask
    return [i for i in range(len(shop.sensors)) if asked >> i & 1 and not shop.same(i) & ((1 << i) - 1)]
