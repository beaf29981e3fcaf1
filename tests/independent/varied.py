"""Independent re-implementation, shares nothing with simcal/: six more benches, as simcal's file and in plain numbers.

Gas, volumes, pressures, line, period and gains differ from those of `benches` and `dwell_benches`, on which the
engine's constants were chosen. The last three (HELD_BACK) were not run before its scheme and constants stood.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tests.independent import flow
from tests.independent.benches import ROOM, STAINLESS, STEEL, Case, leak_area
from tests.independent.gas import tabulate
from tests.independent.plant import Edge, Pid, Plant, cylinder, iso_bore, valve

TEXT = """
schema = "simcal/bench/1"
name = "varied"
gas = "{gas}"
room = {{ temperature = "20 degC", barometer = "101325 Pa abs", ramp = "{ramp} K/h" }}
[volume.manifold]
capacity = "{manifold[0]} cm3"
wall = {{ material = "steel", bore = "{manifold[1]} mm", thickness = "3 mm", outside = "10 W/(m2 K)" }}
[volume.port]
capacity = "{port[0]} cm3"
wall = {{ material = "steel", bore = "{port[1]} mm", thickness = "4 mm", outside = "10 W/(m2 K)" }}
[line.run]
between = ["manifold", "port"]
bore = "{line[0]} mm"
length = "{line[1]} m"
cells = {cells}
[valve.inlet]
between = ["supply", "manifold"]
conductance = "{inlet} m3/(s Pa)"
critical_ratio = 0.3
lag = "{valve_lag} s"
[valve.outlet]
between = ["manifold", "exhaust"]
conductance = "{outlet} m3/(s Pa)"
critical_ratio = 0.3
lag = "{valve_lag} s"
[supply]
pressure = "{supply} Pa abs"
[exhaust]
pressure = "{exhaust} Pa abs"
[sensor.reference]
at = "manifold"
full_scale = "{span} Pa abs"
lag = "{lags[0]} s"
[device.one]
at = "port"
full_scale = "{span} Pa abs"
allowance = "{allowance} Pa"
lag = "{lags[1]} s"
[controller]
reads = "reference"
period = "{period} s"
gains = {{ kp = {kp}, ti = "{ti} s", td = "10 ms", filter = "20 ms", track = "0.5 s" }}
[leak.fitting]
at = "port"
rate = "{leak} mol/s"
rate_at = "{leak_at} Pa abs"
law = "hole"
[sequence.run]
points = ["50 %"]
"""
METRES, CUBIC = 1e-3, 1e-6


@dataclass(frozen=True)
class Numbers:
    """A bench: gas and its table's largest density; volumes (cm3, bore mm), line (bore mm, length m); else SI."""

    gas: str
    dense: float
    warm: tuple[float, float]
    manifold: tuple[float, float]
    port: tuple[float, float]
    line: tuple[float, float]
    cells: int
    inlet: float
    outlet: float
    supply: float
    span: float
    kp: float
    ti: float
    way: tuple[tuple[float, float], ...]
    exhaust: float = ROOM[0]
    period: float = 0.02
    lags: tuple[float, float] = (0.01, 0.05)
    valve_lag: float = 0.005
    leak: float = 2e-8
    leak_at: float = 2e5
    ramp: float = 0.0


def case(n: Numbers) -> Case:
    """The bench twice."""
    names = {name: getattr(n, name) for name in Numbers.__dataclass_fields__}
    return Case(TEXT.format(**names, allowance=1e-4 * n.span), _plant(n), n.way, n.span)


