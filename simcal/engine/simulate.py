"""The Python side of the engine: a system, its state, commands, and what comes back.

    system = ...                     # bench.network.build(bench)
    state = begin(system)
    state, trace = advance(system, state, Command(CONTROL, target_Pa=7e5), samples=3000)

A state is never changed; advancing gives a new one. A call should last at most about 0.2 s: a few thousand samples.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np

from simcal.control.pid import bumpless
from simcal.engine.arrays import CAPACITY, SMALLEST_LAG, Controller, Floats, Ints, Network, Sizes, sizes
from simcal.engine.between import FASTEST, HIGHEST, LOWEST, new_record
from simcal.engine.hold import run_hold
from simcal.engine.loop import Carried, new_scratch, run
from simcal.engine.plant import GAS_COLUMNS, P_M, P_U, P, T, boundary_states, gas_states, plant
from simcal.engine.pulses import new_pulses
from simcal.engine.quiet import exponentials, scales
from simcal.engine.rosenbrock import new_work
from simcal.engine.sample import CONTROL, SHUT, VENT, Orders, room_temperature
from simcal.engine.stretch import LEFT_TABLE, OK, STUCK
from simcal.physics.gas import density, properties
from simcal.tables.gas import GasTable

__all__ = [
    "CONTROL", "SHUT", "VENT", "Command", "Effort", "Linear", "Names", "State", "System", "Trace", "advance", "begin",
    "hold", "linear_model", "pressures", "temperatures", "total_energy",
]  # fmt: skip

REASONS = {
    LEFT_TABLE: "a volume's gas left the range of the gas table (too cold, too hot or too dense)",
    STUCK: "the step became too short to go on; a conductance or a capacity is out of all proportion",
}
STEP_TOLERANCE = 2e-8
"""Pressure error allowed in one step of a controlled run, as a share of full scale"""
HOLD_TOLERANCE = 5e-9
"""The same in a hold, whose drift is the answer"""


@dataclass(frozen=True)
class Names:
    """What the indices of a network stand for: name -> index."""

    node: Mapping[str, int]
    gauge: Mapping[str, int]
    valve: Mapping[str, int]
    edge: Mapping[str, int]
    boundary: Mapping[str, int]
    """index among nodes and boundaries, so from n on"""


@dataclass(frozen=True)
class Effort:
    """How hard the engine tries: factors on the map's box and on the step tolerance; halving both is the self-check."""

    box: float = 1.0
    tolerance: float = 1.0


@dataclass(frozen=True, repr=False)
class System:
    """A network with its gas, its controller, its names, the effort.

    start_Pa [n]: where every volume begins, Pa abs; warmer_K [n]: its wall then less the room, None: nought.
    """

    net: Network
    table: GasTable
    controller: Controller
    names: Names
    start_Pa: Floats
    effort: Effort = Effort()
    warmer_K: Floats | None = None

    @property
    def sizes(self) -> Sizes:
        """Counts and offsets of the network's states."""
        return sizes(self.net)


@dataclass(frozen=True)
class Command:
    """What the controller is told: mode CONTROL, SHUT or VENT; target in Pa abs at its sensor; noise in its reading.

    Its sensor reads the pressure plus offset_Pa plus shift_Pa, which dies with shift_time_s (s) from the command on.
    """

    mode: int
    target_Pa: float = 0.0
    noise: bool = False
    offset_Pa: float = 0.0
    shift_Pa: float = 0.0
    shift_time_s: float = 1.0


@dataclass(frozen=True, repr=False)
class State:
    """One moment of a run. x, totals as in `arrays`; memory of the controller; sample number; last command and when."""

    x: Floats
    totals: Floats
    memory: Floats
    sample: int = 0
    command: Command | None = None
    command_at: int = 0
    seed: int = 1


@dataclass(frozen=True, repr=False)
class Trace:
    """A recorded stretch: row k at the start of sample k. pressure_Pa [k, n], gauge_Pa [k, g], drive [k] (-1 to 1).

    stepped [m]: the rows whose samples were advanced in steps; for each of these what the pressures do until the next
    row: highest_Pa and lowest_Pa [m, n], fastest_Pa_per_s [m, n] of either sign. (In the others hardly anything moves.)
    reason: None, or why the run ended early (the rows before are good). maps: one-sample maps built.
    """

    time_s: Floats
    pressure_Pa: Floats
    gauge_Pa: Floats
    drive: Floats
    period_s: float
    reason: str | None = None
    maps: int = 0
    temperature_K: Floats = field(default_factory=lambda: np.empty((0, 0)))
    wall_K: Floats = field(default_factory=lambda: np.empty((0, 0)))
    stepped: Ints = field(default_factory=lambda: np.empty(0, np.int64))
    highest_Pa: Floats = field(default_factory=lambda: np.empty((0, 0)))
    lowest_Pa: Floats = field(default_factory=lambda: np.empty((0, 0)))
    fastest_Pa_per_s: Floats = field(default_factory=lambda: np.empty((0, 0)))


