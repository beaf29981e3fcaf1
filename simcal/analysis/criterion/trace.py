"""One drawn bench: its hold without and with the leak, and what each random part of a run adds to the reading.

A hold of a run is the sum of these: the reading is straight in everything that a run draws, to the second order of
small numbers, so that one simulation of each part serves for all runs of a bench. `check.py` says how well.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.criterion.setup import BAROMETER, CYCLE, DIRECTION, DRIFT, TRIED, WARM, Setup
from simcal.analysis.hold.plan import Plan
from simcal.analysis.hold.reading import offset
from simcal.analysis.hold.run import approach, shut_in, soak
from simcal.analysis.hold.truth import isolated
from simcal.bench.bench import Bench
from simcal.bench.drawn import draw
from simcal.bench.network import build
from simcal.engine.arrays import CAPACITY, R_CYCLE, R_PHASE, R_RAMP, R_START
from simcal.engine.simulate import State, System, begin, hold
from simcal.errors import InputError
from simcal.physics.rates import from_pressure_fall

Vector = NDArray[np.float64]
Signals = dict[str, NDArray[np.float64]]
"""Case -> what it adds to the sensor's reading [s, k] by soak and row from shutting the valves on, Pa"""

UNIT_RAMP = 1.0 / 3600.0
"""K/s of the room, for which the share of the room's drift is found"""


@dataclass(frozen=True)
class Drawn:
    """A bench with its spreads drawn, and what it came to. shares: key -> share of its spread; permitted_mol_per_s."""

    bench: Bench
    shares: dict[str, float]
    signals: Signals
    permitted_mol_per_s: float
    capacity: float
    moved_in_s: float
    highest_Pa: float


def trial(setup: Setup, number: int) -> dict[str, NDArray[np.float64] | list[float] | float]:
    """The numbers of one drawn bench: means of the readings at both ends of every watch, by case and soak."""
    drawn = simulate(setup, *draw(setup.bench, setup.asked.seed, number))
    start, end = windows(setup, drawn.signals)
    return {
        "start": start,
        "end": end,
        "share": [drawn.shares[key] for key in sorted(setup.bench.spreads)],
        "value": [float(drawn.bench.value(key)) for key in sorted(setup.bench.spreads)],
        "drift": drawn.bench.sensors[setup.plans[0].sensor].drift,
        "permitted": drawn.permitted_mol_per_s,
        "capacity": drawn.capacity,
        "moved_in": drawn.moved_in_s,
        "highest": drawn.highest_Pa,
    }