def _plant(n: Numbers) -> Plant:
    gas = tabulate(n.gas.capitalize(), n.dense, *n.warm, 40, 420)
    bore, length = n.line[0] * METRES, n.line[1]
    jet = max(bore, iso_bore(max(n.inlet, n.outlet)))
    vessels = [
        cylinder(n.manifold[0] * CUBIC, n.manifold[1] * METRES, 0.003, STEEL, 10.0, jet=jet),
        cylinder(n.port[0] * CUBIC, n.port[1] * METRES, 0.004, STEEL, 10.0, jet=bore),
    ]
    inside = np.pi / 4.0 * bore**2 * length
    if n.cells == 0:
        vessels = [replace(v, volume=v.volume + 0.5 * inside) for v in vessels]
        lines = [Edge(0, 1, flow.TUBE, (bore, length, 1.5e-6))]
    else:
        vessels += [cylinder(inside / n.cells, bore, 0.001, STAINLESS)] * n.cells
        stops = [0, *range(2, 2 + n.cells), 1]
        # a cell ends in its middle: half a cell's length to each end of the line, a whole one between two cells
        parts = [0.5, *[1.0] * (n.cells - 1), 0.5]
        lines = [
            Edge(a, b, flow.TUBE, (bore, length * part / n.cells, 1.5e-6, float(n.cells + 1)))
            for a, b, part in zip(stops, stops[1:], parts, strict=False)
        ]
    return Plant(
        gas,
        vessels=vessels,
        edges=[
            *lines,
            valve("supply", 0, n.inlet, 0.3, 0),
            valve(0, "exhaust", n.outlet, 0.3, 1),
            Edge(1, "room", flow.HOLE, (leak_area(gas, n.leak, n.leak_at),)),
        ],
        boundaries={"supply": (n.supply, 293.15), "exhaust": (n.exhaust, 293.15), "room": ROOM},
        gauges=[(0, n.lags[0]), (1, n.lags[1])],
        valve_lags=[n.valve_lag, n.valve_lag],
        pid=Pid(n.kp, n.ti, 0.01, 0.02, 0.5, 0.0, n.span),
        period=n.period,
        start=ROOM[0],
        ramp=n.ramp / 3600.0,
    )


def air_3_bar() -> Case:
    return case(
        Numbers(
            "air", 7.0, (200.0, 420.0), (10, 12), (30, 20), (2, 0.5), 1, 3e-11, 8e-11, 4.5e5, 3e5, 20.0, 0.8,
            ((2.4e5, 10.0), (2.9e5, 8.0), (1.4e5, 10.0)), period=0.01,
        )
    )  # fmt: skip


def nitrogen_60_bar() -> Case:
    return case(
        Numbers(
            "nitrogen", 110.0, (180.0, 460.0), (25, 20), (250, 50), (3, 2.0), 0, 2e-10, 6e-10, 8e6, 6e6, 20.0, 1.0,
            ((3e6, 14.0), (5.4e6, 14.0), (2e6, 14.0)), lags=(0.02, 0.1), leak=1e-6,
        )
    )  # fmt: skip


def helium_10_bar() -> Case:
    return case(
        Numbers(
            "helium", 3.5, (180.0, 520.0), (40, 25), (200, 60), (4, 1.0), 1, 5e-11, 2e-10, 1.4e6, 1e6, 30.0, 1.0,
            ((7e5, 12.0), (9e5, 12.0), (3e5, 12.0)), leak=1e-7, ramp=1.2,
        )
    )  # fmt: skip


def argon_160_bar() -> Case:
    return case(
        Numbers(
            "argon", 400.0, (200.0, 520.0), (30, 20), (150, 40), (2, 1.0), 0, 3e-10, 6e-10, 2e7, 1.6e7, 12.0, 1.5,
            ((6e6, 14.0), (1.2e7, 14.0), (8e6, 14.0)), leak=1e-6,
        )
    )  # fmt: skip


def air_20_kPa() -> Case:
    return case(
        Numbers(
            "air", 2.5, (190.0, 420.0), (30, 25), (100, 50), (8, 0.6), 1, 3e-11, 2e-9, 1.1e5, 2e4, 12.0, 1.0,
            ((1.2e4, 14.0), (1.8e4, 12.0), (5e3, 14.0)), exhaust=20.0, leak=1e-9,
        )
    )  # fmt: skip


def nitrogen_1_litre() -> Case:
    return case(
        Numbers(
            "nitrogen", 20.0, (190.0, 440.0), (100, 40), (1000, 100), (6, 1.5), 2, 1e-9, 3e-9, 1.4e6, 1e6, 8.0, 1.5,
            ((6e5, 14.0), (4e5, 14.0)), period=0.05, lags=(0.03, 0.2), ramp=0.6,
        )
    )  # fmt: skip


SEEN: dict[str, Callable[[], Case]] = {
    "air 3 bar": air_3_bar,
    "nitrogen 60 bar": nitrogen_60_bar,
    "helium 10 bar": helium_10_bar,
}
HELD_BACK: dict[str, Callable[[], Case]] = {
    "argon 160 bar": argon_160_bar,
    "air 20 kPa": air_20_kPa,
    "nitrogen 1 litre": nitrogen_1_litre,
}