def begin(system: System, seed: int = 1) -> State:
    """The system at rest: every volume at its start pressure, gas and (but for `warmer_K`) walls as warm as the room.

    Raises ValueError where a start lies outside the gas table.
    """
    net, size = system.net, system.sizes
    x = np.zeros(size.states)
    room = room_temperature(net.room, 0.0)
    for i in range(size.nodes):
        rho = density(system.table, float(system.start_Pa[i]), room)
        if not np.isfinite(rho):
            raise ValueError(f"start at {system.start_Pa[i]:g} Pa, {room:g} K lies outside the gas table")
        x[i] = rho * net.node_par[i, CAPACITY]
        x[size.nodes + i] = x[i] * properties(system.table, rho, room)[3]
    x[size.wall : size.wall + size.nodes] = room if system.warmer_K is None else room + system.warmer_K
    x[size.gauge : size.gauge + size.gauges] = system.start_Pa[net.gauge_node]
    x[size.valve : size.valve + size.valves] = system.controller.base[SHUT]
    x[size.room] = room
    return State(x, np.zeros(size.totals), np.zeros(11), seed=seed)


def _memory(system: System, state: State, command: Command) -> Floats:
    """The controller's memory at the start of a call: kept, or renewed where a command begins."""
    memory, ctl = state.memory.copy(), system.controller
    last = state.command
    if ctl.kind == 0:
        memory[5] = -1.0  # no noise is carried over, the seed may be another
    if last is not None and last == command:
        return memory
    if ctl.kind == 1:
        seen = state.x[system.sizes.gauge + ctl.index[0]] if ctl.index[0] >= 0 else system.start_Pa[0]
        memory[4] = memory[5] if last is not None and last.mode == CONTROL else seen
        memory[6:11] = ctl.behaviour[:5]
        memory[7] += ctl.behaviour[5] * abs(command.target_Pa - memory[4])
    elif last is None or last.mode != CONTROL:
        seen = (state.x[system.sizes.gauge + ctl.index[0]] - ctl.scale[0]) / ctl.scale[1]
        bumpless(memory, seen, 0.0, ctl.gains)
    return memory


def advance(
    system: System, state: State, command: Command, samples: int, effort: Effort | None = None
) -> tuple[State, Trace]:
    """Run `samples` controller samples under a command. The state after it, and the trace of the samples before.

    A command equal to the last one goes on; another one starts at this moment.
    """
    effort = effort or system.effort
    size, ctl = system.sizes, system.controller
    x, totals, memory = state.x.copy(), state.totals.copy(), _memory(system, state, command)
    command_at = state.command_at if command == state.command else state.sample
    if ctl.kind == 1 and command.mode == CONTROL and (state.command is None or state.command.mode != CONTROL):
        x[size.valve + ctl.index[4]] = memory[4] / ctl.servo_scale  # the node is taken up where it stands
    record = new_record(samples, size.nodes, size.gauges)
    tolerance = STEP_TOLERANCE * ctl.scale[1] * effort.tolerance
    scalars: Any = {name: tuple(getattr(ctl, name).tolist()) for name in ("scale", "gains", "drive", "pulse")}
    orders = Orders(
        command.mode, command.target_Pa, command.noise, state.seed, state.sample, command_at,
        command.offset_Pa, command.shift_Pa, command.shift_time_s, effort.box, tolerance,
    )  # fmt: skip
    pulses = new_pulses(system.net) if ctl.pulse[:2].any() else None
    status, done, stepped, maps = run(
        system.net, system.table, ctl._replace(**scalars), orders, Carried(x, totals, memory), new_scratch(system.net),
        record, pulses,
    )  # fmt: skip
    n, g, out, extremes = size.nodes, size.gauges, record.rows, record.extremes[:stepped].copy()
    trace = Trace(
        time_s=(state.sample + np.arange(done, dtype=np.float64)) * ctl.period,
        pressure_Pa=out[:done, :n],
        gauge_Pa=out[:done, n : n + g],
        drive=out[:done, n + g],
        period_s=ctl.period,
        reason=REASONS.get(status) if status != OK else None,
        maps=maps,
        stepped=record.stepped[:stepped].copy(),
        highest_Pa=extremes[:, :, HIGHEST],
        lowest_Pa=extremes[:, :, LOWEST],
        fastest_Pa_per_s=extremes[:, :, FASTEST],
    )
    return replace(
        state,
        x=x,
        totals=totals,
        memory=memory,
        sample=state.sample + done,
        command=command,
        command_at=command_at,
    ), trace


