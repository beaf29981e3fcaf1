"""`hold`: one bench of those that the stated spreads allow goes through a hold; its record and the truth."""

import numpy as np
from numpy.typing import NDArray

from simcal import cache
from simcal.analysis.hold import reading
from simcal.analysis.hold.notes import notes
from simcal.analysis.hold.plan import BELOW, Plan, plan
from simcal.analysis.hold.result import HoldResult, Rows, Truth
from simcal.analysis.hold.run import Course, run
from simcal.analysis.hold.truth import Isolated, isolated, lost_kg, parts
from simcal.bench.bench import Bench
from simcal.bench.drawn import draw
from simcal.bench.network import build, nominal_gains, own_volumes
from simcal.bench.values import Level
from simcal.engine.arrays import CAPACITY, R_START
from simcal.engine.simulate import System
from simcal.physics.energy import STORED_ENERGY_METHOD, stored_energy
from simcal.physics.rates import from_pressure_fall

Vector = NDArray[np.float64]


def hold(
    bench: Bench, *, pressure: Level | None = None, soak_s: float = 60.0, wait_s: float = 0.0, watch_s: float = 300.0,
    direction: str = BELOW, every_s: float | None = None, sensor: str | None = None,
    permitted: tuple[float, str] | None = None, seed: int = 1,
) -> HoldResult:  # fmt: skip
    """Simulate an isolated hold.

    pressure: of the hold; None: the only device's full scale. direction: "below" (from the room's pressure) or
    "above" (from a higher one that the bench allows). Every spread of the bench is drawn by the seed, sizes of unknown
    sign too: the record is that of one bench, not of the nominal one. permitted: a leak limit at the pressure of the
    hold, (mol/s, "amount") or (Pa/s, "pressure rate").

    Raises:
        InputError: a pressure that the bench cannot or must not have, a name that it does not know.
    """
    asked = plan(bench, pressure, soak_s, wait_s, watch_s, direction, every_s, sensor)
    one, shares = draw(bench, seed, 0)
    system = build(one, nominal_gains(bench))  # nobody tunes anew for the volumes that a bench happens to have
    course = run(one, system, asked, seed)
    begun = int(np.searchsorted(course.time_s, course.shut_s + asked.wait_s - 1e-9))
    start = min(course.shut_s, float(course.time_s[0]))
    smooth = course.gauge_Pa[:, system.names.gauge[asked.sensor]] + reading.offset(
        one, system, asked, course.time_s, course.moved_s
    )
    gauge = one.sensors[asked.sensor]
    noise = reading.normal(seed, "reading noise", len(smooth))
    seen = reading.reading(smooth, gauge.noise, gauge.resolution, noise)
    clock = course.time_s - start
    stored = [(float(v), one.room.temperature) for v in system.net.node_par[own_volumes(one, system.names), CAPACITY]]
    return HoldResult(
        bench=bench.name,
        version=cache.version(),
        seed=seed,
        plan=asked,
        reading="gauge" if gauge.range.gauge else "absolute",
        moved_in_s=course.arrived_s - course.moved_s,
        isolated_at_s=course.shut_s - start,
        watch_from_s=float(clock[begun]),
        watch_until_s=float(clock[-1]),
        highest_Pa=course.highest_Pa,
        stored_energy_J=stored_energy(system.table, stored, course.highest_Pa, one.room.barometer),
        stored_energy_method=STORED_ENERGY_METHOD,
        rows=Rows(clock, seen, _temperature(one, system, course, seed)),
        truth=_truth(one, system, course, asked, begun, clock, smooth, seen, shares, permitted),
        notes=notes(bench, asked, watch_s, course.highest_Pa),
        assumed=bench.assumed,
    )


def _temperature(bench: Bench, system: System, course: Course, seed: int) -> Vector | None:
    if bench.thermometer is None:
        return None
    wall = course.wall_K[:, system.names.node[bench.thermometer.at]]
    return reading.thermometer(bench.thermometer, wall, course.time_s, seed)


def _truth(
    bench: Bench, system: System, course: Course, asked: Plan, begun: int, clock: Vector, smooth: Vector, seen: Vector,
    shares: dict[str, float], permitted: tuple[float, str] | None,
) -> Truth:  # fmt: skip
    """What is true of the watch; what sensor and barometer add counts as other."""
    node, inside = system.names.node[bench.sensors[asked.sensor].at], isolated(bench, system, asked.sensor)
    lost = lost_kg(bench, system, course, inside)
    found = parts(system, course, inside, lost, node, slice(begun, None))
    true_change = sum(found.values())
    found["other"] += float(smooth[-1] - smooth[begun]) - true_change
    change, pressure = float(seen[-1] - seen[begun]), course.pressure_Pa[:, node]
    found["unexplained"] = change - sum(found.values())
    return Truth(
        leak_mol_per_s=lost / system.table.molar_mass / asked.watch_s,
        permitted_mol_per_s=None if permitted is None else _limit(system, inside, permitted, pressure[begun:]),
        change_Pa=change,
        parts_Pa=found,
        drawn={key: float(bench.value(key)) for key in shares},
        times_s=clock,
        pressure_Pa=pressure,
    )


def _limit(system: System, inside: Isolated, permitted: tuple[float, str], pressure: Vector) -> float:
    """The leak limit in mol/s; a rate of fall is that of the isolated gas at the watch's mean pressure."""
    value, form = permitted
    if form == "amount":
        return value
    capacity = float(system.net.node_par[inside.open, CAPACITY].sum())
    return from_pressure_fall(system.table, capacity, float(pressure.mean()), float(system.net.room[R_START]), value)
