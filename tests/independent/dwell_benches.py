"""Independent re-implementation, shares nothing with simcal/: three benches with long dwells, as file and in numbers.

Narrow line: what the port still takes up flows through it. Slow device, isolated: its lag times the rate at which the
gas cools. Slow cooling: a wide vessel and a small allowance.
"""

from collections.abc import Callable
from dataclasses import dataclass

from tests.independent import flow
from tests.independent.base import ALUMINIUM, ROOM, STAINLESS, STEEL, joined, leak_area, leak_laminar, written
from tests.independent.course import ISOLATED, VENT, Point, Way
from tests.independent.gas import tabulate
from tests.independent.plant import Edge, Pid, Plant, cylinder, iso_bore, valve


@dataclass(frozen=True)
class Bench:
    """A bench twice, and its sequence; span: full scale, Pa."""

    text: str
    plant: Plant
    way: Way
    span: float


NARROW = written(
    "narrow line",
    "nitrogen",
    {
        "line.run": {"bore": "1.5 mm", "length": "1.5 m"},
        "valve.vent": {
            "between": ["manifold", "room"], "conductance": "1e-9 m3/(s Pa)", "critical_ratio": 0.3, "lag": "10 ms",
        },
        "sensor.reference": {"noise": "3 Pa"},
        "device.one": {"noise": "1 Pa", "resolution": "5 Pa", "height": "0.3 m"},
        "device.one.accuracy": {"span": "0.05 %"},
        "controller.gains": {"kp": 12},
        "leak.fitting": {"rate": "5e-8 mol/s"},
        "sequence.run": {"points": ["50 %", "90 %", "30 %", "0 %"]},
    },
)  # fmt: skip


def narrow() -> Bench:
    gas = tabulate("Nitrogen", 11.0, 200.0, 400.0, 40, 400)
    plant = joined(
        gas,
        cylinder(20e-6, 0.02, 0.003, STEEL, 10.0, jet=max(0.0015, iso_bore(1e-9))),
        cylinder(100e-6, 0.04, 0.003, STAINLESS, 10.0, jet=0.0015),
        bore=0.0015,
        length=1.5,
        cells=1,
        ways=[
            valve("supply", 0, 1e-10, 0.3, 0),
            valve(0, "exhaust", 3e-10, 0.3, 1),
            valve(0, "room", 1e-9, 0.3, 2),
            Edge(1, "room", flow.HOLE, (leak_area(gas, 5e-8, 6e5),)),
        ],
        pid=Pid(12.0, 0.8, 0.01, 0.02, 0.5, 101325.0, 6e5),
        supply=8e5,
        valves=(0.005, 0.005, 0.01),
    )
    points = (Point(ROOM[0] + 3.0e5), Point(ROOM[0] + 5.4e5), Point(ROOM[0] + 1.8e5), Point(ROOM[0], VENT))
    way = Way(points, allowance=30.0, instruments=((3.0, 0.0), (1.0, 5.0)), higher=0.3)
    return Bench(NARROW, plant, way, 6e5)


SLOW_DEVICE = written(
    "slow device, isolated",
    "air",
    {
        "volume.manifold": {"capacity": "30 cm3"},
        "volume.manifold.wall": {
            "material": "aluminium", "bore": "15 mm", "thickness": "5 mm", "outside": "8 W/(m2 K)",
        },
        "volume.port": {"capacity": "80 cm3"},
        "volume.port.wall": {"material": "steel", "bore": "30 mm", "thickness": "4 mm", "outside": "8 W/(m2 K)"},
        "line.run": {"length": "0.5 m", "cells": 0},
        "valve.inlet": {"conductance": "2e-10 m3/(s Pa)"},
        "valve.outlet": {"conductance": "4e-10 m3/(s Pa)"},
        "supply": {"pressure": "13 bar abs"},
        "sensor.reference": {"full_scale": "10 bar gauge"},
        "device.one": {"full_scale": "10 bar gauge", "lag": "0.3 s"},
        "device.one.accuracy": {"span": "0.05 %"},
        "controller.gains": {"kp": 15},
        "leak.fitting": {"rate": "1e-6 mol/s", "rate_at": "10 bar abs", "law": "laminar"},
        "sequence.run": {
            "points": ["40 %", "80 %", "30 %"], "read": "isolated", "soak": "3 s", "longest": "600 s",
        },
    },
)  # fmt: skip