def hold(
    system: System, state: State, times_s: Floats, effort: Effort | None = None, mode: int = SHUT
) -> tuple[State, Trace]:
    """An isolated hold from the state's time on: valves shut, free steps, readings at rising times_s [k] (run's clock).

    The state after it stands at the sample next to times_s[-1].
    """
    effort = effort or system.effort
    size, ctl = system.sizes, system.controller
    x, totals = state.x.copy(), state.totals.copy()
    openings = x[size.valve : size.valve + size.valves]
    openings[:] = np.where(np.isinf(system.net.valve_lag), ctl.base[mode], openings)  # what is set and not followed
    times = np.ascontiguousarray(times_s, dtype=np.float64)
    out = np.empty((len(times), 3 * size.nodes + size.gauges))
    tolerance, ends = HOLD_TOLERANCE * ctl.scale[1] * effort.tolerance, np.empty((4, out.shape[1]))
    status, rows = run_hold(
        system.net, system.table, state.sample * ctl.period, x, totals, ctl.base[mode], tolerance, times,
        new_work(system.net), ends, out,
    )  # fmt: skip
    n = size.nodes
    trace = Trace(
        time_s=times[:rows],
        pressure_Pa=out[:rows, :n],
        gauge_Pa=out[:rows, 3 * n :],
        drive=np.zeros(rows),
        period_s=ctl.period,
        reason=REASONS.get(status) if status != OK else None,
        temperature_K=out[:rows, n : 2 * n],
        wall_K=out[:rows, 2 * n : 3 * n],
    )
    sample = round((times[rows - 1] if rows else 0.0) / ctl.period)
    return replace(state, x=x, totals=totals, sample=sample, command=Command(mode), command_at=state.sample), trace


class Linear(NamedTuple):
    """The plant as a sampled linear system around one state: d' = E d + G c, readings and pressures as rows of d.

    E [s, s]; G [s, v] per valve command; state indices as in `arrays`; pressure [n, s] and speed f [s] at the state.
    """

    E: Floats
    G: Floats
    pressure: Floats
    f: Floats


def linear_model(system: System, state: State, mode: int = CONTROL) -> Linear:
    """The exact one-sample map of the plant linearised at a state, hold of the commands included."""
    net, size = system.net, system.sizes
    nx = size.states
    gas = _gas(system, state)
    f, rate, jac, tot = np.empty(nx), np.empty(size.totals), np.empty((nx, nx)), np.empty((size.totals, nx))
    command = state.x[size.valve : size.valve + size.valves].copy()
    servo = 1.0 if system.controller.kind == 1 and mode == CONTROL else 0.0
    # a pulsed valve acts on average like a proportional one without lag
    net = net._replace(valve_lag=np.where(np.isinf(net.valve_lag), SMALLEST_LAG, net.valve_lag))
    plant(net, system.table, state.x, command, 0.0, servo, gas, f, rate, jac, tot, True)
    scale, (e, f1, f2, f3) = np.empty(nx), np.empty((4, nx, nx))
    scales(net, state.x, gas, scale)
    exponentials(jac, scale, system.controller.period, e, f1, f2, f3, np.empty((2, nx, 4 * nx)))
    inputs = np.zeros((nx, size.valves))
    inputs[size.valve : size.valve + size.valves] = np.diag(1.0 / net.valve_lag)
    pressure = np.zeros((size.nodes, nx))
    for i in range(size.nodes):
        pressure[i, i], pressure[i, size.nodes + i] = gas[i, P_M], gas[i, P_U]
    return Linear(e, f1 @ inputs, pressure, f)


def _gas(system: System, state: State) -> Floats:
    """Gas scratch of `plant` at a state."""
    net, size = system.net, system.sizes
    gas = np.zeros((size.nodes + net.bound.shape[0], GAS_COLUMNS))
    gas[:, T] = room_temperature(net.room, 0.0)
    boundary_states(net, gas)
    if not gas_states(net, system.table, state.x, gas):
        raise ValueError(REASONS[LEFT_TABLE])
    return gas


def pressures(system: System, state: State) -> Floats:
    """True pressure of every volume [n], Pa abs."""
    return _gas(system, state)[: system.sizes.nodes, P]


def temperatures(system: System, state: State) -> Floats:
    """Gas temperature of every volume [n], K."""
    return _gas(system, state)[: system.sizes.nodes, T]


def total_energy(system: System, state: State) -> float:
    """Internal energy of all gas and all walls, J: what the energy totals must account for."""
    size = system.sizes
    heat = system.net.node_par[:, 1] * state.x[size.wall : size.wall + size.nodes]
    return float(state.x[size.nodes : 2 * size.nodes].sum() + heat.sum())
