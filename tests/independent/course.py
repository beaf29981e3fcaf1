"""Independent re-implementation, shares nothing with simcal/: a run of setpoints on the separately solved bench.

Each point is watched until it can be read, the next command comes at the end of its window and the state is carried
over. After shut valves or a vent the controller starts anew, as at the beginning (the documented choice).
"""

from dataclasses import dataclass

import numpy as np

from tests.independent import settling
from tests.independent.flow import flow
from tests.independent.gas import look_up
from tests.independent.plant import Plant, pressures
from tests.independent.settling import Exposure, Trace, Wanted
from tests.independent.solve import Loop

HELD, ISOLATED, VENT = "held", "isolated", "vent"
LOOK = 25  # samples between two looks for a window
PARTS = 10  # of a sample, for what happens between two


@dataclass(frozen=True)
class Point:
    """One setpoint (Pa abs) and how it is read."""

    target: float
    mode: str = HELD


@dataclass(frozen=True)
class Way:
    """The sequence and the comparison: s, Pa; noise and resolution of reference and device; device higher by m."""

    points: tuple[Point, ...]
    allowance: float
    window: float = 1.0
    soak: float = 1.0
    longest: float = 1800.0
    instruments: tuple[tuple[float, float], ...] = ((0.0, 0.0), (0.0, 0.0))
    higher: float = 0.0
    node: int = 0
    port: int = 1


@dataclass(frozen=True)
class Answer:
    """What is found of one point: s, Pa, mol/s; latest start for isolated points, from the command too."""

    arrival: float
    dwell: float
    ready: float
    error: float
    line: float
    random: float
    exposure: Exposure
    head: float
    make_up: float
    latest: float | None


class Watched:
    """Rows of one point with the loop's state at each, so that it can go back to any of them."""

    def __init__(self, loop: Loop, way: Way) -> None:
        self.loop, self.way = loop, way
        self.rows: list[np.ndarray] = []
        self.states: list[tuple] = []
        self.inside: list[tuple[float, float, float]] = []

    def _keep(self) -> None:
        loop = self.loop
        memory = None if loop.seen is None else (loop.integral, loop.slope, loop.seen)
        self.states.append((loop.y.copy(), loop.opening.copy(), loop.clock, memory))
        n = len(loop.plant.vessels)
        p = pressures(loop.plant.gas, loop.y, n)
        self.rows.append(np.array([loop.y[3 * n], loop.y[3 * n + 1], p[self.way.port], p[self.way.node]]))

    def go_on(self, order: float | np.ndarray, samples: int) -> None:
        """Rows at the start of so many samples. order: a target (Pa) to hold, or the valves' openings."""
        loop = self.loop
        for _ in range(samples):
            self._keep()
            if isinstance(order, float):
                loop.to(order, 1)
            else:
                loop.seen = None
                loop.sample(order)
            p, rate = (a[:, self.way.port] for a in loop.inside())
            self.inside.append((p.max(), p.min(), np.abs(rate).max()))

    def back_to(self, sample: int) -> None:
        """Put the loop where it stood at the start of a sample and forget what came after."""
        self.loop.y, self.loop.opening, self.loop.clock, memory = self.states[sample]
        self.loop.seen = None
        if memory is not None:
            self.loop.integral, self.loop.slope, self.loop.seen = memory
        del self.rows[sample:], self.states[sample:], self.inside[sample:]

    @property
    def trace(self) -> Trace:
        return Trace(*np.array(self.rows).T, np.array(self.inside))

    def until(self, order: float | np.ndarray, test) -> int:
        """The sample that the test finds in the trace."""
        while True:
            self.go_on(order, LOOK)
            found = test(self.trace)
            if found is not None:
                return found
            if len(self.rows) * self.loop.plant.period > self.way.longest:
                raise RuntimeError("a point of the test is never ready")


def mass(plant: Plant, y: np.ndarray) -> float:
    """Gas in all vessels, kg."""
    return sum(v.volume * rho for v, rho in zip(plant.vessels, y, strict=False))


