"""The parts of the answer: a criterion with all that is said beside, or what is known where there is none."""

from dataclasses import replace

import numpy as np

from simcal import cache
from simcal.analysis.criterion.check import largest_difference
from simcal.analysis.criterion.question import SHARE
from simcal.analysis.criterion.result import Caught, Compared, CriterionResult, Decision, Level
from simcal.analysis.criterion.search import Candidate, sign
from simcal.analysis.criterion.setup import Setup
from simcal.analysis.criterion.trace import Drawn
from simcal.analysis.criterion.verify import Checked, Risk
from simcal.analysis.criterion.worst import worst
from simcal.bench.bench import Bench
from simcal.bench.values import Assumed
from simcal.physics.energy import STORED_ENERGY_METHOD, stored_energy
from simcal.tables.gas import load

SHOWN = 200
"""benches whose mean changes are kept for the figure"""
CHECKS = 3
"""runs that are simulated whole, to see how well a sum of parts stands for them"""


def answer(bench: Bench, own: Setup, at: Candidate, fresh: Checked, nominal: Drawn) -> CriterionResult:
    """A criterion with everything that is said beside."""
    asked, permitted = own.asked, nominal.permitted_mol_per_s
    alarm, miss = fresh.fails(asked.healthy_share()), fresh.passes(1.0)
    limits_Pa = tuple(None if not np.isfinite(v) else float(v) for v in (at.limit, at.other))
    drop, rise = limits_Pa if own.outward else limits_Pa[::-1]
    return replace(
        empty(bench, own, nominal, ""),
        feasible=True,
        soak_s=asked.soak_s,
        wait_s=asked.wait_s,
        watch_s=asked.watch_s,
        total_s=at.total_s,
        allowed_drop_Pa=drop,
        allowed_rise_Pa=rise,
        false_alarm=alarm,
        miss=miss,
        curve=_curve(own, fresh, permitted),
        worst=worst(own, at, fresh),
        changes_Pa=_changes(own, fresh),
        decision=_decision(asked.bad_share, alarm, miss),
        catches=_catches(fresh, permitted, nominal.capacity),
        checked_Pa=max(largest_difference(own, k) for k in range(CHECKS)),
    )


def _changes(own: Setup, fresh: Checked) -> dict[str, tuple[float, ...]]:
    """Mean change of the reading of each of the first fresh benches, falling negative."""
    way = sign(own)
    levels = {"healthy": own.asked.healthy_share(), "permitted": 1.0}
    places = {name: int(np.argmin(np.abs(fresh.levels - level))) for name, level in levels.items()}
    return {name: tuple((way * fresh.change[:SHOWN, q]).tolist()) for name, q in places.items()}


def _curve(own: Setup, fresh: Checked, permitted: float) -> tuple[Level, ...]:
    out, way = [], sign(own)
    for q, level in enumerate(fresh.levels):
        risk = fresh.fails(float(level))
        rises = float(fresh.other[:, q].sum() / (len(fresh.other) * fresh.runs))
        out.append(
            Level(float(level) * permitted, risk.mean, *risk.between, rises, way * float(fresh.change[:, q].mean()))
        )
    return tuple(out)


def _catches(fresh: Checked, permitted: float, capacity: float) -> Caught:
    """The leaks that fail with half and with 95 % of the holds, straight between the levels looked at."""
    share = np.maximum.accumulate(fresh.failed.mean(axis=0) / fresh.runs)

    def at(wanted: float) -> float | None:
        k = int(np.searchsorted(share, wanted))
        if k == len(share):
            return None
        if k == 0:
            return 0.0
        part = (wanted - share[k - 1]) / (share[k] - share[k - 1])
        return float(fresh.levels[k - 1] + part * (fresh.levels[k] - fresh.levels[k - 1])) * permitted

    return Caught(capacity, at(0.5), at(SHARE))


def _decision(share: float | None, alarm: Risk, miss: Risk) -> Decision | None:
    """By Bayes' rule, where a bad seal leaks as much as is permitted and every other one is healthy."""
    if share is None:
        return None
    bad_fails, good_fails = share * (1.0 - miss.mean), (1.0 - share) * alarm.mean
    bad_passes, good_passes = share * miss.mean, (1.0 - share) * (1.0 - alarm.mean)
    return Decision(share, bad_fails / max(bad_fails + good_fails, 1e-300), good_passes / (good_passes + bad_passes))


def empty(bench: Bench, one: Setup, nominal: Drawn, reason: str) -> CriterionResult:
    """The answer without a criterion."""
    room, plan = bench.room, one.plans[0]
    aside = tuple(
        Assumed(name, "put aside", "the leak under test stands for all that leaks to the room")
        for name in one.put_aside
    )
    kept = tuple(
        a for a in bench.assumed if not a.key.startswith(tuple(f"{name}." for name in one.put_aside) or ("\0",))
    )
    permitted = nominal.permitted_mol_per_s
    return CriterionResult(
        bench=bench.name or bench.file,
        version=cache.version(),
        asked=one.asked,
        pressure_Pa=one.pressure_Pa,
        came_from_Pa=tuple(p.start_Pa for p in one.plans),
        permitted_mol_per_s=permitted,
        healthy_mol_per_s=one.asked.healthy_share() * permitted,
        law=one.asked.law,
        moved_in_s=nominal.moved_in_s,
        highest_Pa=nominal.highest_Pa,
        stored_energy_J=stored_energy(
            load(bench.gas), [(nominal.capacity, room.temperature)], nominal.highest_Pa, room.barometer
        ),
        stored_energy_method=STORED_ENERGY_METHOD,
        compare=Compared(
            plan.sensor, one.asked.readings, one.asked.every_s, "gauge" if one.gauge else "absolute", False, one.holds
        ),
        feasible=False,
        reason=reason,
        explained=False,
        soak_s=None, wait_s=None, watch_s=None, total_s=None, allowed_drop_Pa=None, allowed_rise_Pa=None,
        false_alarm=None, miss=None, curve=(), worst=None, changes_Pa={}, valid_for=None, decision=None, cures=(),
        catches=None, caught=(), checked_Pa=None,
        assumed=(*kept, *aside),
    )  # fmt: skip