def slow_device() -> Bench:
    gas = tabulate("Air", 16.0, 200.0, 400.0, 40, 400)
    plant = joined(
        gas,
        cylinder(30e-6, 0.015, 0.005, ALUMINIUM, 8.0, jet=max(0.004, iso_bore(4e-10))),
        cylinder(80e-6, 0.03, 0.004, STEEL, 8.0, jet=0.004),
        bore=0.004,
        length=0.5,
        cells=0,
        ways=[
            valve("supply", 0, 2e-10, 0.3, 0),
            valve(0, "exhaust", 4e-10, 0.3, 1),
            Edge(1, "room", flow.LAMINAR, (leak_laminar(gas, 1e-6, 1e6, ROOM[0]),)),
        ],
        pid=Pid(15.0, 0.8, 0.01, 0.02, 0.5, 101325.0, 1e6),
        supply=13e5,
        lags=(0.01, 0.3),
    )
    points = tuple(Point(ROOM[0] + share * 1e6, ISOLATED) for share in (0.4, 0.8, 0.3))
    return Bench(SLOW_DEVICE, plant, Way(points, allowance=50.0, soak=3.0, longest=600.0), 1e6)


SLOW_COOLING = written(
    "slow cooling, small allowance",
    "argon",
    {
        "room": {"ramp": "0.6 K/h"},
        "volume.manifold": {"capacity": "50 cm3"},
        "volume.manifold.wall": {"bore": "30 mm"},
        "volume.port": {"capacity": "500 cm3"},
        "volume.port.wall": {"material": "steel", "bore": "80 mm", "thickness": "4 mm"},
        "line.run": {"bore": "3 mm"},
        "valve.inlet": {"conductance": "4e-10 m3/(s Pa)", "critical_ratio": 0.35},
        "valve.outlet": {"conductance": "1e-9 m3/(s Pa)", "critical_ratio": 0.35},
        "supply": {"pressure": "6 bar abs"},
        "sensor.reference": {"full_scale": "4 bar abs", "lag": "20 ms"},
        "device.one": {"full_scale": "4 bar abs", "lag": "0.1 s", "allowance": "1 Pa"},
        "device.one.accuracy": None,
        "controller.gains": {"kp": 15, "ti": "1 s", "td": None, "filter": None},
        "leak.fitting": {"rate": "1e-8 mol/s", "rate_at": "4 bar abs"},
        "sequence.run": {"points": ["3 bar abs", "1.8 bar abs"]},
    },
)


def slow_cooling() -> Bench:
    gas = tabulate("Argon", 12.0, 200.0, 420.0, 40, 440)
    plant = joined(
        gas,
        cylinder(50e-6, 0.03, 0.003, STEEL, 10.0, jet=max(0.003, iso_bore(1e-9))),
        cylinder(500e-6, 0.08, 0.004, STEEL, 10.0, jet=0.003),
        bore=0.003,
        length=1.0,
        cells=1,
        ways=[
            valve("supply", 0, 4e-10, 0.35, 0),
            valve(0, "exhaust", 1e-9, 0.35, 1),
            Edge(1, "room", flow.HOLE, (leak_area(gas, 1e-8, 4e5),)),
        ],
        pid=Pid(15.0, 1.0, 0.0, 0.0, 0.5, 0.0, 4e5),
        supply=6e5,
        lags=(0.02, 0.1),
        ramp=0.6 / 3600.0,
    )
    return Bench(SLOW_COOLING, plant, Way((Point(3e5), Point(1.8e5)), allowance=1.0), 4e5)


BENCHES: dict[str, Callable[[], Bench]] = {
    "narrow line": narrow,
    "slow device": slow_device,
    "slow cooling": slow_cooling,
}
