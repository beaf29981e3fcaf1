"""Independent re-implementation, shares nothing with simcal/: three benches, as simcal's file and in plain numbers."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tests.independent import flow
from tests.independent.gas import density, look_up, tabulate
from tests.independent.plant import Edge, Pid, Plant, cylinder, iso_bore, valve

STEEL, STAINLESS, ALUMINIUM = (7854.0, 434.0), (7900.0, 477.0), (2700.0, 896.0)  # kg/m3, J/(kg K) (Incropera & DeWitt)
ROOM = (101325.0, 293.15)


@dataclass(frozen=True)
class Case:
    """A bench twice, and the way it goes: (target Pa abs, seconds); span: full scale, Pa."""

    text: str
    plant: Plant
    way: tuple[tuple[float, float], ...]
    span: float


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


SIX_BAR = """
schema = "simcal/bench/1"
name = "six bar, hard-piped"
gas = "nitrogen"
room = { temperature = "20 degC", barometer = "101325 Pa abs", ramp = "0.6 K/h" }
[volume.manifold]
capacity = "20 cm3"
wall = { material = "steel", shape = "cylinder", bore = "20 mm", thickness = "3 mm", outside = "10 W/(m2 K)" }
[volume.port]
capacity = "100 cm3"
wall = { material = "stainless", shape = "cylinder", bore = "40 mm", thickness = "3 mm", outside = "10 W/(m2 K)" }
[line.run]
between = ["manifold", "port"]
bore = "4 mm"
length = "1 m"
[valve.inlet]
between = ["supply", "manifold"]
conductance = "1e-10 m3/(s Pa)"
critical_ratio = 0.3
lag = "5 ms"
[valve.outlet]
between = ["manifold", "exhaust"]
conductance = "3e-10 m3/(s Pa)"
critical_ratio = 0.3
lag = "5 ms"
[supply]
pressure = "8 bar abs"
[sensor.reference]
at = "manifold"
full_scale = "6 bar gauge"
lag = "10 ms"
[device.one]
at = "port"
full_scale = "6 bar gauge"
accuracy = { span = "0.1 %", is = "limits" }
lag = "50 ms"
[controller]
reads = "reference"
period = "20 ms"
gains = { kp = 30, ti = "0.8 s", td = "10 ms", filter = "20 ms", track = "0.5 s" }
[leak.fitting]
at = "port"
rate = "2e-8 mol/s"
rate_at = "6 bar abs"
law = "hole"
[sequence.run]
points = ["50 %"]
"""


def six_bar():
    gas = tabulate("Nitrogen", 11.0, 200.0, 400.0, 40, 400)
    tube = (0.004, 0.5, 1.5e-6, 2.0)
    return Case(
        SIX_BAR,
        Plant(
            gas,
            vessels=[
                cylinder(20e-6, 0.02, 0.003, STEEL, 10.0, jet=max(0.004, iso_bore(3e-10))),
                cylinder(100e-6, 0.04, 0.003, STAINLESS, 10.0, jet=0.004),
                cylinder(np.pi / 4.0 * 0.004**2, 0.004, 0.001, STAINLESS),
            ],
            edges=[
                Edge(0, 2, flow.TUBE, tube),
                Edge(2, 1, flow.TUBE, tube),
                valve("supply", 0, 1e-10, 0.3, 0),
                valve(0, "exhaust", 3e-10, 0.3, 1),
                Edge(1, "room", flow.HOLE, (leak_area(gas, 2e-8, 6e5),)),
            ],
            boundaries={"supply": (8e5, 293.15), "exhaust": ROOM, "room": ROOM},
            gauges=[(0, 0.01), (1, 0.05)],
            valve_lags=[0.005, 0.005],
            pid=Pid(30.0, 0.8, 0.01, 0.02, 0.5, 101325.0, 6e5),
            period=0.02,
            start=101325.0,
            ramp=0.6 / 3600.0,
        ),
        way=((4.0e5, 10.0), (4.6e5, 12.0), (2.0e5, 14.0)),
        span=6e5,
    )


HELIUM = """
schema = "simcal/bench/1"
name = "300 bar helium"
gas = "helium"
room = { temperature = "20 degC", barometer = "101325 Pa abs" }
[volume.manifold]
capacity = "15 cm3"
wall = { material = "steel", shape = "cylinder", bore = "16 mm", thickness = "6 mm", outside = "12 W/(m2 K)" }
[volume.port]
capacity = "60 cm3"
wall = { material = "steel", shape = "cylinder", bore = "30 mm", thickness = "8 mm", outside = "12 W/(m2 K)" }
[line.run]
between = ["manifold", "port"]
bore = "2 mm"
length = "2 m"
cells = 0
[valve.inlet]
between = ["supply", "manifold"]
kv = "0.001 m3/h"
lag = "10 ms"
[valve.outlet]
between = ["manifold", "exhaust"]
kv = "0.001 m3/h"
lag = "10 ms"
[supply]
pressure = "330 bar abs"
[sensor.reference]
at = "manifold"
full_scale = "300 bar gauge"
lag = "20 ms"
[device.one]
at = "port"
full_scale = "300 bar gauge"
accuracy = { span = "0.1 %", is = "limits" }
lag = "20 ms"
[controller]
reads = "reference"
period = "20 ms"
gains = { kp = 20, ti = "2 s", td = "10 ms", filter = "20 ms", track = "1 s" }
[leak.fitting]
at = "port"
rate = "1e-7 mol/s"
rate_at = "300 bar abs"
law = "laminar"
[sequence.run]
points = ["50 %"]
"""


def helium():
    gas = tabulate("Helium", 56.0, 180.0, 660.0, 60, 480)
    half = np.pi / 8.0 * 0.002**2 * 2.0
    kv_bore = np.sqrt(0.001) * 5e-3
    return Case(
        HELIUM,
        Plant(
            gas,
            vessels=[
                replace(cylinder(15e-6, 0.016, 0.006, STEEL, 12.0, jet=max(0.002, kv_bore)), volume=15e-6 + half),
                replace(cylinder(60e-6, 0.03, 0.008, STEEL, 12.0, jet=0.002), volume=60e-6 + half),
            ],
            edges=[
                Edge(0, 1, flow.TUBE, (0.002, 2.0, 1.5e-6)),
                Edge("supply", 0, flow.KV, (0.001, 0.7), 0),
                Edge(0, "exhaust", flow.KV, (0.001, 0.7), 1),
                Edge(1, "room", flow.LAMINAR, (leak_laminar(gas, 1e-7, 3e7, ROOM[0]),)),
            ],
            boundaries={"supply": (33e6, 293.15), "exhaust": ROOM, "room": ROOM},
            gauges=[(0, 0.02), (1, 0.02)],
            valve_lags=[0.01, 0.01],
            pid=Pid(20.0, 2.0, 0.01, 0.02, 1.0, 101325.0, 3e7),
            period=0.02,
            start=101325.0,
        ),
        way=((1.5e7, 10.0), (3.0e7, 12.0), (2.4e7, 12.0)),
        span=3e7,
    )


LOW = """
schema = "simcal/bench/1"
name = "low absolute, with a pump"
gas = "air"
room = { temperature = "20 degC", barometer = "101325 Pa abs" }
[volume.manifold]
capacity = "50 cm3"
wall = { material = "aluminium", shape = "cylinder", bore = "30 mm", thickness = "4 mm", outside = "8 W/(m2 K)" }
[volume.port]
capacity = "120 cm3"
wall = { material = "steel", shape = "cylinder", bore = "50 mm", thickness = "3 mm", outside = "8 W/(m2 K)" }
[line.run]
between = ["manifold", "port"]
bore = "6 mm"
length = "0.8 m"
cells = 2
[valve.inlet]
between = ["supply", "manifold"]
conductance = "2e-10 m3/(s Pa)"
critical_ratio = 0.4
lag = "5 ms"
seat = "1e-9 mol/s"
[valve.outlet]
between = ["manifold", "exhaust"]
conductance = "5e-9 m3/(s Pa)"
critical_ratio = 0.4
lag = "8 ms"
[supply]
pressure = "150 kPa abs"
[exhaust]
pressure = "50 Pa abs"
[sensor.reference]
at = "manifold"
full_scale = "100 kPa abs"
lag = "10 ms"
[device.one]
at = "port"
full_scale = "100 kPa abs"
accuracy = { span = "0.1 %", is = "limits" }
lag = "30 ms"
[controller]
reads = "reference"
period = "20 ms"
gains = { kp = 8, ti = "1 s", track = "0.5 s" }
[leak.fitting]
at = "port"
rate = "5e-9 mol/s"
rate_at = "2 bar abs"
law = "laminar"
[sequence.run]
points = ["50 %"]
"""


def low():
    gas = tabulate("Air", 2.5, 200.0, 400.0, 30, 400)
    cell = np.pi / 4.0 * 0.006**2 * 0.4
    inner = cylinder(cell, 0.006, 0.001, STAINLESS)
    seat = seat_numbers(gas, 1e-9, 1.5e5)
    return Case(
        LOW,
        Plant(
            gas,
            vessels=[
                cylinder(50e-6, 0.03, 0.004, ALUMINIUM, 8.0, jet=max(0.006, iso_bore(5e-9))),
                cylinder(120e-6, 0.05, 0.003, STEEL, 8.0, jet=0.006),
                inner,
                inner,
            ],
            edges=[
                Edge(0, 2, flow.TUBE, (0.006, 0.2, 1.5e-6, 3.0)),
                Edge(2, 3, flow.TUBE, (0.006, 0.4, 1.5e-6, 3.0)),
                Edge(3, 1, flow.TUBE, (0.006, 0.2, 1.5e-6, 3.0)),
                valve("supply", 0, 2e-10, 0.4, 0),
                Edge("supply", 0, flow.SEAT, seat),
                valve(0, "exhaust", 5e-9, 0.4, 1),
                Edge(1, "room", flow.LAMINAR, (leak_laminar(gas, 5e-9, 2e5, ROOM[0]),)),
            ],
            boundaries={"supply": (1.5e5, 293.15), "exhaust": (50.0, 293.15), "room": ROOM},
            gauges=[(0, 0.01), (1, 0.03)],
            valve_lags=[0.005, 0.008],
            pid=Pid(8.0, 1.0, 0.0, 0.0, 0.5, 0.0, 1e5),
            period=0.02,
            start=101325.0,
        ),
        way=((5e4, 10.0), (1e3, 14.0), (8e4, 12.0)),
        span=1e5,
    )


CASES: dict[str, Callable[[], Case]] = {"six bar": six_bar, "helium 300 bar": helium, "low absolute": low}
