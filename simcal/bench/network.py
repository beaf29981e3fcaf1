"""From the bench's objects to the engine's arrays: volumes, cells of lines, edges, gauges, valves, controller."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection

import numpy as np

from simcal.bench import leaking
from simcal.bench.bench import Bench
from simcal.bench.parts import REGULATOR, SERVO, SURFACE, Line, Valve, Wall
from simcal.bench.rows import Parts
from simcal.bench.tuned import tuned
from simcal.control.drive import drive_array
from simcal.control.pid import Gains
from simcal.engine import simulate
from simcal.engine.arrays import SMALLEST_LAG, Controller, Network
from simcal.engine.elimination import with_plan
from simcal.physics import flow, gas, heat, shapes
from simcal.physics.convection import outside_film
from simcal.tables.gas import GasTable, load
from simcal.tables.materials import find

CONTROL_VALVES = ("inlet", "outlet")
REGULATOR_VOLUME = 5e-6
"""m3; the gas between a drooping regulator and the inlet, which only smooths its flow"""
SURFACE_PRESSURE = 1e7
"""Pa; of the gas in a surface, so high that the pressure before the surface hardly matters"""
STRETCH_TIME = 0.02
"""s; with which a hose wall follows the pressure, for what is called instantaneous"""
OUTSIDE_EXCESS = 1.0
"""K by which a body is taken to be warmer than the room where its outside film comes from a correlation"""
SERVO_PERIODS, SERVO_LOOP, SERVO_LEAST = 2.0, 0.02, 1e-3
"""lag with which a known approach reaches its node: two controller periods, but not above this share of the loop time
nor, where that is shorter, above this (s)"""
SERVO_HOLDS = 1e-4
"""s; with which its source would bring all gas of the bench to the reference: a flow q holds the node q r T/V times
this away from it, for 1e-5 mol/s and 0.1 L at room temperature 0.02 Pa"""


def build(bench: Bench, gains: Gains | None = None) -> simulate.System:
    """The bench as a system at rest at the room's pressure, a regulator's own volume at the supply's.

    gains: those of the controller, where they are known already (a trial keeps those of the nominal bench); else the
    stated ones, or those that the tuning rule finds for what the sequences' points reach (`tuned`).
    Raises SimcalError where the gas has no table or no tuning fits.
    """
    table = load(bench.gas)
    system = _assemble(bench, table)
    control = bench.controller
    if control.behaviour is not None:
        return system
    if gains is None:
        gains = _stated(bench) if control.gains is not None else tuned(bench, system)
    ramp = (control.ramp or 0.0) / system.controller.scale[1]
    return dataclasses.replace(system, controller=system.controller._replace(gains=gains.array(control.period, ramp)))


def nominal_gains(bench: Bench) -> Gains | None:
    """The gains that the tuning rule finds for a bench, to keep for its draws; None where it has no such rule."""
    return tuned(bench, _assemble(bench, load(bench.gas))) if bench.controller.tuning else None


def own_volumes(bench: Bench, names: simulate.Names, among: Collection[str] | None = None) -> list[int]:
    """Indices of the bench's volumes and of the cells of lines between them; neither a regulator's nor a wall's gas.

    among: names of the volumes that count; None: all.
    """
    volumes = bench.volumes if among is None else among
    lines = {name for name, line in bench.lines.items() if line.between[0] in volumes and line.between[1] in volumes}
    return [i for name, i in names.node.items() if name in volumes or name.rpartition(".")[0] in lines]


def _stated(bench: Bench) -> Gains:
    """The gains of the file with what it leaves out."""
    control = bench.controller
    given = control.gains
    assert given is not None
    weight = 1.0 if control.setpoint_weight is None else control.setpoint_weight
    return Gains(
        kp=given.kp,
        ti=given.ti,
        td=given.td,
        filter=given.filter or given.td / 8.0,
        track=given.ti if math.isinf(given.track) else given.track,
        setpoint_weight=weight,
    )


def _assemble(bench: Bench, table: GasTable) -> simulate.System:
    """The system with everything but the gains."""
    parts = Parts()
    for name, volume in bench.volumes.items():
        elastic = [volume.stretch, STRETCH_TIME, volume.creep, volume.creep_time]
        _add_node(parts, bench, name, volume.capacity, volume.wall, elastic)
    valves = list(bench.valves)
    if bench.supply.droop > 0.0:
        _add_node(parts, bench, REGULATOR, REGULATOR_VOLUME, Wall(bore=0.01), [0.0] * 4)
    for name, line in bench.lines.items():
        _add_line(parts, bench, name, line)
    for index, (name, valve) in enumerate(bench.valves.items()):
        _add_valve(parts, bench, table, name, valve, index)
    leaking.add_leaks(parts, bench, table)
    for name, source in bench.outgassing.items():
        a = [surface_path(bench, table, source.rate)]
        parts.edges[f"{SURFACE}.{name}"] = (SURFACE, source.at, flow.MOLECULAR, -1, a)
    if bench.supply.droop > 0.0:
        slope = bench.supply.droop_at / bench.supply.droop  # type: ignore[operator]
        parts.edges[REGULATOR] = ("supply", REGULATOR, flow.REGULATOR, -1, [slope])
    if bench.controller.behaviour is not None:
        valves.append(SERVO)
        parts.edges[SERVO] = _servo(bench, table, parts, len(valves) - 1)
    return _system(bench, table, parts, valves)


def _add_node(parts: Parts, bench: Bench, name: str, capacity: float, wall: Wall, elastic: list[float]) -> None:
    """One volume of gas with its wall."""
    material = find(wall.material)
    bore = wall.bore or (2.0 * capacity / math.pi) ** (1.0 / 3.0)  # a cylinder two bores long
    area, diameter = shapes.inner(wall.shape, capacity, bore)
    outside_area, outside_diameter = shapes.outer(wall.shape, capacity, bore, wall.thickness)
    heat_capacity = shapes.wall_heat_capacity(
        wall.shape, capacity, bore, wall.thickness, material.density, material.specific_heat
    )
    warm = bench.room.temperature + OUTSIDE_EXCESS
    outside = wall.outside if wall.outside is not None else outside_film(
        wall.shape, outside_diameter, warm, bench.room.temperature
    )  # fmt: skip
    kind = heat.FIXED if wall.film is not None else heat.FILMS[wall.shape]
    parts.node[name] = len(parts.node)
    parts.node_par.append([capacity, heat_capacity, outside * outside_area, *elastic])
    parts.film.append([kind, area, diameter, wall.film_factor, wall.film or 0.0, 0.0])
    parts.jet.append(0.0)
    parts.warmer[name] = wall.warmer


def _add_line(parts: Parts, bench: Bench, name: str, line: Line) -> None:
    """A tube as cells with a gas state each, joined by tube friction; without cells each end takes half its gas."""
    first, last = line.between
    gas_volume = 0.25 * math.pi * line.bore**2 * line.length
    for end in (first, last):
        parts.note_jet(end, line.bore)
    if line.cells == 0:
        for end in (first, last):
            parts.node_par[parts.node[end]][0] += 0.5 * gas_volume
        names, lengths = [first, last], [line.length]
    else:
        cells = [f"{name}.{k + 1}" for k in range(line.cells)]
        wall = Wall(material=line.material, bore=line.bore, thickness=line.thickness)
        for cell in cells:
            _add_node(parts, bench, cell, gas_volume / line.cells, wall, [0.0] * 4)
        piece = line.length / line.cells
        names, lengths = [first, *cells, last], [0.5 * piece, *[piece] * (line.cells - 1), 0.5 * piece]
    for k, length in enumerate(lengths):
        parts.edges[f"line.{name}.{k}"] = (
            names[k],
            names[k + 1],
            flow.TUBE,
            -1,
            [line.bore, length, line.roughness, float(len(lengths))],
        )


def _add_valve(parts: Parts, bench: Bench, table: GasTable, name: str, valve: Valve, index: int) -> None:
    """A valve with its seat; it draws from the regulator's own volume where that droops."""
    ends = [REGULATOR if end == "supply" and REGULATOR in parts.node else end for end in valve.between]
    if valve.kv is not None:
        law, a = flow.KV, [valve.kv, valve.terminal_ratio]
        bore = math.sqrt(valve.kv) * 5e-3  # a fully open valve of Kv 1 m3/h has a throat of about 5 mm
    else:
        assert valve.conductance is not None
        law, a = flow.ISO, [valve.conductance, valve.critical_ratio]
        bore = math.sqrt(4.0 / math.pi * valve.conductance * 1.185 * math.sqrt(287.05 * 293.15) / 0.6847)
    parts.edges[name] = (ends[0], ends[1], law, index, list(a))
    for end in ends:
        if end in parts.node:
            parts.note_jet(end, bore)
    if valve.seat > 0.0:
        path = leaking.stated_path(bench, table, "seat", valve.seat, valve.seat_at or bench.supply.pressure)
        parts.edges[f"seat.{name}"] = (ends[0], ends[1], flow.SEAT, -1, path)


