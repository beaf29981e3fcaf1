"""The network as flat arrays, the form in which the compiled engine reads it.

State vector `x` (length `sizes.states`), all SI:
    gas mass m[n] (kg) | gas internal energy U[n] (J) | wall temperature[n] (K) | hose strains (-) |
    gauge readings behind their lag[g] (Pa) | valve openings[v] (-) | room temperature (K)
Inputs: valve commands[v] (-), slope of the room temperature (K/s).
Totals (length 2 e + 2): mass through every edge (kg), energy through every edge (J), heat from the room (J), work
done on hose walls (J). An edge counts positive from its first to its second node.
Boundaries are numbered after the volumes: n, n+1, ... and do not change.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Indices = NDArray[np.uint64]
"""unsigned, so that the compiler need not look whether one counts from the end"""

# columns of node_par
CAPACITY, WALL_HEAT, ROOM_LINK, STRETCH, STRETCH_TIME, CREEP, CREEP_TIME = range(7)
# columns of edge_int
FROM, TO, LAW, VALVE = range(4)
# columns of bound
B_PRESSURE, B_TEMPERATURE, B_ENTHALPY, B_Z, B_VISCOSITY, B_CSTAR = range(6)
# columns of room
R_START, R_RAMP, R_CYCLE, R_PERIOD, R_PHASE = range(5)

SMALLEST_LAG = 1e-4  # s; a lag of nought is simulated as this, a hundredth of a usual controller period


class Network(NamedTuple):
    """A pneumatic network; n volumes, b boundaries, e edges, g gauges, v valves.

    node_par [n, 7], node_film [n, 8] (see physics.heat.film), node_strain [n] first strain state or -1,
    bound [b, 6], edge_int [e, 4], edge_par [e, 10] (see physics.flow), gauge_node [g], gauge_lag [g] s,
    valve_lag [v] s (inf: the opening is set, not followed), room [5] start K, ramp K/s, cycle K, period s, phase rad,
    order/heads/lists: elimination program of `elimination.plan`.
    """

    node_par: Floats
    node_film: Floats
    node_strain: Ints
    bound: Floats
    edge_int: Ints
    edge_par: Floats
    gauge_node: Ints
    gauge_lag: Floats
    valve_lag: Floats
    room: Floats
    order: Indices
    heads: Indices
    lists: Indices


class Sizes(NamedTuple):
    """Counts and first indices of the parts of the state vector."""

    nodes: int
    edges: int
    gauges: int
    valves: int
    strains: int
    wall: int
    strain: int
    gauge: int
    valve: int
    room: int
    states: int
    totals: int


def sizes(net: Network) -> Sizes:
    """Counts and offsets that follow from a network's array shapes."""
    n, e = net.node_par.shape[0], net.edge_int.shape[0]
    g, v = net.gauge_node.shape[0], net.valve_lag.shape[0]
    h = 2 * int((net.node_strain >= 0).sum())
    room = 3 * n + h + g + v
    return Sizes(n, e, g, v, h, 2 * n, 3 * n, 3 * n + h, 3 * n + h + g, room, room + 1, 2 * e + 2)


class Controller(NamedTuple):
    """The controller as arrays. kind 0: sampled PID on valves, 1: an approach known from outside (servo).

    scale [6]: zero of the scale Pa abs, full scale Pa, reading noise Pa (1 sd), resolution Pa, reading offset Pa,
    offset rate Pa/s. gains [10] (control.pid), drive [8] (control.drive), behaviour [6]: the five
    of control.approach, then overshoot as a share of the step.
    index [5]: gauge that is read, inlet valve, outlet valve, vent valve, servo valve (-1: none).
    base [3, v]: commands of the valves that the controller does not move, by mode (control, shut, vent).
    pulse [4]: 1 where inlet, outlet are pulsed, their shortest pulses s. servo_scale: Pa per servo command.
    """

    kind: int
    period: float
    scale: Floats
    gains: Floats
    drive: Floats
    behaviour: Floats
    index: Ints  # type: ignore[assignment]  # a tuple's own method of that name is of no use here
    base: Floats
    pulse: Floats
    servo_scale: float
