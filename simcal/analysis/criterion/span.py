"""Where the numbers of a criterion still serve: other capacities, other pressures, by the nominal bench."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy.special import ndtri

from simcal.analysis.criterion.result import Caught, Span
from simcal.analysis.criterion.search import Candidate, View, view
from simcal.analysis.criterion.setup import Setup, setup
from simcal.analysis.criterion.trace import Drawn, simulate, windows
from simcal.bench.bench import Bench
from simcal.bench.reach import isolated_with
from simcal.bench.values import Level
from simcal.errors import InputError
from simcal.run.many import run_many

UP = (1.01, 1.02, 1.05, 1.1, 1.2, 1.4, 1.7, 2.0, 3.0, 4.0)
"""factors on capacity or pressure that are tried one after the other, and their inverses"""
CAPACITIES = (0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 10.0)
"""factors on the capacity for which a given criterion is explained"""


def nominal_view(one: Setup) -> tuple[View, Drawn]:
    """What the nominal bench does, and what it came to."""
    drawn = simulate(one, one.bench, {})
    start, end = windows(one, drawn.signals)
    rows = {"start": start[None], "end": end[None], "drift": np.zeros(1)}
    return view(one, rows), drawn


def span(one: Setup, found: Candidate, bench: Bench, workers: int | None = None) -> Span:
    """Between which capacities and pressures both limits still part the leaks.

    The room between the nominal bench and what the search had to leave for the other benches is kept, in proportion to
    the changes. one: with the criterion's times alone; bench: as the user stated it.
    """
    here, drawn = nominal_view(one)
    shares = _kept(here, found)

    def serves(changed: Setup) -> bool:
        seen, _ = nominal_view(changed)
        lowest = (1.0 + shares[0]) * _number(seen.healthy_mean()) if shares[0] is not None else None
        highest = (1.0 - shares[1]) * _number(seen.leaking_mean())
        return (lowest is None or lowest <= found.limit) and found.limit <= highest

    ways = [(changed, factors) for changed in (_with_capacity, _with_pressure) for factors in _ways()]

    def reach(k: int) -> float:
        changed, factors = ways[k]
        return _reach(lambda f: serves(changed(one, bench, f)), factors)

    ends = run_many(reach, len(ways), workers)
    return Span(
        (drawn.capacity * ends[0], drawn.capacity * ends[1]),
        drawn.capacity,
        (one.pressure_Pa * ends[2], one.pressure_Pa * ends[3]),
    )


def caught(one: Setup, limit: float, bench: Bench) -> tuple[Caught, ...]:
    """What leak a given limit [Pa] catches at other capacities, with half and with 95 % of the holds."""
    out = []
    for factor in CAPACITIES:
        try:
            seen, drawn = nominal_view(_with_capacity(one, bench, factor))
        except InputError:
            continue
        tight, leak, spread = (_number(v) for v in (seen.tight, seen.leak, seen.spread()))
        unit = drawn.permitted_mol_per_s / (leak - tight)
        half, most = (max((limit + z * spread - tight) * unit, 0.0) for z in (0.0, -float(ndtri(0.05))))
        out.append(Caught(drawn.capacity, half, most))
    return tuple(out)


def _kept(here: View, found: Candidate) -> tuple[float | None, float]:
    """How far the limits asked for by most benches lie from the nominal changes, as shares of these."""
    healthy, leaking = _number(here.healthy_mean()), _number(here.leaking_mean())
    low = (found.lowest - healthy) / healthy if healthy > 0.0 else None
    return low, (leaking - found.highest) / leaking if leaking > 0.0 else 0.0


def _number(values: np.ndarray) -> float:
    return float(values[0, 0, 0, 0])


def _ways() -> tuple[tuple[float, ...], tuple[float, ...]]:
    return tuple(1.0 / factor for factor in UP), UP


def _reach(serves: Callable[[float], bool], factors: tuple[float, ...]) -> float:
    """The last factor up to which it serves."""
    last = 1.0
    for factor in factors:
        try:
            if not serves(factor):
                return last
        except InputError:
            return last
        last = factor
    return last


def _with_capacity(one: Setup, bench: Bench, factor: float) -> Setup:
    """Every volume between the shut valves so many times as large, of the same bore."""
    changed = bench
    for name in isolated_with(bench, bench.sensors[one.plans[0].sensor].at):
        if name in bench.volumes:
            key = f"volume.{name}.capacity"
            changed = changed.replace(key, factor * float(bench.value(key)))
    return setup(changed, one.asked, one.gains)


def _with_pressure(one: Setup, bench: Bench, factor: float) -> Setup:
    """The hold at so many times the absolute pressure, the leaks as stated."""
    asked = replace(one.asked, pressure=Level(factor * one.pressure_Pa, False))
    return setup(bench, asked, one.gains)