def surface_path(bench: Bench, table: GasTable, rate: float) -> float:
    """Parameter of the path by which a surface gives off `rate` (mol/s), whatever the low pressure before it."""
    return rate * table.molar_mass * math.sqrt(bench.room.temperature) / SURFACE_PRESSURE


def _servo(bench: Bench, table: GasTable, parts: Parts, index: int) -> tuple[str, str, int, int, list[float]]:
    """The ideal source that takes the controller's node along a known approach; a: kg/(s Pa), Pa per command.

    What flows through it, a leak or gas on its way into the lines, holds the node off the reference by that flow over
    the conductance; see `SERVO_HOLDS`.
    """
    sensor = bench.sensors[bench.controller.reads]
    total = sum(row[0] for row in parts.node_par)
    scale = max(abs(sensor.range.high), abs(sensor.range.low)) + bench.room.barometer
    conductance = total / (table.r * bench.room.temperature * SERVO_HOLDS)
    return "supply", sensor.at, flow.SERVO, index, [conductance, scale]


def _boundary(table: GasTable, pressure: float, temperature: float) -> list[float]:
    """The row of a boundary: what a law and the energy balance need of its gas."""
    rho = gas.density(table, pressure, temperature)
    viscosity, _, c_star = gas.transport(table, rho, temperature)
    z = pressure / (rho * table.r * temperature)
    return [pressure, temperature, gas.enthalpy(table, rho, temperature), z, viscosity, c_star]


