"""What the control valves can still do at a setpoint, and the smallest step of the drive."""

import math

import numpy as np

from simcal.analysis.settle import standing
from simcal.analysis.settle.result import Authority
from simcal.analysis.settle.rig import Rig
from simcal.bench.parts import Valve
from simcal.engine.arrays import FROM, LAW, TO
from simcal.engine.simulate import State, pressures, temperatures
from simcal.physics.flow import edge_flow
from simcal.physics.stated import upstream

LEAST_SHARE = 0.3
"""of the choked flow below which authority counts as lost; common practice, no source"""
NEED_FACTOR = 2.0
"""the full flow should be this many times what the point needs; common practice, no source"""
NEARLY_VACUUM = 1e-3
"""ratio of pressures at which every valve is choked"""


def full_flow(rig: Rig, state: State, valve: str, down: float | None = None) -> float:
    """Flow of a fully open valve at a state [kg/s], towards its other end; `down` puts another pressure there [Pa].

    0 when the pressure upstream is not above the one downstream, or without such a valve.
    """
    system = rig.system
    if valve not in system.names.edge:
        return 0.0
    net, k = system.net, system.names.edge[valve]
    a, b = int(net.edge_int[k, FROM]), int(net.edge_int[k, TO])
    p = np.concatenate((pressures(system, state), net.bound[:, 0]))
    t = np.concatenate((temperatures(system, state), net.bound[:, 1]))
    if valve == "inlet":
        source, drain = (a, b) if _is_outside(rig, a) else (b, a)
    else:
        source, drain = (b, a) if _is_outside(rig, a) else (a, b)
    low = float(p[drain]) if down is None else down
    high = float(p[source])
    if high <= low:
        return 0.0
    gas = upstream(system.table, high, float(t[source]))
    return float(edge_flow(int(net.edge_int[k, LAW]), high, low, float(t[source]), gas, net.edge_par[k])[0])


def _is_outside(rig: Rig, node: int) -> bool:
    return node not in rig.own_nodes


def share_of_choked(rig: Rig, state: State, valve: str) -> float:
    """Full flow at the state over the flow the same valve would pass if it were choked, 0..1."""
    high = rig.bench.supply.pressure if valve == "inlet" else float(pressures(rig.system, state)[rig.control_node])
    choked = full_flow(rig, state, valve, NEARLY_VACUUM * high)
    return full_flow(rig, state, valve) / choked if choked > 0.0 else 0.0


def smallest_opening(valve: Valve, period: float) -> float | None:
    """Share of full opening times period that the drive can add at least, 0..1; None for a continuous drive."""
    if valve.drive == "pulsed":
        return min(valve.min_pulse / period, 1.0)
    return 1.0 / valve.levels if valve.levels > 0 else None


def authority(rig: Rig, state: State, needed: float) -> Authority | None:
    """Authority at a state in which the reference is at its setpoint; `needed` is inlet minus outlet [kg/s].

    None for a controller known from outside, whose valves are not known.
    """
    if rig.system.controller.kind != 0:
        return None
    valves = {name: rig.bench.valves[name] for name in ("inlet", "outlet") if name in rig.bench.valves}
    stored = float(standing.stored_per_pressure(rig.system, state)[list(rig.own_nodes)].sum())
    flow = {name: full_flow(rig, state, name) for name in ("inlet", "outlet")}
    share = {name: share_of_choked(rig, state, name) for name in ("inlet", "outlet")}
    steps = [
        flow[name] * opening * rig.period / stored
        for name, valve in valves.items()
        if (opening := smallest_opening(valve, rig.period)) is not None
    ]
    return Authority(
        inlet_kg_per_s=flow["inlet"],
        outlet_kg_per_s=flow["outlet"],
        inlet_rate_Pa_per_s=flow["inlet"] / stored,
        outlet_rate_Pa_per_s=flow["outlet"] / stored,
        inlet_share=share["inlet"],
        outlet_share=share["outlet"],
        needed_kg_per_s=needed,
        smallest_step_Pa=max(steps) if steps else None,
        lost=_lost(flow, share, needed, set(valves)),
    )


def _lost(flow: dict[str, float], share: dict[str, float], needed: float, valves: set[str]) -> str | None:
    """The valve that has lost its authority, in words."""
    towards = {"inlet": "the supply's pressure is near", "outlet": "the exhaust's pressure is near"}
    for name, asked in (("inlet", needed), ("outlet", -needed)):
        if name not in valves:
            continue
        if share[name] < LEAST_SHARE:
            return f"{name}: fully open it passes {100.0 * share[name]:.2g} % of its choked flow, {towards[name]}"
        if asked > 0.0 and flow[name] < NEED_FACTOR * asked:
            part = 100.0 * asked / flow[name] if flow[name] > 0.0 else math.inf
            return f"{name}: the point takes {part:.3g} % of what it passes fully open"
    return None
