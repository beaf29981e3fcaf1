"""Independent re-implementation, shares nothing with simcal/: three benches, as simcal's file and in plain numbers."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.independent import flow
from tests.independent.base import (
    ALUMINIUM,
    ROOM,
    STAINLESS,
    STEEL,
    joined,
    leak_area,
    leak_laminar,
    seat_numbers,
    written,
)
from tests.independent.gas import tabulate
from tests.independent.plant import Edge, Pid, Plant, cylinder, iso_bore, valve


@dataclass(frozen=True)
class Case:
    """A bench twice, and the way it goes: (target Pa abs, seconds); span: full scale, Pa."""

    text: str
    plant: Plant
    way: tuple[tuple[float, float], ...]
    span: float


SIX_BAR = written("six bar, hard-piped", "nitrogen", {"room": {"ramp": "0.6 K/h"}})


def six_bar():
    gas = tabulate("Nitrogen", 11.0, 200.0, 400.0, 40, 400)
    plant = joined(
        gas,
        cylinder(20e-6, 0.02, 0.003, STEEL, 10.0, jet=max(0.004, iso_bore(3e-10))),
        cylinder(100e-6, 0.04, 0.003, STAINLESS, 10.0, jet=0.004),
        bore=0.004,
        length=1.0,
        cells=1,
        ways=[
            valve("supply", 0, 1e-10, 0.3, 0),
            valve(0, "exhaust", 3e-10, 0.3, 1),
            Edge(1, "room", flow.HOLE, (leak_area(gas, 2e-8, 6e5),)),
        ],
        pid=Pid(30.0, 0.8, 0.01, 0.02, 0.5, 101325.0, 6e5),
        supply=8e5,
        ramp=0.6 / 3600.0,
    )
    return Case(SIX_BAR, plant, way=((4.0e5, 10.0), (4.6e5, 12.0), (2.0e5, 14.0)), span=6e5)


KV_VALVE = {"conductance": None, "critical_ratio": None, "kv": "0.001 m3/h", "lag": "10 ms"}
HELIUM = written(
    "300 bar helium",
    "helium",
    {
        "volume.manifold": {"capacity": "15 cm3"},
        "volume.manifold.wall": {"bore": "16 mm", "thickness": "6 mm", "outside": "12 W/(m2 K)"},
        "volume.port": {"capacity": "60 cm3"},
        "volume.port.wall": {
            "material": "steel", "bore": "30 mm", "thickness": "8 mm", "outside": "12 W/(m2 K)",
        },
        "line.run": {"bore": "2 mm", "length": "2 m", "cells": 0},
        "valve.inlet": KV_VALVE,
        "valve.outlet": KV_VALVE,
        "supply": {"pressure": "330 bar abs"},
        "sensor.reference": {"full_scale": "300 bar gauge", "lag": "20 ms"},
        "device.one": {"full_scale": "300 bar gauge", "lag": "20 ms"},
        "controller.gains": {"kp": 20, "ti": "2 s", "track": "1 s"},
        "leak.fitting": {"rate": "1e-7 mol/s", "rate_at": "300 bar abs", "law": "laminar"},
    },
)  # fmt: skip


def helium():
    gas = tabulate("Helium", 56.0, 180.0, 660.0, 60, 480)
    kv_bore = np.sqrt(0.001) * 5e-3
    plant = joined(
        gas,
        cylinder(15e-6, 0.016, 0.006, STEEL, 12.0, jet=max(0.002, kv_bore)),
        cylinder(60e-6, 0.03, 0.008, STEEL, 12.0, jet=0.002),
        bore=0.002,
        length=2.0,
        cells=0,
        ways=[
            Edge("supply", 0, flow.KV, (0.001, 0.7), 0),
            Edge(0, "exhaust", flow.KV, (0.001, 0.7), 1),
            Edge(1, "room", flow.LAMINAR, (leak_laminar(gas, 1e-7, 3e7, ROOM[0]),)),
        ],
        pid=Pid(20.0, 2.0, 0.01, 0.02, 1.0, 101325.0, 3e7),
        supply=33e6,
        lags=(0.02, 0.02),
        valves=(0.01, 0.01),
    )
    return Case(HELIUM, plant, way=((1.5e7, 10.0), (3.0e7, 12.0), (2.4e7, 12.0)), span=3e7)


LOW = written(
    "low absolute, with a pump",
    "air",
    {
        "volume.manifold": {"capacity": "50 cm3"},
        "volume.manifold.wall": {
            "material": "aluminium", "bore": "30 mm", "thickness": "4 mm", "outside": "8 W/(m2 K)",
        },
        "volume.port": {"capacity": "120 cm3"},
        "volume.port.wall": {"material": "steel", "bore": "50 mm", "outside": "8 W/(m2 K)"},
        "line.run": {"bore": "6 mm", "length": "0.8 m", "cells": 2},
        "valve.inlet": {"conductance": "2e-10 m3/(s Pa)", "critical_ratio": 0.4, "seat": "1e-9 mol/s"},
        "valve.outlet": {"conductance": "5e-9 m3/(s Pa)", "critical_ratio": 0.4, "lag": "8 ms"},
        "supply": {"pressure": "150 kPa abs"},
        "exhaust": {"pressure": "50 Pa abs"},
        "sensor.reference": {"full_scale": "100 kPa abs"},
        "device.one": {"full_scale": "100 kPa abs", "lag": "30 ms"},
        "controller.gains": {"kp": 8, "ti": "1 s", "td": None, "filter": None},
        "leak.fitting": {"rate": "5e-9 mol/s", "rate_at": "2 bar abs", "law": "laminar"},
    },
)  # fmt: skip


def low():
    gas = tabulate("Air", 2.5, 200.0, 400.0, 30, 400)
    plant = joined(
        gas,
        cylinder(50e-6, 0.03, 0.004, ALUMINIUM, 8.0, jet=max(0.006, iso_bore(5e-9))),
        cylinder(120e-6, 0.05, 0.003, STEEL, 8.0, jet=0.006),
        bore=0.006,
        length=0.8,
        cells=2,
        ways=[
            valve("supply", 0, 2e-10, 0.4, 0),
            Edge("supply", 0, flow.SEAT, seat_numbers(gas, 1e-9, 1.5e5)),
            valve(0, "exhaust", 5e-9, 0.4, 1),
            Edge(1, "room", flow.LAMINAR, (leak_laminar(gas, 5e-9, 2e5, ROOM[0]),)),
        ],
        pid=Pid(8.0, 1.0, 0.0, 0.0, 0.5, 0.0, 1e5),
        supply=1.5e5,
        exhaust=50.0,
        lags=(0.01, 0.03),
        valves=(0.005, 0.008),
    )
    return Case(LOW, plant, way=((5e4, 10.0), (1e3, 14.0), (8e4, 12.0)), span=1e5)


CASES: dict[str, Callable[[], Case]] = {"six bar": six_bar, "helium 300 bar": helium, "low absolute": low}
