"""Plans by which sensors are sent away: by their dates, all together, evenly staggered, or found by search."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from simcal.analysis.year.shop import PLAN, Sensor, Shop
from simcal.stats.lasting import Lasting

SLOTS = 12
"""Dates in an interval that the search tries"""
SWEEPS = 2
"""Times it goes through all sensors"""


def by_date(shop: Shop, warm_up: float) -> Shop:
    """Each by its own date, at once where that has passed; those without one evenly spread."""
    unknown = [i for i, one in enumerate(shop.sensors) if math.isnan(one.first_due)]
    sensors = []
    for i, one in enumerate(shop.sensors):
        due = max(one.first_due, 0.0)
        if i in unknown:
            part = (unknown.index(i) + 0.5) / len(unknown)
            due = _after(part * one.interval.usual, -warm_up, one.interval.usual)
        sensors.append(one.with_days(due, one.batch))
    return replace(shop, sensors=tuple(sensors))


def together(shop: Shop, warm_up: float) -> Shop:
    """All in one batch, in the middle of the shortest interval."""
    return planned(shop, [0.5] * len(shop.sensors), warm_up)


def staggered(shop: Shop, warm_up: float) -> Shop:
    """One after the other, evenly over the interval."""
    count = len(shop.sensors)
    return planned(shop, [(i + 0.5) / count for i in range(count)], warm_up)


def planned(shop: Shop, parts: Sequence[float], warm_up: float) -> Shop:
    """On fixed dates, given as parts of the shortest interval; sensors of one date are one batch."""
    if not shop.sensors:
        return shop
    shortest = min((one.interval for one in shop.sensors), key=lambda one: one.usual)
    sensors = [
        Sensor(
            one.name, _after(part * shortest.usual, -warm_up, shortest.usual), shortest, f"at {part:.6f}", _rated(one)
        )
        for one, part in zip(shop.sensors, parts, strict=True)
    ]
    return replace(shop, sensors=tuple(sensors), counts_from=PLAN)


def search(shop: Shop, warm_up: float, worth: Callable[[Shop], float]) -> tuple[Shop, list[float]]:
    """The plan of largest `worth` that a search finds, and its dates as parts of the interval.

    It begins with the best of all together on any date and evenly staggered, then moves one sensor after the other to
    the best of `SLOTS` dates until nothing is gained: a good plan, not proved the best.
    """
    count = len(shop.sensors)
    grid = [(k + 0.5) / SLOTS for k in range(SLOTS)]
    starts = [*([part] * count for part in grid), [grid[(i * SLOTS) // max(count, 1)] for i in range(count)]]
    best = max(starts, key=lambda parts: worth(planned(shop, parts, warm_up)))
    value = worth(planned(shop, best, warm_up))
    for _ in range(SWEEPS):
        before = value
        for i in range(count):
            for part in grid:
                tried = [*best[:i], part, *best[i + 1 :]]
                found = value if part == best[i] else worth(planned(shop, tried, warm_up))
                if found > value:
                    best, value = tried, found
        if value <= before:
            break
    return planned(shop, best, warm_up), best


def _after(due: float, start: float, interval: float) -> float:
    """The first date from `start` on that is a whole number of intervals from `due`."""
    return start + (due - start) % interval


def _rated(one: Sensor) -> float:
    return one.interval.usual if one.rated is None else one.rated


def with_intervals(shop: Shop, factor: float, warm_up: float) -> Shop:
    """Every interval times a factor; what is found out of tolerance goes on with the time in use."""
    sensors = []
    for one in shop.sensors:
        interval = Lasting(one.interval.shape, factor * one.interval.usual)
        due = factor * one.first_due
        due = due if due >= -warm_up else _after(due, -warm_up, interval.usual)
        sensors.append(Sensor(one.name, due, interval, one.batch, _rated(one)))
    return replace(shop, sensors=tuple(sensors))


def with_spare(shop: Shop, i: int, warm_up: float) -> Shop:
    """One more piece of sensor i, on the shelf, half an interval after it; alone in its batch."""
    one, new = shop.sensors[i], len(shop.sensors)
    twins = shop.same(i) | 1 << new
    count = twins.bit_count()
    name = f"{one.name.partition(' no. ')[0]} no. {count}"
    due = _after(one.first_due + 0.5 * one.interval.usual, -warm_up, one.interval.usual)
    spare = Sensor(name, due, one.interval, "", one.rated)
    members = [k for k in range(new + 1) if twins >> k & 1]
    same = {k: shop.same(k) for k in range(new)} | dict.fromkeys(members, twins)

    def widened(mask: int) -> int:
        return mask | 1 << new if mask >> i & 1 else mask

    kinds = []
    for kind in shop.kinds:
        points = [
            replace(p, sensors=(*p.sensors, new), limits_Pa=(*p.limits_Pa, p.limits_Pa[p.sensors.index(i)]))
            if i in p.sensors
            else p
            for p in kind.points
        ]
        kinds.append(replace(kind, need=frozenset(map(widened, kind.need)), points=tuple(points)))
    return replace(shop, sensors=(*shop.sensors, spare), kinds=tuple(kinds), twins=same)


def with_bench(shop: Shop, sensors: Sequence[int], warm_up: float) -> Shop:
    """One more bench, with a piece more of each of these sensors on it."""
    before = len(shop.sensors)
    for i in sensors:
        shop = with_spare(shop, i, warm_up)
    new = tuple(range(before, len(shop.sensors)))
    return replace(shop, benches=shop.benches + 1, layout=(*shop.layout, new))
