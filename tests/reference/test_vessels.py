"""Measured vessels that blow down through a hole, as records hand them down; read from the folder in SIMCAL_MEASURED.

Nitrogen: Haque et al., Trans. IChemE B 70 (1992) 10-17, run I1. Air: believed to be Thorncroft, Patton and Gordon, ASEE
2007, doi 10.18260/1-2--2911. Both as digitised for HydDown (github.com/andr1976/HydDown, MIT licence), not copied here.

What was fixed before any comparison, for both vessels alike:
- discharge coefficient 0.82 +- 0.03, the film as shipped, the wall one lump of steel (7800 kg/m3, 500 J/(kg K)) in
  still air;
- a model's temperature is the mean of the gas. For nitrogen a high and a low series were measured; their mean is
  compared;
- the band: reading error of the figures, plus what Cd's spread does to the result, plus what 10 % of the film does to
  it. What is read is value and time. The error of time shows in the records: the first nitrogen points have the start
  (150.02 bar, 288.9 K) at 0.05 to 0.32 s. It is carried through the model's slope.
No number is tuned to a record.
"""

import csv
import math
from dataclasses import dataclass

import numpy as np
import pytest

from simcal.engine import simulate
from simcal.physics import flow, heat
from simcal.physics.convection import outside_film
from simcal.tables.gas import load
from tests.engine import networks

CD, CD_SPREAD = 0.82, 0.03
FILM_SPREAD = 0.1
STEEL = 7800.0 * 500.0
BAR = 1e5


@dataclass(frozen=True)
class Vessel:
    """A measured vessel and how well its figures could be read."""

    record: str
    gas: str
    length: float
    bore: float
    wall: float
    opening: float
    start: float
    kelvin: float
    kelvin_spread: float
    series: tuple[str, ...]
    read_pressure: float
    read_kelvin: float
    read_time: float


NITROGEN = Vessel(
    "n2-blowdown-150bar", "nitrogen", 1.524, 0.273, 0.025, 6.35e-3, 150.0 * BAR, 288.0, 0.0, ("gas_high", "gas_low"),
    read_pressure=0.3 * BAR, read_kelvin=3.0, read_time=0.3,
)  # fmt: skip
AIR = Vessel(
    "air-discharge-790kPa", "air", 0.515, 0.20, 0.00818, 2.71e-3, 7.9 * BAR, 295.65, 2.5, ("gas_mean",),
    read_pressure=0.05 * BAR, read_kelvin=2.0, read_time=0.2,
)  # fmt: skip
"""The air's temperature at the start is not written beside the record: a laboratory has 20 to 25 degC."""
NITROGEN_PRESSURE = (
    "2.8 bands low at 59 s: the record's own mass balance (its p and T, no film, no engine) gives a discharge "
    "coefficient of 0.78 in the first 10 s and 0.64 to 0.71 from 10 to 50 s, outside 0.82 +- 0.03"
)
NITROGEN_KELVIN = "1.3 bands (8 K) cold at 5 to 15 s, within the band afterwards: the mean of two probes that lag"
AIR_KELVIN = "2.5 bands (16 K) cold at 4 to 15 s, within the band from 20 s: the probe seems to lag by 3 to 4 s"


def case(vessel, missed=None):
    """A vessel as a parameter; `missed` says by how much the record lies outside its band, which stays as it is."""
    marks = [pytest.mark.xfail(reason=missed, strict=True)] if missed else []
    return pytest.param(vessel, marks=marks, id=vessel.gas)


def blow_down(vessel, times, cd=CD, film=1.0, warmer=0.0):
    """The engine's pressure (Pa) and gas temperature (K) at times (s): one volume, one hole into the room."""
    table = load(vessel.gas)
    room = vessel.kelvin + warmer
    wide = vessel.bore + 2.0 * vessel.wall
    end = math.pi / 4.0 * wide**2
    metal = end * (vessel.length + 2.0 * vessel.wall) - math.pi / 4.0 * vessel.bore**2 * vessel.length
    outside = math.pi * wide * (vessel.length + 2.0 * vessel.wall) + 2.0 * end
    net = networks.network(
        table,
        [math.pi / 4.0 * vessel.bore**2 * vessel.length],
        [(0, 1, flow.HOLE, -1, cd * math.pi / 4.0 * vessel.opening**2)],
        [networks.ROOM_PA],
        films=[[heat.CYLINDER, math.pi * vessel.bore * (vessel.length + 0.5 * vessel.bore), vessel.bore, film]],
        wall_heat=metal * STEEL,
        room_link=outside * outside_film(wide, room - 5.0, room),
        gauges=[(0, 1e-3)],
        room=(room, 0.0, 0.0, 600.0, 0.0),
    )
    system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), vessel.start)
    _, trace = simulate.hold(system, simulate.begin(system), np.asarray(times))
    assert trace.reason is None
    return trace.pressure_Pa[:, 0], trace.temperature_K[:, 0]


def read(folder, vessel):
    """Series of a record: name -> (times s, values in SI)."""
    place = next(folder.rglob(f"{vessel.record}.csv"))
    series = {}
    with place.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            scale = BAR if row["unit"] == "bar_abs" else 1.0
            series.setdefault(row["series"], []).append((float(row["time_s"]), float(row["value"]) * scale))
    return {name: np.array(rows).T for name, rows in series.items()}


def bands(vessel, times):
    """The model at times, and the half-widths of its bands of pressure and temperature."""
    central = np.array(blow_down(vessel, times))
    wide = np.array([[vessel.read_pressure], [vessel.read_kelvin]]) * np.ones_like(central)
    later = np.array(blow_down(vessel, times + vessel.read_time))
    earlier = np.array(blow_down(vessel, np.maximum(times - vessel.read_time, 0.0)))
    wide += np.maximum(np.abs(later - central), np.abs(earlier - central))
    for change in ({"cd": CD_SPREAD}, {"film": FILM_SPREAD}, {"warmer": vessel.kelvin_spread}):
        ((name, step),) = change.items()
        nominal = {"cd": CD, "film": 1.0, "warmer": 0.0}[name]
        sides = [np.array(blow_down(vessel, times, **{name: nominal + sign * step})) for sign in (-1.0, 1.0)]
        wide += np.maximum(np.abs(sides[0] - central), np.abs(sides[1] - central))
    return central, wide


@pytest.mark.parametrize("vessel", [case(NITROGEN, NITROGEN_PRESSURE), case(AIR)])
def test_pressure_of_a_blow_down(measured, vessel):
    times, right = read(measured, vessel)["pressure"]
    (found, _), (wide, _) = bands(vessel, times)
    off = (found - right) / wide
    assert np.abs(off).max() <= 1.0, f"worst {off[np.abs(off).argmax()]:.2f} bands at {times[np.abs(off).argmax()]} s"


@pytest.mark.parametrize("vessel", [case(NITROGEN, NITROGEN_KELVIN), case(AIR, AIR_KELVIN)])
def test_gas_temperature_of_a_blow_down(measured, vessel):
    series = read(measured, vessel)
    times = series[vessel.series[0]][0]
    right = np.mean([np.interp(times, *series[name]) for name in vessel.series], axis=0)
    (_, found), (_, wide) = bands(vessel, times)
    off = (found - right) / wide
    assert np.abs(off).max() <= 1.0, f"worst {off[np.abs(off).argmax()]:.2f} bands at {times[np.abs(off).argmax()]} s"
