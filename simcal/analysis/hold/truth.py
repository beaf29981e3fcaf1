"""What is true of a hold: the leak, and what the change of the reading is made of.

The isolated volumes together hold M(p, T): a small change of the sensor's pressure is
(dM - sum V (d rho/dT)_p dT) / sum V (d rho/dp)_T and what volumes at other pressures and growing walls add.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.hold.run import Course
from simcal.bench.bench import Bench
from simcal.bench.network import own_volumes
from simcal.bench.parts import SERVO, SURFACE
from simcal.bench.reach import DRIVEN, isolated_with, pockets
from simcal.engine.arrays import CAPACITY
from simcal.engine.simulate import System
from simcal.physics.gas import density, properties

Vector = NDArray[np.float64]

MOST_POINTS = 200
"""of a watch at which the temperatures' share is added up"""


@dataclass(frozen=True)
class Isolated:
    """Indices of the volumes and cells of lines that stay openly joined to a sensor, and of the pockets beside them."""

    open: list[int]
    pockets: list[int]


def isolated(bench: Bench, system: System, sensor: str) -> Isolated:
    """What the valves shut in with a sensor."""
    here = isolated_with(bench, bench.sensors[sensor].at)
    beside = pockets(bench, here)
    return Isolated(own_volumes(bench, system.names, here), own_volumes(bench, system.names, beside))


def lost_kg(bench: Bench, system: System, course: Course, inside: Isolated) -> float:
    """Gas that left the isolated volume and its pockets to elsewhere during the watch, net, kg.

    What the controller's valves still pass while they go shut is no leak, nor is what surfaces give off.
    """
    nodes, edge = [*inside.open, *inside.pockets], system.names.edge
    fall = float(course.watched.x[nodes].sum() - course.ended.x[nodes].sum())
    others = [edge[name] for name in (*DRIVEN, SERVO) if name in edge]
    others += [edge[f"{SURFACE}.{name}"] for name in bench.outgassing]
    ends = np.isin(system.net.edge_int[others, :2], nodes)
    passed = (course.ended.totals - course.watched.totals)[others]
    return fall + float(passed @ (ends[:, 1].astype(float) - ends[:, 0]))


def parts(system: System, course: Course, inside: Isolated, lost: float, node: int, watch: slice) -> dict[str, float]:
    """Change of the true pressure at `node` over the rows of `watch`, Pa: leak, thermal, and the rest as other.

    lost: kg that left over the watch.
    """
    nodes = inside.open
    p, t = course.pressure_Pa[watch][:, nodes], course.temperature_K[watch][:, nodes]
    places = np.unique(np.linspace(0, len(p) - 1, min(MOST_POINTS, len(p))).round().astype(int))
    p, t = p[places], t[places]
    by_p, by_t = _slopes(system, p, t, system.net.node_par[nodes, CAPACITY])
    stored = by_p.sum(axis=1)
    middle = 0.5 * (by_t[1:] / stored[1:, None] + by_t[:-1] / stored[:-1, None])
    thermal = -float((middle * np.diff(t, axis=0)).sum())
    leak = -lost * float(np.mean(1.0 / stored))
    change = float(course.pressure_Pa[watch][-1, node] - course.pressure_Pa[watch][0, node])
    return {"leak": leak, "thermal": thermal, "other": change - leak - thermal}


def _slopes(system: System, p: NDArray, t: NDArray, capacity: Vector) -> tuple[NDArray, NDArray]:
    """V (d rho/dp)_T and V (d rho/dT)_p of every volume [k, n], kg/Pa and kg/K."""
    by_p, by_t = np.empty(p.shape), np.empty(p.shape)
    for k, i in np.ndindex(*p.shape):
        rho = density(system.table, float(p[k, i]), float(t[k, i]))
        _, dp_drho, dp_dT, *_ = properties(system.table, rho, float(t[k, i]))
        by_p[k, i] = capacity[i] / dp_drho
        by_t[k, i] = -capacity[i] * dp_dT / dp_drho
    return by_p, by_t
