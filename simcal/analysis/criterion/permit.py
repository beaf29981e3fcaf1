"""The leak that a bench's own accuracy permits: while the controller holds, and while the valves are shut."""

from collections.abc import Iterator
from dataclasses import dataclass

from scipy.optimize import brentq

from simcal.analysis.hold.plan import Plan
from simcal.bench.bench import Bench
from simcal.bench.gauges import Device
from simcal.bench.network import build, own_volumes
from simcal.bench.reach import DRIVEN, isolated_with
from simcal.control.pid import Gains
from simcal.engine.arrays import CAPACITY, FROM, LAW, TO
from simcal.engine.simulate import System
from simcal.errors import InputError
from simcal.physics.flow import ISO, KV, TUBE, edge_flow
from simcal.physics.rates import from_pressure_fall
from simcal.physics.stated import upstream

WINDOW, SKEW = 1.0, 0.0
"""s; of a reading and between device and reference, where no sequence states them"""


@dataclass(frozen=True)
class Permit:
    """rate: the smaller of the two, mol/s; held None: no line lies between. said: the formulas with their numbers."""

    rate: float
    held: float | None
    isolated: float
    said: tuple[str, ...]


def permit(bench: Bench, plan: Plan, gains: Gains | None = None) -> Permit:
    """What the first device that the valves shut in permits at the plan's pressure.

    Held, a leak at the device's end makes the line's pressure difference; isolated, a rate that the readings of device
    and reference see apart, and that moves the pressure while they are read. Each may be as large as what is left for
    settling, `allowance`.

    Raises:
        InputError: no device is shut in.
    """
    inside = isolated_with(bench, bench.sensors[plan.sensor].at)
    devices = {name: one for name, one in bench.devices.items() if one.at in inside}
    if not devices:
        found = f"no device is shut in with {plan.sensor}"
        raise InputError("command line", "--permitted-leak", found, "a leak, like 2e-8 mol/s")
    name, device = next(iter(devices.items()))
    allowance = device.allowance_at(device.range.stated(plan.pressure_Pa, bench.room.barometer))
    system = build(bench, gains)
    held = _held(bench, system, plan, device, allowance)
    apart, window = _apart(bench, plan, device)
    span = max(apart, window)
    isolated = _of_rate(bench, system, plan, allowance / span)
    said = [_allowance_said(name, device, allowance)]
    if held is not None:
        said.append(
            f"held: the leak at {name}'s end makes the line's pressure difference, p({plan.sensor}) - p({name}) = "
            f"{allowance:.3g} Pa at {held:.3g} mol/s (flow law of the lines between them)"
        )
    said.append(
        f"isolated: V (d rho/dp)_T/M times dp/dt, dp/dt = {allowance:.3g} Pa / {span:.3g} s, the larger of the "
        f"reading's window {window:.3g} s and of skew and lag {apart:.3g} s: {isolated:.3g} mol/s"
    )
    rate = isolated if held is None else min(held, isolated)
    said.append(f"the smaller governs: {'isolated' if rate == isolated else 'held'}, {rate:.3g} mol/s")
    return Permit(rate, held, isolated, tuple(said))


def _allowance_said(name: str, device: Device, allowance: float) -> str:
    if device.allowance is not None:
        return f"permitted leak from {name}'s allowance of {allowance:.3g} Pa"
    figure = f"a tenth of {name}'s accuracy, {allowance:.3g} Pa"
    return f"permitted leak from {figure} [common practice, no source]; device.{name}.allowance states another"


def _apart(bench: Bench, plan: Plan, device: Device) -> tuple[float, float]:
    """Between the moments that device and reference stand for, and the window of a reading, s."""
    sequence = next(iter(bench.sequences.values()), None)
    skew, window = (SKEW, WINDOW) if sequence is None else (sequence.skew, sequence.window)
    return abs(skew - device.lag + bench.sensors[plan.sensor].lag), window


def _of_rate(bench: Bench, system: System, plan: Plan, rate: float) -> float:
    """The leak, mol/s, that lets what the valves shut in fall at a rate [Pa/s]."""
    inside = isolated_with(bench, bench.sensors[plan.sensor].at)
    capacity = float(system.net.node_par[own_volumes(bench, system.names, inside), CAPACITY].sum())
    return from_pressure_fall(system.table, capacity, plan.pressure_Pa, bench.room.temperature, rate)


def _held(bench: Bench, system: System, plan: Plan, device: Device, drop: float) -> float | None:
    """The flow from the sensor to the device that makes a pressure difference of `drop`, mol/s; None without a line."""
    way = _way(system, system.names.node[bench.sensors[plan.sensor].at], system.names.node[device.at])
    if not way:
        return None
    high, temperature = plan.pressure_Pa, bench.room.temperature

    def flow(edge: int, before: float, after: float) -> float:
        net = system.net
        gas = upstream(system.table, before, temperature)
        return float(edge_flow(int(net.edge_int[edge, LAW]), before, after, temperature, gas, net.edge_par[edge])[0])

    def left(mass: float) -> float:
        """Of the pressure difference, when all edges pass a mass flow, Pa."""
        pressure = high
        for edge in way:
            lowest = high - drop
            if pressure <= lowest or flow(edge, pressure, lowest) < mass:
                return lowest - high
            before = pressure
            pressure = float(brentq(lambda p: flow(edge, before, p) - mass, lowest, before, xtol=1e-9))  # noqa: B023
        return pressure - (high - drop)

    most = min(flow(edge, high, high - drop) for edge in way)
    mass = most if len(way) == 1 else brentq(left, 0.0, most * (1.0 - 1e-9), rtol=1e-9)
    return float(mass) / system.table.molar_mass


def _way(system: System, start: int, end: int) -> list[int]:
    """Edges of lines and open valves from one node to another, the fewest; empty where there is none."""
    seen: dict[int, list[int]] = {start: []}
    todo = [start]
    while todo:
        here = todo.pop(0)
        if here == end:
            return seen[here]
        for edge, there in _from(system, here):
            if there not in seen:
                seen[there] = [*seen[here], edge]
                todo.append(there)
    return []


def _from(system: System, here: int) -> Iterator[tuple[int, int]]:
    net, names = system.net, system.names.edge
    driven = {names[name] for name in DRIVEN if name in names}
    for edge in range(len(net.edge_int)):
        if edge in driven or int(net.edge_int[edge, LAW]) not in (TUBE, ISO, KV):
            continue
        ends = [int(net.edge_int[edge, FROM]), int(net.edge_int[edge, TO])]
        if here in ends and max(ends) < len(net.node_par):
            yield edge, ends[1 - ends.index(here)]
