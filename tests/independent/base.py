"""Independent re-implementation, shares nothing with simcal/: what the benches of the tests have in common.

Each bench is written twice, as simcal's file and in plain numbers. Here stand the file and the numbers of a plain one:
manifold and port joined by a line, two control valves at the manifold, a leak at the port. The others say what differs.
"""

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np

from tests.independent import flow
from tests.independent.gas import Gas, density, look_up
from tests.independent.plant import Edge, Pid, Plant, Vessel, cylinder

STEEL, STAINLESS, ALUMINIUM = (7854.0, 434.0), (7900.0, 477.0), (2700.0, 896.0)  # kg/m3, J/(kg K) (Incropera & DeWitt)
ROOM = (101325.0, 293.15)
ROUGH = 1.5e-6  # m, drawn tube

FILE: dict[str, dict[str, Any]] = {
    "": {"schema": "simcal/bench/1", "name": "", "gas": ""},
    "room": {"temperature": "20 degC", "barometer": "101325 Pa abs"},
    "volume.manifold": {"capacity": "20 cm3"},
    "volume.manifold.wall": {
        "material": "steel", "shape": "cylinder", "bore": "20 mm", "thickness": "3 mm", "outside": "10 W/(m2 K)",
    },
    "volume.port": {"capacity": "100 cm3"},
    "volume.port.wall": {
        "material": "stainless", "shape": "cylinder", "bore": "40 mm", "thickness": "3 mm", "outside": "10 W/(m2 K)",
    },
    "line.run": {"between": ["manifold", "port"], "bore": "4 mm", "length": "1 m"},
    "valve.inlet": {
        "between": ["supply", "manifold"], "conductance": "1e-10 m3/(s Pa)", "critical_ratio": 0.3, "lag": "5 ms",
    },
    "valve.outlet": {
        "between": ["manifold", "exhaust"], "conductance": "3e-10 m3/(s Pa)", "critical_ratio": 0.3, "lag": "5 ms",
    },
    "supply": {"pressure": "8 bar abs"},
    "sensor.reference": {"at": "manifold", "full_scale": "6 bar gauge", "lag": "10 ms"},
    "device.one": {"at": "port", "full_scale": "6 bar gauge", "lag": "50 ms"},
    "device.one.accuracy": {"span": "0.1 %", "is": "limits"},
    "controller": {"reads": "reference", "period": "20 ms"},
    "controller.gains": {"kp": 30, "ti": "0.8 s", "td": "10 ms", "filter": "20 ms", "track": "0.5 s"},
    "leak.fitting": {"at": "port", "rate": "2e-8 mol/s", "rate_at": "6 bar abs", "law": "hole"},
    "sequence.run": {"points": ["50 %"]},
}  # fmt: skip


def written(name: str, gas: str, changes: Mapping[str, Mapping[str, Any] | None]) -> str:
    """The text of a bench file: `FILE` with other values by table, None for a key or a table that it has not."""
    tables = {**FILE, "": {**FILE[""], "name": name, "gas": gas}}
    for table, values in changes.items():
        tables[table] = {**tables.get(table, {}), **values} if values is not None else {}
    lines = []
    for table, values in tables.items():
        kept = {key: value for key, value in values.items() if value is not None}
        lines += [f"[{table}]"] * bool(table and kept)
        lines += [f"{key} = {_toml(value)}" for key, value in kept.items()]
    return "\n".join(lines) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, list):
        return f"[{', '.join(_toml(one) for one in value)}]"
    return f'"{value}"' if isinstance(value, str) else repr(value)


def joined(
    gas: Gas, manifold: Vessel, port: Vessel, bore: float, length: float, cells: int, ways: list[Edge], pid: Pid,
    supply: float, exhaust: float = ROOM[0], lags: tuple[float, float] = (0.01, 0.05),
    valves: tuple[float, ...] = (0.005, 0.005), ramp: float = 0.0,
) -> Plant:  # fmt: skip
    """The plant: manifold 0, port 1, cells of the line 2 and on; `ways` are all paths beside the line's (SI units).

    A line without cells gives half its gas to each end; with cells its ends are half a cell from the first and last.
    """
    inside = np.pi / 4.0 * bore**2 * length
    tube = (bore, length, ROUGH)
    if cells == 0:
        ends = [replace(one, volume=one.volume + 0.5 * inside) for one in (manifold, port)]
        vessels, line = ends, [Edge(0, 1, flow.TUBE, tube)]
    else:
        vessels = [manifold, port, *[cylinder(inside / cells, bore, 0.001, STAINLESS)] * cells]
        chain = [0, *range(2, 2 + cells), 1]
        pairs = [(a, b, length / cells * (0.5 if 0 in (a, b) or 1 in (a, b) else 1.0)) for a, b in pairwise(chain)]
        line = [Edge(a, b, flow.TUBE, (bore, part, ROUGH, cells + 1.0)) for a, b, part in pairs]
    return Plant(
        gas,
        vessels=vessels,
        edges=[*line, *ways],
        boundaries={"supply": (supply, ROOM[1]), "exhaust": (exhaust, ROOM[1]), "room": ROOM},
        gauges=[(0, lags[0]), (1, lags[1])],
        valve_lags=list(valves),
        pid=pid,
        period=0.02,
        start=ROOM[0],
        ramp=ramp,
    )


def leak_area(gas, rate, high, T=ROOM[1], low=ROOM[0]):
    """Cd A (m2) of a hole that lets `rate` (mol/s) out at `high` (Pa)."""
    out = np.empty(9)
    look_up(gas, density(gas, high, T), T, out)
    return rate * gas.molar_mass / flow.hole(high, low, T, gas.r, out[8], gas.gamma, 1.0)


def leak_laminar(gas, rate, high, low, T=ROOM[1]):
    """K of a laminar path of that rate."""
    out = np.empty(9)
    rho = density(gas, high, T)
    look_up(gas, rho, T, out)
    return rate * gas.molar_mass / flow.laminar(high, low, T, high / (rho * gas.r * T), out[6], 1.0)


def seat_numbers(gas, rate, high, low=ROOM[0], T=ROOM[1]):
    """The two numbers of a seat: a capillary of 1 um bore, many times."""
    out = np.empty(9)
    rho = density(gas, high, T)
    look_up(gas, rho, T, out)
    one = (
        np.pi * 1e-24 / (256.0 * gas.r),
        1e-18 / 6.0 * np.sqrt(2.0 * np.pi / gas.r) / 1.24,
    )
    Z = high / (rho * gas.r * T)
    unit = flow.flow(flow.SEAT, high, low, T, Z, out[6], out[8], gas.r, gas.molar_mass, gas.gamma, np.array(one))
    return tuple(rate * gas.molar_mass / unit * number for number in one)
