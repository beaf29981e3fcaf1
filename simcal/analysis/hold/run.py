"""The hold itself: on to the pressure under control, soak, then the valves shut and free steps to the end."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.hold.plan import Plan
from simcal.bench.bench import Bench
from simcal.bench.network import surface_path
from simcal.bench.parts import SURFACE
from simcal.engine.arrays import WALL_HEAT
from simcal.engine.simulate import CONTROL, Command, State, System, Trace, advance, begin, hold
from simcal.errors import InputError
from simcal.units import pressure_text

Vector = NDArray[np.float64]

CLOSE = 0.01
"""of the step: how near the pressure has to come before the soak begins, as in `settle`"""
STAY = 1.0
"""s; for how long it has to stay there, the first part of the soak; less with a shorter soak"""
LONGEST = 1800.0
"""s; given to one move"""
LEAD = 30.0
"""s; of the soak that a record shows"""
STRETCH = 0.5
"""s; pieces of a hold while a hand is on a body"""
FADING = 0.02
"""largest relative change of a fading source within one piece of a hold"""
CALL = 2.0
"""s of bench time under control in one call of the engine"""


@dataclass(frozen=True)
class Course:
    """What happened, on the run's clock [s]. Rows k: time_s, pressure_Pa [k, n], gauge_Pa [k, g], wall_K [k, n],
    temperature_K [k, n] of the gas; under control that is not kept and the rows hold NaN.

    shut_s: when the valves shut; moved_s: when the last move began; arrived_s: when it came near; watched: state at the
    start of the watch; ended: at its end.
    """

    time_s: Vector
    pressure_Pa: NDArray[np.float64]
    gauge_Pa: NDArray[np.float64]
    wall_K: NDArray[np.float64]
    temperature_K: NDArray[np.float64]
    moved_s: float
    arrived_s: float
    shut_s: float
    highest_Pa: float
    watched: State
    ended: State


Rows = tuple[Vector, NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]


@dataclass(frozen=True)
class Arrived:
    """The pressure has been reached. moved_s: when the last move began; arrived_s: when it came near; both s, run's
    clock; state: after it stayed near for the first part of the soak; highest_Pa: on the way.
    """

    state: State
    moved_s: float
    arrived_s: float
    highest_Pa: float

    def left_s(self, soak_s: float, period: float) -> float:
        """What is left of a soak of soak_s, s."""
        return self.arrived_s + soak_s - self.state.sample * period


def approach(bench: Bench, system: System, plan: Plan, seed: int) -> Arrived:
    """Go from rest to the pressure of a hold, with a detour, where there is one, and a soak at its end.

    Raises:
        InputError: the pressure is not reached, or the gas leaves its table.
    """
    period, before = system.controller.period, bench.room.barometer
    ripple = bench.controller.behaviour.ripple if bench.controller.behaviour else 0.0
    detour = plan.start_Pa != before
    arrived = Arrived(begin(system, seed), 0.0, 0.0, float(system.start_Pa.max()))
    for target in [plan.start_Pa, plan.pressure_Pa] if detour else [plan.pressure_Pa]:
        state, highest = arrived.state, arrived.highest_Pa
        if target == plan.pressure_Pa and detour:
            state, _, top = soak(system, state, before, arrived.left_s(plan.soak_s, period))
            highest = max(highest, top)
        near = max(CLOSE * abs(target - before), 2.0 * ripple, 1.0)
        moved = state.sample * period
        state, at, peak = _move(system, state, target, near, min(STAY, plan.soak_s))
        arrived, before = Arrived(state, moved, at, max(highest, peak)), target
    return arrived


def run(bench: Bench, system: System, plan: Plan, seed: int) -> Course:
    """Run a planned hold from a bench at rest.

    Raises:
        InputError: the pressure is not reached, or the gas leaves its table.
    """
    arrived = approach(bench, system, plan, seed)
    left = arrived.left_s(plan.soak_s, system.controller.period)
    state, soaked, top = soak(system, arrived.state, plan.pressure_Pa, left)
    shut = state.sample * system.controller.period
    lead = soaked.rows(plan)
    pieces, watched, ended = shut_in(bench, system, state, plan)
    n = system.sizes.nodes
    none = np.full((len(lead[0]), n), np.nan)
    return Course(
        time_s=np.concatenate([lead[0], *(p.time_s for p in pieces)]),
        pressure_Pa=np.concatenate([lead[1], *(p.pressure_Pa for p in pieces)]),
        gauge_Pa=np.concatenate([lead[2], *(p.gauge_Pa for p in pieces)]),
        wall_K=np.concatenate([lead[3], *(p.wall_K for p in pieces)]),
        temperature_K=np.concatenate([none, *(p.temperature_K for p in pieces)]),
        moved_s=arrived.moved_s,
        arrived_s=arrived.arrived_s,
        shut_s=shut,
        highest_Pa=max(arrived.highest_Pa, top, *(float(piece.pressure_Pa.max(initial=0.0)) for piece in pieces)),
        watched=watched,
        ended=ended,
    )


def _move(system: System, state: State, target: float, near: float, stay_s: float) -> tuple[State, float, float]:
    """Go to a target; the state after it stayed `near` [Pa], when it came near [s], the highest pressure [Pa]."""
    gauge = int(system.controller.index[0])
    period, start = system.controller.period, state.sample
    call, stay = max(round(CALL / period), 1), max(round(stay_s / period), 1)
    peak, count = 0.0, 0
    while (state.sample - start) * period < LONGEST:
        before, (state, trace) = state, _controlled(system, state, target, call)
        for row, off in enumerate(np.abs(trace.gauge_Pa[:, gauge] - target) <= near):
            count = count + 1 if off else 0
            if count >= stay:
                state, trace = _controlled(system, before, target, row + 1)
                return state, (state.sample - count) * period, max(peak, float(trace.pressure_Pa.max()))
        peak = max(peak, float(trace.pressure_Pa.max()))
    found = f"{pressure_text(target, 'abs')} is not reached within {LONGEST:g} s"
    raise InputError("command line", "--pressure", found, "a pressure that `simcal settle` reaches on this bench")


def _controlled(system: System, state: State, target: float, samples: int) -> tuple[State, Trace]:
    state, trace = advance(system, state, Command(CONTROL, target), samples)
    if trace.reason is not None:
        raise InputError("command line", "--pressure", trace.reason, "a pressure that the bench can be at")
    return state, trace


@dataclass(frozen=True)
class Soaked:
    """The last samples of a soak, for the rows that a record shows before the valves shut, and states between."""

    system: System
    traces: list[Trace]
    states: list[State]

    def rows(self, plan: Plan) -> Rows:
        """Rows before the valves shut, at most `LEAD` s before it; walls straight between states."""
        size, period = self.system.sizes, self.system.controller.period
        if not self.traces:
            return np.empty(0), np.empty((0, size.nodes)), np.empty((0, size.gauges)), np.empty((0, size.nodes))
        time = np.concatenate([t.time_s for t in self.traces])
        first, every = _grid(plan, period)
        count = (min(round(LEAD / period), len(time)) + first) // every
        places = len(time) + first - every * np.arange(count, 0, -1)
        pressure = np.concatenate([t.pressure_Pa for t in self.traces])[places]
        gauge = np.concatenate([t.gauge_Pa for t in self.traces])[places]
        clock = np.array([s.sample * period for s in self.states])
        walls = np.array([s.x[size.wall : size.wall + size.nodes] for s in self.states])
        wall = np.column_stack([np.interp(time[places], clock, walls[:, i]) for i in range(size.nodes)])
        return time[places], pressure, gauge, wall


def soak(system: System, state: State, target: float, time: float) -> tuple[State, Soaked, float]:
    """Stay at a target under control for a time [s]; about the last `LEAD` s are kept; and the highest pressure."""
    left, call = round(time / system.controller.period), max(round(CALL / system.controller.period), 1)
    traces: list[Trace] = []
    states, highest = [state], 0.0
    most = round(LEAD / system.controller.period) // call + 2
    while left > 0:
        state, trace = _controlled(system, state, target, min(call, left))
        left -= len(trace.time_s)
        highest = max(highest, float(trace.pressure_Pa.max()))
        traces, states = [*traces, trace][-most:], [*states, state][-most - 1 :]
    return state, Soaked(system, traces, states), highest


KEPT = ("time_s", "pressure_Pa", "gauge_Pa", "wall_K", "temperature_K")


def shut_in(bench: Bench, system: System, state: State, plan: Plan) -> tuple[list[Trace], State, State]:
    """Rows from the state on, at which the valves shut, in pieces; the states at the start and the end of the watch.

    A piece ends where something outside the engine changes; its rows are those from its start to before its end.
    """
    period = system.controller.period
    shut = state.sample * period
    (first, every), last = _grid(plan, period), round((plan.wait_s + plan.watch_s) / period)
    times = (state.sample + np.arange(first, last + 1, every)) * period
    samples = {round(at / period) for at in (*_breaks(bench, plan, shut), shut + plan.wait_s, times[-1])}
    pieces: list[Trace] = []
    watched = state
    for sample in sorted(samples - {state.sample}):
        now, end = state.sample * period, sample * period
        inside = times[(times >= now - 1e-9) & (times < end - 1e-9)]
        state = _warmed(bench, system, state, now - shut, end - shut)
        state, trace = hold(_fading(bench, system, now), state, np.append(inside, end))
        if trace.reason is not None:
            raise InputError("command line", "--pressure", trace.reason, "a hold that the gas table covers")
        pieces.append(
            trace if sample == max(samples) else replace(trace, **{name: getattr(trace, name)[:-1] for name in KEPT})
        )
        watched = state if sample == round((shut + plan.wait_s) / period) else watched
    return pieces, watched, state


def _grid(plan: Plan, period: float) -> tuple[int, int]:
    """Samples from shutting the valves to the first row, and between two rows: the watch begins with a row."""
    every = round(plan.every_s / period)
    return round(plan.wait_s / period) % every, every


def _breaks(bench: Bench, plan: Plan, shut: float) -> Iterator[float]:
    """Moments [s, run's clock] at which something outside the engine changes."""
    end = plan.wait_s + plan.watch_s
    for touch in bench.touches.values():
        count = math.ceil(touch.lasts / STRETCH)
        for k in range(count + 1):
            at = touch.after + min(k * STRETCH, touch.lasts)
            if 0.0 < at < end:
                yield shut + at
    for source in bench.outgassing.values():
        at = FADING * (source.age + shut)
        while at < end:
            yield shut + at
            at += FADING * (source.age + shut + at)


def _warmed(bench: Bench, system: System, state: State, start: float, end: float) -> State:
    """The state with what hands give from `start` to `end` [s after shutting] put into the walls at once."""
    x = state.x.copy()
    for touch in bench.touches.values():
        share = max(min(end, touch.after + touch.lasts) - max(start, touch.after), 0.0)
        node = system.names.node[touch.at]
        x[system.sizes.wall + node] += touch.power * share / system.net.node_par[node, WALL_HEAT]
    return replace(state, x=x)


def _fading(bench: Bench, system: System, now: float) -> System:
    """The system with every surface giving off gas as it does at `now` [s of the run]."""
    if not bench.outgassing:
        return system
    par = system.net.edge_par.copy()
    for name, source in bench.outgassing.items():
        rate = source.rate * source.age / (source.age + now)
        par[system.names.edge[f"{SURFACE}.{name}"], 0] = surface_path(bench, system.table, rate)
    return replace(system, net=system.net._replace(edge_par=par))