def windows(setup: Setup, signals: Signals) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean readings over the first [case, s, w] and the last [case, s, e] window of a watch, Pa."""
    times, n, every = setup.grid, setup.asked.readings, setup.asked.every_s
    rows = np.array([signals[case] for case in setup.cases])
    sums = np.concatenate([np.zeros((*rows.shape[:2], 1)), np.cumsum(rows, axis=2)], axis=2)
    first = np.round(times.waits / every).astype(int)
    last = np.round(times.ends / every).astype(int) + 1
    first = np.minimum(first, rows.shape[2] - n)  # a wait with no watch behind it is never looked at
    return (sums[:, :, first + n] - sums[:, :, first]) / n, (sums[:, :, last] - sums[:, :, last - n]) / n


def simulate(setup: Setup, bench: Bench, shares: dict[str, float]) -> Drawn:
    """Simulate everything that the runs of one bench are a sum of.

    Raises:
        InputError: the pressure is not reached, or the gas leaves its table.
    """
    still = bench.replace("room.cycle", 0.0)
    still = still.replace(setup.drift_key, 0.0)
    system = build(still, setup.gains)
    inside = isolated(still, system, setup.plans[0].sensor)
    capacity = float(system.net.node_par[inside.open, CAPACITY].sum())
    system, permitted = _with_leak(setup, system, capacity)
    without = _tight(system)
    holds = {"tight": without, "leak": system}
    sides = [_side(setup, still, holds, without, plan) for plan in setup.plans]
    signals: Signals = {name: np.mean([side.signals[name] for side in sides], axis=0) for name in ("tight", "leak")}
    if DIRECTION in setup.cases:
        signals[DIRECTION] = 0.5 * (sides[1].signals["tight"] - sides[0].signals["tight"])
    arrived = float(np.mean([side.arrived_s for side in sides]))
    signals |= _responses(setup, bench, without, [*inside.open, *inside.pockets], arrived)
    for key in (case for case in setup.cases if case.endswith(WARM)):
        signals[key] = _warmth(setup, still, key, signals["tight"])
    moved = float(np.mean([side.moved_in_s for side in sides]))
    return Drawn(bench, shares, signals, permitted, capacity, moved, max(side.highest_Pa for side in sides))


def _warmth(setup: Setup, bench: Bench, key: str, tight: NDArray[np.float64]) -> NDArray[np.float64]:
    """What a kelvin of a warm body adds, from holds with it warmer by the standard deviation of its spread.

    Its warmth makes the film between gas and wall, so it is found from the whole course, not from a rest.
    """
    sd = setup.per_run[key].sd
    warm = bench.replace(key, float(bench.value(key)) + sd)
    system = _tight(build(warm, setup.gains))
    sides = [_side(setup, warm, {"tight": system}, system, plan) for plan in setup.plans]
    return (np.mean([side.signals["tight"] for side in sides], axis=0) - tight) / sd


def _with_leak(setup: Setup, system: System, capacity: float) -> tuple[System, float]:
    """The system with the permitted leak, mol/s; one that is stated as a fall of pressure is this bench's own."""
    value, form = setup.asked.permitted
    if form == "amount":
        return system, value
    room = float(system.net.room[R_START])
    rate = from_pressure_fall(system.table, capacity, setup.pressure_Pa, room, value)
    par = system.net.edge_par.copy()
    par[system.names.edge[f"leak.{TRIED}"]] *= rate / setup.bench.leaks[TRIED].rate  # type: ignore[operator]
    return replace(system, net=system.net._replace(edge_par=par)), rate


def _tight(system: System) -> System:
    par = system.net.edge_par.copy()
    par[system.names.edge[f"leak.{TRIED}"]] = 0.0
    return replace(system, net=system.net._replace(edge_par=par))


def whole(setup: Setup, bench: Bench, plan: Plan, phase: float) -> Vector:
    """The reading [k] of a whole hold, everything that was drawn and the leak acting from its start on, Pa.

    phase: of the room's cycle when it begins.
    """
    system = build(bench, setup.gains)
    capacity = float(system.net.node_par[isolated(bench, system, plan.sensor).open, CAPACITY].sum())
    system, _ = _with_leak(setup, system, capacity)
    room = system.net.room.copy()
    room[R_PHASE] = phase
    system = replace(system, net=system.net._replace(room=room))
    arrived = approach(bench, system, plan, setup.asked.seed)
    left = arrived.left_s(float(setup.grid.soaks[0]), system.controller.period)
    state, *_ = soak(system, arrived.state, plan.pressure_Pa, left)
    return _shut(bench, system, plan, state, float(setup.grid.ends[-1]), arrived.moved_s)


def _shut(bench: Bench, system: System, plan: Plan, state: State, until: float, moved_s: float) -> Vector:
    """The sensor's reading [k] from shutting the valves on, Pa."""
    pieces, *_ = shut_in(bench, system, state, replace(plan, wait_s=0.0, watch_s=until))
    clock = np.concatenate([piece.time_s for piece in pieces])
    pressure = np.concatenate([piece.gauge_Pa[:, system.names.gauge[plan.sensor]] for piece in pieces])
    return pressure + offset(bench, system, plan, clock, moved_s)


@dataclass(frozen=True)
class _Side:
    signals: Signals
    arrived_s: float
    moved_in_s: float
    highest_Pa: float


