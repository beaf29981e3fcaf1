"""The answer to `cover`: uncertainties, rule, the set of sensors, what each point is read with, what one more buys."""

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from simcal import cache
from simcal.analysis.cover import choose
from simcal.analysis.cover.budget import Budget, budget, instrument_slices
from simcal.analysis.cover.choose import Choice, Need
from simcal.analysis.cover.crossing import crossovers
from simcal.analysis.cover.dwell import Left, left_by_dwell
from simcal.analysis.cover.notes import notes
from simcal.analysis.cover.result import CoverResult, OneMore, Plan, SensorUse
from simcal.analysis.cover.rule import kept
from simcal.analysis.cover.served import Matter, instrument_cover
from simcal.bench.lab import WITH_DEVICE, Lab

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and how much there is"""

ALL, WITHIN, BUDGET, OWNED = (
    "cheapest that covers all",
    "most within the places",
    "most for the budget",
    "owned",
)


def cover(lab: Lab, workers: int | None = None, progress: Progress | None = None) -> CoverResult:
    """Which sensors serve the laboratory's work, where the gaps are, and what one more buys.

    Args:
        lab: a checked laboratory.
        workers: threads for runs of its benches; None: one for each core.
        progress: told what is done.
    """
    left = left_by_dwell(lab, workers, progress)
    whole = budget(lab, left)
    bench, device = whole.bench_only(), whole.with_device()
    ruled = device if lab.rule.uncertainty == WITH_DEVICE else bench
    serves = whole.inside & kept(lab, whole.tolerance[:, None], ruled) & whole.held[:, None]
    needs = _needs(lab, whole, serves)
    weights = [one.count for one in lab.instruments.values()]
    prices = [one.price for one in lab.sensors.values()]
    kind, choice = _plan(lab, needs, weights, prices)
    owned_ones = _owned(lab, needs, weights)
    plan = _told(kind, choice, needs, weights, prices)
    owned = _told(OWNED, owned_ones, needs, weights, prices)
    names = tuple(lab.sensors)
    matter = Matter(lab, whole, bench, device, serves, left)
    instruments = instrument_cover(matter, choice.sensors, needs)
    named = {names[k]: lab.sensors[names[k]] for k in sorted({*choice.sensors, *owned_ones.sensors})}
    return CoverResult(
        lab=lab.name,
        rule=lab.rule.kind,
        limit=float(getattr(lab.rule, lab.rule.kind)),
        uncertainty=lab.rule.uncertainty,
        prior=None if lab.prior is None else lab.prior.of,
        in_tolerance=None if lab.prior is None else lab.prior.in_tolerance,
        places=lab.places,
        budget=lab.budget,
        kinds=len(needs),
        count=float(sum(weights)),
        plan=_with_names(plan, choice, names),
        owned=_with_names(owned, owned_ones, names),
        instruments=instruments,
        sensors=_uses(matter, choice, instruments),
        crossovers=crossovers(named, lab.room.barometer),
        one_more=_one_more(lab, needs, weights, choice, owned_ones),
        notes=tuple(notes(lab, whole, serves, left, plan, needs)),
        assumed=lab.assumed,
        version=cache.version(),
    )


def _needs(lab: Lab, whole: Budget, serves: Mask) -> list[Need]:
    """What each instrument asks of the set; the empty set of sensors stands for a point that none serves."""
    bits = [sum(1 << int(k) for k in np.flatnonzero(row)) for row in serves]
    found = []
    for part in instrument_slices([len(one.points) for one in lab.instruments.values()]):
        asked = [bits[p] for p in range(part.start, part.stop) if not whole.vent[p] or not whole.held[p]]
        found.append(choose.need_of(asked))
    return found


def _plan(lab: Lab, needs: Sequence[Need], weights: Sequence[float], prices: Sequence[float]) -> tuple[str, Choice]:
    """The set to have: the cheapest for all that can be covered, else the most."""
    possible = [need for need in needs if 0 not in need]
    whole = choose.merged(needs, [max(weight, _LEAST) for weight in weights])
    if lab.budget is not None:
        return BUDGET, choose.most(whole, prices, lab.places, lab.budget)
    found = choose.cheapest(possible, prices, lab.places)
    return (WITHIN, choose.most(whole, prices, lab.places)) if found is None else (ALL, found)


_LEAST = 1e-3
"""Calibrations a year that one that never comes counts as, so that it is covered where that costs nothing."""


def _owned(lab: Lab, needs: Sequence[Need], weights: Sequence[float]) -> Choice:
    """The owned sensors, the best of them where the bench has not places for all."""
    owned = [k for k, one in enumerate(lab.sensors.values()) if one.owned]
    if len(owned) <= lab.places:
        return Choice(tuple(owned), True, 0.0)
    mask = sum(1 << k for k in owned)
    whole = choose.merged([frozenset(m & mask for m in need) for need in needs], [max(w, _LEAST) for w in weights])
    prices = [0.0 if one.owned else 1.0 for one in lab.sensors.values()]
    return choose.most(whole, prices, lab.places, 0.0)


def _told(kind: str, choice: Choice, needs: Sequence[Need], weights: Sequence[float], prices: Sequence[float]) -> Plan:
    covered = [choose.met(need, _bits(choice.sensors)) for need in needs]
    return Plan(
        kind=kind,
        sensors=(),
        cost=float(sum(prices[k] for k in choice.sensors)),
        kinds=sum(covered),
        count=float(sum(w for w, yes in zip(weights, covered, strict=True) if yes)),
        proved=choice.proved,
        gap=choice.gap,
    )


def _with_names(plan: Plan, choice: Choice, names: Sequence[str]) -> Plan:
    return Plan(**{**vars(plan), "sensors": tuple(names[k] for k in choice.sensors)})


def _bits(sensors: Sequence[int]) -> int:
    return sum(1 << k for k in sensors)


def _uses(matter: Matter, choice: Choice, instruments: Sequence[object]) -> tuple[SensorUse, ...]:
    """What each sensor could serve, is used for, and serves alone among the chosen."""
    points = [point for one in instruments for point in one.points]  # type: ignore[attr-defined]
    used: Mapping[str, int] = {name: sum(p.sensor == name for p in points) for name in matter.lab.sensors}
    chosen = matter.serves[:, list(choice.sensors)]
    alone = chosen.sum(axis=1) == 1
    asked = ~matter.whole.vent
    return tuple(
        SensorUse(
            name=name,
            gauge=one.range.gauge,
            low_Pa=one.range.low,
            high_Pa=one.range.high,
            owned=one.owned,
            chosen=k in choice.sensors,
            cost=one.cost,
            serves=int((matter.serves[:, k] & asked).sum()),
            used=used[name],
            only=int((matter.serves[:, k] & alone & asked).sum()) if k in choice.sensors else 0,
        )
        for k, (name, one) in enumerate(matter.lab.sensors.items())
    )


def _one_more(
    lab: Lab, needs: Sequence[Need], weights: Sequence[float], plan: Choice, owned: Choice
) -> tuple[OneMore, ...]:
    """Every sensor that buys something beside what is owned, and beside the plan, the best first."""
    found: list[OneMore] = []
    for beside, base in (("owned", owned), ("plan", plan)):
        if beside == "owned" and (not base.sensors or set(base.sensors) == set(plan.sensors)):
            continue
        bits = _bits(base.sensors)
        open_ = [(need, weight) for need, weight in zip(needs, weights, strict=True) if not choose.met(need, bits)]
        gains = []
        for k, (name, one) in enumerate(lab.sensors.items()):
            new = [] if k in base.sensors else [w for need, w in open_ if choose.met(need, bits | 1 << k)]
            if new:
                gains.append(
                    OneMore(beside, name, len(new), float(sum(new)), one.price, len(base.sensors) < lab.places)
                )
        found += sorted(gains, key=lambda one: (-one.count, -one.kinds, one.cost))
    return tuple(found)


__all__ = ["ALL", "BUDGET", "OWNED", "WITHIN", "Left", "cover"]
