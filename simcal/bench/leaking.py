"""Everything that leaks, as edges and small stores of the network: plain leaks, permeation, seals."""

from __future__ import annotations

import math

import numpy as np

from simcal.bench import sealing
from simcal.bench.bench import Bench
from simcal.bench.parts import Leak
from simcal.bench.rows import Parts
from simcal.bench.seal import Seal
from simcal.physics import flow, heat, permeation
from simcal.physics.seal import Channel
from simcal.physics.stated import capillary, leak_path, upstream
from simcal.tables.gas import GasTable, load


def add_leaks(parts: Parts, bench: Bench, table: GasTable) -> None:
    """The leaks and seals of a bench."""
    for name, leak in bench.leaks.items():
        if leak.law == "permeation":
            _add_permeation(parts, bench, table, f"leak.{name}", (leak.at, leak.to), *_slab(bench, leak))
            continue
        code, a = _leak(bench, table, name)
        parts.edges[f"leak.{name}"] = (leak.at, leak.to, code, -1, a)
    for name, seal in bench.seals.items():
        _add_seal(parts, bench, table, name, seal)


def _leak(bench: Bench, table: GasTable, name: str) -> tuple[int, list[float]]:
    """Law and parameters of a plain leak."""
    leak = bench.leaks[name]
    if leak.diameter is not None:
        return flow.HOLE, [LEAK_DISCHARGE * math.pi / 4.0 * leak.diameter**2]
    assert leak.rate is not None and leak.rate_at is not None
    return flow.LAWS[leak.law], stated_path(bench, table, leak.law, leak.rate, leak.rate_at)


def _slab(bench: Bench, leak: Leak) -> tuple[float, float]:
    """Conductance (mol/(s Pa)) and lag (s) of a leak by permeation."""
    if leak.permeability is not None:
        assert leak.area is not None and leak.thickness is not None
        steady = permeation.conductance(leak.permeability, leak.area, leak.thickness)
    else:
        assert leak.rate is not None and leak.rate_at is not None
        steady = leak.rate / abs(leak.rate_at - bench.room.barometer)
    if leak.lag is not None:
        return steady, leak.lag
    assert leak.diffusivity is not None and leak.thickness is not None
    return steady, permeation.lag(leak.thickness, leak.diffusivity)


def _add_permeation(
    parts: Parts, bench: Bench, table: GasTable, name: str, ends: tuple[str, str], steady: float, lag: float
) -> None:
    """A slab that gas permeates: two small stores of gas in a row, at room pressure when the run begins.

    A store is the volume that holds as much gas per pressure as the material dissolves there, at low pressure.
    """
    if steady <= 0.0:
        return
    root = math.sqrt(bench.room.temperature)
    slab = permeation.ladder(steady, lag)
    capacity = slab.store * table.molar_mass * table.r * bench.room.temperature
    stores = [f"{name}.1", f"{name}.2"]
    for store in stores:
        parts.node[store] = len(parts.node)
        parts.node_par.append([capacity, *PERMEATED, *[0.0] * 4])
        parts.film.append([heat.FIXED, capacity, 1e-3, 1.0, PERMEATED_FILM, 0.0])
        parts.jet.append(0.0)
    way = [ends[0], *stores, ends[1]]
    for k, g in enumerate(slab.ways):
        a = [g * table.molar_mass * root]
        parts.edges[f"{name}.{k}"] = (way[k], way[k + 1], flow.MOLECULAR, -1, a)


def _add_seal(parts: Parts, bench: Bench, table: GasTable, name: str, seal: Seal) -> None:
    """The channels past a ring, and where it is asked for the gas that goes through it."""
    fit = sealing.fitted(seal)
    for kind, one in sealing.channels(fit).items():
        path = f"seal.{name}.{kind}" if kind else f"seal.{name}"
        parts.edges[path] = (seal.at, seal.to, flow.SEAL, -1, _channel(one, table.r))
    through = sealing.permeation(fit)
    if through is not None:
        _add_permeation(parts, bench, table, f"seal.{name}.ring", (seal.at, seal.to), *through)


def _channel(one: Channel, r: float) -> list[float]:
    """Parameters of the law `seal` for channels side by side."""
    viscous, thin = (one.number / one.length * k for k in capillary(one.bore, r))
    area = one.number * 0.25 * math.pi * one.bore**2
    bore = [one.floor, one.closed, one.closing, one.opens_at, one.opening]
    return [viscous, thin, *bore, area, one.lifts_at, one.loosening]


def seal_rates(bench: Bench, name: str, pressure: float) -> dict[str, float]:
    """What leaks past a seal to the room in the long run, mol/s at absolute `pressure` (Pa), by way.

    "" is the face itself; "nick", "dirt", "edge" and "ring" (through the rubber) are there where the seal has them.
    Raises ValueError for a pressure below the room's or outside the gas table.
    """
    table, room = load(bench.gas), bench.room
    if pressure < room.barometer:
        raise ValueError(f"pressure(={pressure:.6g} Pa) must not be below the room's, {room.barometer:.6g} Pa.")
    gas = upstream(table, pressure, room.temperature)
    fit, found = sealing.fitted(bench.seals[name]), {}
    for kind, one in sealing.channels(fit).items():
        a = np.array(_channel(one, table.r))
        m = flow.edge_flow(flow.SEAL, pressure, room.barometer, room.temperature, gas, a)[0]
        found[kind] = float(m) / table.molar_mass
    through = sealing.permeation(fit)
    if through is not None:
        found["ring"] = through[0] * (pressure - room.barometer)
    return found


PERMEATED = (1.0, 0.1)
"""J/K of what is permeated, and W/K from there to the room: its gas is at the room's temperature"""
PERMEATED_FILM = 1e4
"""W/(m3 K); takes dissolved gas to the temperature of what it is dissolved in within a tenth of a second"""


def stated_path(bench: Bench, table: GasTable, law: str, rate: float, pressure: float) -> list[float]:
    """Parameters of a path that passes `rate` (mol/s) between `pressure` and the room; inward where that is below."""
    high, low = max(pressure, bench.room.barometer), min(pressure, bench.room.barometer)
    return leak_path(law, rate, high, low, bench.room.temperature, table).tolist()


LEAK_DISCHARGE = 0.8
"""discharge coefficient of a hole of which the diameter is given; common practice, no source"""