def lost(plant: Plant, y: np.ndarray) -> float:
    """Flow through paths that no valve closes, into boundaries, kg/s."""
    n, total, gas, out = len(plant.vessels), 0.0, plant.gas, np.empty(9)
    for edge in plant.edges:
        if edge.valve is not None or not isinstance(edge.b, str):
            continue
        rho, T = y[edge.a], y[n + edge.a]
        look_up(gas, rho, T, out)
        Z = out[0] / (rho * gas.r * T)
        numbers, low = np.array(edge.numbers), plant.boundaries[edge.b][0]
        total += flow(edge.law, out[0], low, T, Z, out[6], out[8], gas.r, gas.molar_mass, gas.gamma, numbers)
    return total


def make_up(plant: Plant, states: list[np.ndarray]) -> float:
    """Inlet minus outlet, mol/s, mean over rows one period apart: what the gas inside gained and what leaked."""
    seconds = (len(states) - 1) * plant.period
    leak = np.trapezoid([lost(plant, y) for y in states], dx=plant.period)
    return (mass(plant, states[-1]) - mass(plant, states[0]) + leak) / seconds / plant.gas.molar_mass


def _branch(watched: Watched, wanted: Wanted, since: float) -> float:
    """Latest start of a window on the branch that stays shut to `longest`; the loop itself does not move."""
    loop, seconds = watched.loop, watched.way.window
    kept = loop.y, loop.opening, loop.clock
    times = np.arange(loop.clock + 0.05, since + watched.way.longest + 1e-9, 0.05)
    run = loop.hold(times)
    loop.y, loop.opening, loop.clock = kept
    gauge, pressure = run.gauge.T, run.pressure.T
    trace = Trace(gauge[0], gauge[1], pressure[watched.way.port], pressure[watched.way.node])
    return settling.latest_start(times - since, trace, wanted, seconds)


def read(loop: Loop, way: Way, point: Point, step: float, random: float) -> Answer:
    """Go to a point, `step` (Pa) from the one before, and read it; the loop stands at the end of its window.

    random: 2 s of the mean of what is random, Pa.
    """
    plant, period = loop.plant, loop.plant.period
    window = round(way.window / period)
    near = settling.nearness(step, way.allowance)
    wanted = Wanted(point.target, near, way.allowance, random, window, round(way.soak / period), step > 0.0)
    watched, since, begin = Watched(loop, way), loop.clock, 0
    order: float | np.ndarray = point.target
    if point.mode == VENT:
        order = np.array([0.0, 0.0, 1.0])
    if point.mode == ISOLATED:
        begin = watched.until(order, lambda t: settling.valves_shut(t, wanted))
        watched.back_to(begin)
        order = np.zeros(len(plant.valve_lags))
    start = watched.until(order, lambda t: settling.window_start(t, wanted, begin))
    trace, end = watched.trace, start + window
    states = [s[0] for s in watched.states[start : end + 1]]
    entry = settling.arrival(trace, wanted, start)
    watched.back_to(end)
    return Answer(
        arrival=entry * period,
        dwell=(start - entry) * period,
        ready=start * period,
        error=settling.mean(trace.device, wanted, start) - settling.mean(trace.reference, wanted, start),
        line=settling.mean(trace.port, wanted, start) - settling.mean(trace.node, wanted, start),
        random=random,
        exposure=settling.exposure(trace, wanted, end),
        head=settling.column(loop.y[way.node], way.higher),
        make_up=0.0 if point.mode == VENT else make_up(plant, states),  # a vent is neither inlet nor outlet
        latest=_branch(watched, wanted, since) if point.mode == ISOLATED else None,
    )


def run(plant: Plant, way: Way) -> tuple[list[Answer], float]:
    """All points one after the other from rest at the start pressure; and the clock at the end of the last window."""
    loop, answers, before = Loop(plant, PARTS), [], plant.start
    counts = [settling.readings_of_their_own(way.window, plant.period, lag) for _, lag in plant.gauges]
    random = settling.random_of_mean(list(way.instruments), counts)
    for point in way.points:
        answers.append(read(loop, way, point, point.target - before, random))
        before = point.target
    return answers, loop.clock