def _system(bench: Bench, table: GasTable, parts: Parts, valves: list[str]) -> simulate.System:
    """The collected rows as arrays."""
    n = len(parts.node)
    room_K, room_Pa = bench.room.temperature, bench.room.barometer
    boundaries = {"supply": n, "exhaust": n + 1, "room": n + 2}
    bound = [
        _boundary(table, bench.supply.pressure, bench.supply.temperature or room_K),
        _boundary(table, bench.exhaust.pressure or room_Pa, room_K),
        _boundary(table, room_Pa, room_K),
    ]
    if bench.outgassing:
        boundaries[SURFACE] = n + 3
        bound.append([SURFACE_PRESSURE, *bound[-1][1:]])
    index = {**parts.node, **boundaries}
    strain = np.full(n, -1, np.int64)
    for count, i in enumerate(i for i in range(n) if parts.node_par[i][3] > 0.0 or parts.node_par[i][5] > 0.0):
        strain[i] = 3 * n + 2 * count
    node_par = np.array(parts.node_par)
    node_par[:, [4, 6]] = np.where(node_par[:, [4, 6]] > 0.0, node_par[:, [4, 6]], 1.0)
    film = np.zeros((n, 8))
    film[:, :6] = parts.film
    film[:, heat.JET_BORE] = parts.jet
    edge_par = np.zeros((len(parts.edges), flow.PARAMETERS))
    for k, edge in enumerate(parts.edges.values()):
        edge_par[k, : len(edge[4])] = edge[4]
    gauges = {**bench.sensors, **bench.devices}
    room = bench.room
    net = with_plan(
        Network(
            node_par=node_par,
            node_film=film,
            node_strain=strain,
            bound=np.array(bound),
            edge_int=np.array([[index[a], index[b], law, v] for a, b, law, v, _ in parts.edges.values()], np.int64),
            edge_par=edge_par,
            gauge_node=np.array([parts.node[gauge.at] for gauge in gauges.values()], np.int64),
            gauge_lag=np.array([max(gauge.lag, SMALLEST_LAG) for gauge in gauges.values()]),
            valve_lag=np.array([_lag(bench, name) for name in valves]),
            room=np.array([room_K, room.ramp + room.drift, room.cycle, room.cycle_period, 0.0]),
            order=np.zeros(0, np.int64),
            heads=np.zeros(0, np.int64),
            lists=np.zeros(0, np.int64),
        )
    )  # fmt: skip
    names = simulate.Names(
        node=parts.node,
        gauge={name: i for i, name in enumerate(gauges)},
        valve={name: i for i, name in enumerate(valves)},
        edge={name: i for i, name in enumerate(parts.edges)},
        boundary=boundaries,
    )
    start = np.full(n, room_Pa)
    if REGULATOR in parts.node:
        start[parts.node[REGULATOR]] = bench.supply.pressure
    warmer = np.array([parts.warmer.get(name, 0.0) for name in parts.node]) if any(parts.warmer.values()) else None
    return simulate.System(net, table, _controller(bench, names, net), names, start, warmer_K=warmer)


