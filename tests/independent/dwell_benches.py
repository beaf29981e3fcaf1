"""Independent re-implementation, shares nothing with simcal/: three benches with long dwells, as file and in numbers.

Narrow line: what the port still takes up flows through it. Slow device, isolated: its lag times the rate at which the
gas cools. Slow cooling: a wide vessel and a small allowance.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tests.independent import flow
from tests.independent.benches import ALUMINIUM, ROOM, STAINLESS, STEEL, leak_area, leak_laminar
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


NARROW = """
schema = "simcal/bench/1"
name = "narrow line"
gas = "nitrogen"
room = { temperature = "20 degC", barometer = "101325 Pa abs" }
[volume.manifold]
capacity = "20 cm3"
wall = { material = "steel", shape = "cylinder", bore = "20 mm", thickness = "3 mm", outside = "10 W/(m2 K)" }
[volume.port]
capacity = "100 cm3"
wall = { material = "stainless", shape = "cylinder", bore = "40 mm", thickness = "3 mm", outside = "10 W/(m2 K)" }
[line.run]
between = ["manifold", "port"]
bore = "1.5 mm"
length = "1.5 m"
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
[valve.vent]
between = ["manifold", "room"]
conductance = "1e-9 m3/(s Pa)"
critical_ratio = 0.3
lag = "10 ms"
[supply]
pressure = "8 bar abs"
[sensor.reference]
at = "manifold"
full_scale = "6 bar gauge"
lag = "10 ms"
noise = "3 Pa"
[device.one]
at = "port"
full_scale = "6 bar gauge"
accuracy = { span = "0.05 %", is = "limits" }
lag = "50 ms"
noise = "1 Pa"
resolution = "5 Pa"
height = "0.3 m"
[controller]
reads = "reference"
period = "20 ms"
gains = { kp = 12, ti = "0.8 s", td = "10 ms", filter = "20 ms", track = "0.5 s" }
[leak.fitting]
at = "port"
rate = "5e-8 mol/s"
rate_at = "6 bar abs"
law = "hole"
[sequence.run]
points = ["50 %", "90 %", "30 %", "0 %"]
"""


def narrow() -> Bench:
    gas = tabulate("Nitrogen", 11.0, 200.0, 400.0, 40, 400)
    tube = (0.0015, 0.75, 1.5e-6, 2.0)
    plant = Plant(
        gas,
        vessels=[
            cylinder(20e-6, 0.02, 0.003, STEEL, 10.0, jet=max(0.0015, iso_bore(1e-9))),
            cylinder(100e-6, 0.04, 0.003, STAINLESS, 10.0, jet=0.0015),
            cylinder(np.pi / 4.0 * 0.0015**2 * 1.5, 0.0015, 0.001, STAINLESS),
        ],
        edges=[
            Edge(0, 2, flow.TUBE, tube),
            Edge(2, 1, flow.TUBE, tube),
            valve("supply", 0, 1e-10, 0.3, 0),
            valve(0, "exhaust", 3e-10, 0.3, 1),
            valve(0, "room", 1e-9, 0.3, 2),
            Edge(1, "room", flow.HOLE, (leak_area(gas, 5e-8, 6e5),)),
        ],
        boundaries={"supply": (8e5, 293.15), "exhaust": ROOM, "room": ROOM},
        gauges=[(0, 0.01), (1, 0.05)],
        valve_lags=[0.005, 0.005, 0.01],
        pid=Pid(12.0, 0.8, 0.01, 0.02, 0.5, 101325.0, 6e5),
        period=0.02,
        start=ROOM[0],
    )
    points = (Point(ROOM[0] + 3.0e5), Point(ROOM[0] + 5.4e5), Point(ROOM[0] + 1.8e5), Point(ROOM[0], VENT))
    way = Way(points, allowance=30.0, instruments=((3.0, 0.0), (1.0, 5.0)), higher=0.3)
    return Bench(NARROW, plant, way, 6e5)


SLOW_DEVICE = """
schema = "simcal/bench/1"
name = "slow device, isolated"
gas = "air"
room = { temperature = "20 degC", barometer = "101325 Pa abs" }
[volume.manifold]
capacity = "30 cm3"
wall = { material = "aluminium", shape = "cylinder", bore = "15 mm", thickness = "5 mm", outside = "8 W/(m2 K)" }
[volume.port]
capacity = "80 cm3"
wall = { material = "steel", shape = "cylinder", bore = "30 mm", thickness = "4 mm", outside = "8 W/(m2 K)" }
[line.run]
between = ["manifold", "port"]
bore = "4 mm"
length = "0.5 m"
cells = 0
[valve.inlet]
between = ["supply", "manifold"]
conductance = "2e-10 m3/(s Pa)"
critical_ratio = 0.3
lag = "5 ms"
[valve.outlet]
between = ["manifold", "exhaust"]
conductance = "4e-10 m3/(s Pa)"
critical_ratio = 0.3
lag = "5 ms"
[supply]
pressure = "13 bar abs"
[sensor.reference]
at = "manifold"
full_scale = "10 bar gauge"
lag = "10 ms"
[device.one]
at = "port"
full_scale = "10 bar gauge"
accuracy = { span = "0.05 %", is = "limits" }
lag = "0.3 s"
[controller]
reads = "reference"
period = "20 ms"
gains = { kp = 15, ti = "0.8 s", td = "10 ms", filter = "20 ms", track = "0.5 s" }
[leak.fitting]
at = "port"
rate = "1e-6 mol/s"
rate_at = "10 bar abs"
law = "laminar"
[sequence.run]
points = ["40 %", "80 %", "30 %"]
read = "isolated"
soak = "3 s"
longest = "600 s"
"""


def slow_device() -> Bench:
    gas = tabulate("Air", 16.0, 200.0, 400.0, 40, 400)
    half = np.pi / 8.0 * 0.004**2 * 0.5
    manifold = cylinder(30e-6, 0.015, 0.005, ALUMINIUM, 8.0, jet=max(0.004, iso_bore(4e-10)))
    plant = Plant(
        gas,
        vessels=[
            replace(manifold, volume=30e-6 + half),
            replace(cylinder(80e-6, 0.03, 0.004, STEEL, 8.0, jet=0.004), volume=80e-6 + half),
        ],
        edges=[
            Edge(0, 1, flow.TUBE, (0.004, 0.5, 1.5e-6)),
            valve("supply", 0, 2e-10, 0.3, 0),
            valve(0, "exhaust", 4e-10, 0.3, 1),
            Edge(1, "room", flow.LAMINAR, (leak_laminar(gas, 1e-6, 1e6, ROOM[0]),)),
        ],
        boundaries={"supply": (13e5, 293.15), "exhaust": ROOM, "room": ROOM},
        gauges=[(0, 0.01), (1, 0.3)],
        valve_lags=[0.005, 0.005],
        pid=Pid(15.0, 0.8, 0.01, 0.02, 0.5, 101325.0, 1e6),
        period=0.02,
        start=ROOM[0],
    )
    points = tuple(Point(ROOM[0] + share * 1e6, ISOLATED) for share in (0.4, 0.8, 0.3))
    return Bench(SLOW_DEVICE, plant, Way(points, allowance=50.0, soak=3.0, longest=600.0), 1e6)


SLOW_COOLING = """
schema = "simcal/bench/1"
name = "slow cooling, small allowance"
gas = "argon"
room = { temperature = "20 degC", barometer = "101325 Pa abs", ramp = "0.6 K/h" }
[volume.manifold]
capacity = "50 cm3"
wall = { material = "steel", shape = "cylinder", bore = "30 mm", thickness = "3 mm", outside = "10 W/(m2 K)" }
[volume.port]
capacity = "500 cm3"
wall = { material = "steel", shape = "cylinder", bore = "80 mm", thickness = "4 mm", outside = "10 W/(m2 K)" }
[line.run]
between = ["manifold", "port"]
bore = "3 mm"
length = "1 m"
[valve.inlet]
between = ["supply", "manifold"]
conductance = "4e-10 m3/(s Pa)"
critical_ratio = 0.35
lag = "5 ms"
[valve.outlet]
between = ["manifold", "exhaust"]
conductance = "1e-9 m3/(s Pa)"
critical_ratio = 0.35
lag = "5 ms"
[supply]
pressure = "6 bar abs"
[sensor.reference]
at = "manifold"
full_scale = "4 bar abs"
lag = "20 ms"
[device.one]
at = "port"
full_scale = "4 bar abs"
lag = "0.1 s"
allowance = "1 Pa"
[controller]
reads = "reference"
period = "20 ms"
gains = { kp = 15, ti = "1 s", track = "0.5 s" }
[leak.fitting]
at = "port"
rate = "1e-8 mol/s"
rate_at = "4 bar abs"
law = "hole"
[sequence.run]
points = ["3 bar abs", "1.8 bar abs"]
"""


def slow_cooling() -> Bench:
    gas = tabulate("Argon", 12.0, 200.0, 420.0, 40, 440)
    tube = (0.003, 0.5, 1.5e-6, 2.0)
    plant = Plant(
        gas,
        vessels=[
            cylinder(50e-6, 0.03, 0.003, STEEL, 10.0, jet=max(0.003, iso_bore(1e-9))),
            cylinder(500e-6, 0.08, 0.004, STEEL, 10.0, jet=0.003),
            cylinder(np.pi / 4.0 * 0.003**2, 0.003, 0.001, STAINLESS),
        ],
        edges=[
            Edge(0, 2, flow.TUBE, tube),
            Edge(2, 1, flow.TUBE, tube),
            valve("supply", 0, 4e-10, 0.35, 0),
            valve(0, "exhaust", 1e-9, 0.35, 1),
            Edge(1, "room", flow.HOLE, (leak_area(gas, 1e-8, 4e5),)),
        ],
        boundaries={"supply": (6e5, 293.15), "exhaust": ROOM, "room": ROOM},
        gauges=[(0, 0.02), (1, 0.1)],
        valve_lags=[0.005, 0.005],
        pid=Pid(15.0, 1.0, 0.0, 0.0, 0.5, 0.0, 4e5),
        period=0.02,
        start=ROOM[0],
        ramp=0.6 / 3600.0,
    )
    return Bench(SLOW_COOLING, plant, Way((Point(3e5), Point(1.8e5)), allowance=1.0), 4e5)


BENCHES: dict[str, Callable[[], Bench]] = {
    "narrow line": narrow,
    "slow device": slow_device,
    "slow cooling": slow_cooling,
}
