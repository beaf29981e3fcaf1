"""Sensors fall due, leave their bench, are calibrated elsewhere, come back and are checked before they are used."""

from collections.abc import Sequence

import simpy
from scipy.special import ndtri

from simcal.analysis.year.floor import ACCEPT, GONE, SHELF, Errand, Floor, Steps
from simcal.analysis.year.shop import FIRST_USE, PLAN, Sensor, Shop
from simcal.analysis.year.tally import Trip

AWAY, WAITS = "away", "waits for acceptance"
_LEAST = 1e-9


def begin(floor: Floor) -> None:
    """Start the comings and goings of every batch of sensors."""
    batches: dict[str, list[int]] = {}
    for i, one in enumerate(floor.shop.sensors):
        batches.setdefault(f"batch {one.batch}" if one.batch else f"sensor {one.name}", []).append(i)
    slots = simpy.Resource(floor.env, floor.shop.slots) if floor.shop.slots is not None else None
    for members in batches.values():
        floor.env.process(_batch(floor, members, slots))


def spread_at_interval(out: float) -> float:
    """Standard deviation of as-found errors over the stated limit, a share `out` of which is beyond it."""
    return 0.0 if out <= 0.0 else -1.0 / float(ndtri(0.5 * out))


def _batch(floor: Floor, members: Sequence[int], slots: simpy.Resource | None) -> Steps:
    shop, env, luck = floor.shop, floor.env, floor.luck
    one = shop.sensors[members[0]]
    own = f"sensor {one.name}"  # another plan draws the same for it
    due = min(shop.sensors[i].first_due for i in members)
    since = max(due - one.interval.usual, env.now - one.interval.usual)
    while True:
        if shop.counts_from == FIRST_USE:
            yield env.any_of([floor.used[i] for i in members])
            if due < env.now:
                due = env.now + one.interval.at(luck(f"{own} interval"))
        leaves = shop.hours.opening(max(due, env.now))
        if leaves > env.now:
            yield env.timeout(leaves - env.now)
        out = [_take_out(floor, i) for i in members]
        yield env.all_of(out)
        left = env.now
        request = slots.request() if slots is not None else None
        if request is not None:
            yield request
        yield env.timeout(shop.away.at(luck(f"{own} away")))
        while shop.back.refused > 0.0 and luck(f"{own} refused") < shop.back.refused:
            yield env.timeout(shop.away.at(luck(f"{own} away")))
        if request is not None and slots is not None:
            slots.release(request)
        arrived = env.now
        due = _next_due(shop, one, due, arrived, luck(f"{own} interval"))
        for i in members:
            env.process(_bring_in(floor, i, left, arrived, since))
            floor.used[i] = env.event()
        since = arrived


def _next_due(shop: Shop, one: Sensor, due: float, arrived: float, p: float) -> float:
    """When it leaves the next time; with an interval from its first use that is not known before."""
    if shop.counts_from == FIRST_USE:
        return float("-inf")
    if shop.counts_from != PLAN:
        return arrived + one.interval.at(p)
    while due <= arrived:
        due += one.interval.usual
    return due


def _take_out(floor: Floor, i: int) -> simpy.Event:
    """No longer used from now on; the event happens when it has left its bench."""
    gone = floor.env.event()
    floor.allow(i, False)
    at = floor.where[i]
    if at == SHELF:
        floor.move(i, GONE)
        gone.succeed()
    elif _takes_no_time(floor):
        _leave(floor, i, at)
        gone.succeed()
    else:
        floor.errands[at].append(_taking_out(floor, i, gone))
    floor.changed()
    return gone


def _takes_no_time(floor: Floor) -> bool:
    exchange = floor.shop.exchange
    return exchange.takes_s + exchange.check_s + exchange.bad <= 0.0


def _leave(floor: Floor, i: int, b: int) -> None:
    """A sensor leaves, and one of its name from the shelf takes its place."""
    floor.move(i, GONE)
    others = floor.shop.same(i) & floor.on(SHELF)
    if others:
        floor.move((others & -others).bit_length() - 1, b)


def _taking_out(floor: Floor, i: int, gone: simpy.Event) -> Errand:
    def steps(b: int) -> Steps:
        yield from floor.exchange(b, 1)
        _leave(floor, i, b)
        gone.succeed()
        floor.changed()

    return steps


def _bring_in(floor: Floor, i: int, left: float, arrived: float, since: float) -> Steps:
    """Accepted and put where there is a place for it, else on the shelf."""
    shop, luck, env = floor.shop, floor.luck, floor.env
    name = f"sensor {shop.sensors[i].name}"
    back = shop.back
    shifted = luck(f"{name} zero") < back.zero
    seen = luck(f"{name} zero seen") >= back.zero_miss
    rated = shop.sensors[i].rated or shop.sensors[i].interval.usual
    spread = spread_at_interval(back.out) * (max(left - since, _LEAST) / rated) ** back.growth
    size = spread * float(ndtri(luck(f"{name} found")))
    takes = back.accept_s + (back.zero_s if shifted and seen else 0.0)
    place = next((b for b in range(shop.benches) if floor.free(b)), SHELF)
    if takes > 0.0 or (place != SHELF and not _takes_no_time(floor)):
        ready = env.event()
        errand = _accepting(floor, i, takes, ready)
        (floor.common if place == SHELF else floor.errands[place]).append(errand)
        floor.wake()
        yield ready
    else:
        _ready(floor, i, place)
    tally = floor.tally
    tally.mark(name, left, arrived, AWAY)
    tally.mark(name, arrived, env.now, WAITS)
    tally.calibrations += tally.counted(arrived)
    tally.trips.append(Trip(i, left, arrived, since, size, shifted, seen))


def _accepting(floor: Floor, i: int, takes: float, ready: simpy.Event) -> Errand:
    def steps(b: int) -> Steps:
        yield from floor.work(b, [(ACCEPT, takes)])
        place = b if floor.free(b) else SHELF
        if place != SHELF:
            yield from floor.exchange(b, 1)
        _ready(floor, i, place)
        ready.succeed()

    return steps


def _ready(floor: Floor, i: int, place: int) -> None:
    floor.move(i, place)
    floor.allow(i, True)
    floor.changed()