def _side(setup: Setup, bench: Bench, holds: dict[str, System], tight: System, plan: Plan) -> _Side:
    """From one side to the pressure, on through the soaks, and from each the valves shut on each system of `holds`."""
    period, longest = tight.controller.period, float(setup.grid.ends[-1])
    arrived = approach(bench, tight, plan, setup.asked.seed)
    state, highest = arrived.state, arrived.highest_Pa
    found: dict[str, list[Vector]] = {name: [] for name in holds}
    for time in setup.grid.soaks:
        left = replace(arrived, state=state).left_s(float(time), period)
        state, _, top = soak(tight, state, plan.pressure_Pa, left)
        highest = max(highest, top)
        for name, system in holds.items():
            found[name].append(_shut(bench, system, plan, state, longest, arrived.moved_s))
    signals: Signals = {name: np.array(one) for name, one in found.items()}
    return _Side(signals, arrived.arrived_s, arrived.arrived_s - arrived.moved_s, highest)


def _responses(setup: Setup, bench: Bench, system: System, nodes: list[int], arrived_s: float) -> Signals:
    """What a unit of each random part adds, found from a bench at rest at the pressure with its valves shut.

    A part that acts on walls and gas acts from the start of the run on; that the controller keeps the pressure until
    the valves shut is made up for by counting from then. arrived_s: at the pressure, since the start of the run.
    """
    every = setup.plans[0].every_s
    rows = round(float(setup.grid.ends[-1]) / every) + 1
    ages = np.round((arrived_s + setup.grid.soaks) / every).astype(int)
    clock = np.arange(ages[-1] + rows) * every
    start = system.start_Pa.copy()
    start[nodes] = setup.pressure_Pa
    rest = replace(system, start_Pa=start, warmer_K=None)
    sensor = bench.sensors[setup.plans[0].sensor]
    room = rest.net.room

    def answer(changed: System, course: Vector) -> NDArray[np.float64]:
        """Of a changed system, less the unchanged; course [k]: of the room, K."""
        whole = _reading(setup, changed, clock) - at_rest + sensor.zero_shift * course
        return _by_soak(whole, ages, rows)

    still = replace(rest, net=rest.net._replace(room=_room(room)))
    needed = any(case == DRIFT or case in CYCLE for case in setup.cases)
    at_rest = _reading(setup, still, clock) if needed else clock
    found: Signals = {}
    for case in setup.cases[2:]:
        if case == setup.drift_key:
            found[case] = _by_soak(clock, ages, rows)
        elif case == BAROMETER:
            found[case] = _by_soak(-clock, ages, rows)
        elif case == DRIFT:
            changed = replace(rest, net=rest.net._replace(room=_room(room, ramp=UNIT_RAMP)))
            found[case] = answer(changed, UNIT_RAMP * clock) / UNIT_RAMP
        elif case in CYCLE:
            phase = 0.0 if case == CYCLE[0] else 0.5 * np.pi
            changed = replace(rest, net=rest.net._replace(room=_room(room, bench.room.cycle, phase)))
            course = bench.room.cycle * np.sin(2.0 * np.pi * clock / room[3] + phase)
            found[case] = answer(changed, course)
    return found


def _room(room: Vector, cycle: float = 0.0, phase: float = 0.0, ramp: float = 0.0) -> Vector:
    changed = room.copy()
    changed[[R_RAMP, R_CYCLE, R_PHASE]] = ramp, cycle, phase
    return changed


def _reading(setup: Setup, system: System, clock: Vector) -> Vector:
    """The sensor's pressure from a rest with shut valves, Pa."""
    _, trace = hold(system, begin(system), clock)
    if trace.reason is not None:
        raise InputError("command line", "--pressure", trace.reason, "a hold that the gas table covers")
    return np.asarray(trace.gauge_Pa[:, system.names.gauge[setup.plans[0].sensor]])


def _by_soak(whole: Vector, ages: NDArray[np.int64], rows: int) -> NDArray[np.float64]:
    """The rows from shutting the valves on after each soak [s, k], less the first."""
    return np.array([whole[age : age + rows] - whole[age] for age in ages])