def _lag(bench: Bench, name: str) -> float:
    """Lag of a valve's opening, s; inf for a pulsed valve, whose opening is set."""
    if name == SERVO:
        assert bench.controller.behaviour is not None
        shortest = max(SERVO_LEAST, SERVO_LOOP * bench.controller.behaviour.loop_time)
        return min(SERVO_PERIODS * bench.controller.period, shortest)
    valve = bench.valves[name]
    pulsed = valve.drive == "pulsed" and name in CONTROL_VALVES
    return math.inf if pulsed else max(valve.lag, SMALLEST_LAG)


def _controller(bench: Bench, names: simulate.Names, net: Network) -> Controller:
    """The controller's arrays but for its gains."""
    control = bench.controller
    sensor = bench.sensors[control.reads]
    base = np.zeros((3, len(names.valve)))
    for name, j in names.valve.items():
        if name == "vent":
            base[simulate.VENT, j] = 1.0
        elif name not in (*CONTROL_VALVES, SERVO):
            base[:, j] = 1.0 if bench.valves[name].open else 0.0
    pair = [bench.valves.get(name) for name in CONTROL_VALVES]
    pulsed = [valve is not None and valve.drive == "pulsed" for valve in pair]
    shortest = [valve.min_pulse if valve is not None and on else 0.0 for valve, on in zip(pair, pulsed, strict=True)]
    behaviour = np.zeros(6)
    if control.behaviour is not None:
        b = control.behaviour
        over = b.overshoot
        behaviour[:] = [b.rate, over.pascal or 0.0, b.settled_in, b.ripple, b.loop_time, over.fraction or 0.0]
    zero = sensor.range.absolute(0.0, bench.room.barometer)
    valve = names.valve
    return Controller(
        kind=1 if control.behaviour is not None else 0,
        period=control.period,
        scale=np.array([zero, sensor.range.span, sensor.noise, sensor.resolution, 0.0, sensor.drift]),
        gains=np.zeros(10),
        drive=drive_array(
            dead_band=tuple(v.dead_band if v is not None else 0.0 for v in pair),  # type: ignore[arg-type]
            levels=tuple(v.levels if v is not None else 0 for v in pair),  # type: ignore[arg-type]
            least=tuple(t / control.period for t in shortest),  # type: ignore[arg-type]
        ),
        behaviour=behaviour,
        index=np.array(
            [
                names.gauge[control.reads],
                *(valve.get(name, -1) for name in (*CONTROL_VALVES, "vent", SERVO)),
            ],
            np.int64,
        ),
        base=base,
        pulse=np.array([*map(float, pulsed), *shortest]),
        servo_scale=float(net.edge_par[names.edge[SERVO], 1]) if SERVO in names.edge else 1.0,
    )
