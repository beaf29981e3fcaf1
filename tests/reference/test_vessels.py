"""Measured vessels that blow down through a hole, as records hand them down; read from the folder in SIMCAL_MEASURED.

Nitrogen: Haque et al., Trans. IChemE B 70 (1992) 10-17, run I1. Air: believed to be Thorncroft, Patton and Gordon, ASEE
2007, doi 10.18260/1-2--2911. Hydrogen: Woodfield, Monde and Mitsutake, J. Therm. Sci. Tech. 2 (2007) 180-191. All as
digitised for HydDown (github.com/andr1976/HydDown, MIT licence), not copied here. The hydrogen record of Byrnes,
Reid and Ruccia (1964) says nothing of a discharge: the hole handed down with it is a model's input.

What was fixed before any comparison, for all vessels alike:
- discharge coefficient 0.82 +- 0.03, the film as shipped, the wall one lump of steel (7800 kg/m3, 500 J/(kg K)) in
  still air;
- a model's temperature is the mean of the gas. For nitrogen a high and a low series were measured; their mean is
  compared;
- the band: reading error of the figures, plus what Cd's spread does to the result, plus what 10 % of the film does to
  it. What is read is value and time. The error of time shows in the records: the first nitrogen points have the start
  (150.02 bar, 288.9 K) at 0.05 to 0.32 s. It is carried through the model's slope.
No number is tuned to a record. Hydrogen came last, when all this stood: it is held back from every choice.

What misses, and what was looked for behind it (band widths; nitrogen's pressure, then its temperature):
- as it stands -2.78, -1.31; half the film -3.30, -3.99; twice the film -2.85, +3.45: heat cannot mend the pressure;
- a discharge coefficient of 0.70 alone brings both inside, +0.80, -0.53. Followed from point to point along the
  record's pressure it is 0.81, 0.73, then 0.60 to 0.83 without a trend. Fitted to the whole pressure it is 0.71, for
  air 0.86 and for hydrogen 0.80: hole or volume of that vessel are 15 % off what is stated, or something throttled
  it. Domed ends would be up to 12 % of volume; gas that leaves warm at the top is 2.5 % of flow;
- the wall's inner face lies 1 K below its mean (7 kW/m2 through 25 mm of steel); the record's own walls do not serve:
  the outer one falls by 1.8 K in 5 s, of which conduction brings 2 % that far;
- falling pressure ratio (a sharp edge passes less near 0.5) touches air below 2 bar only, and to the wrong side.
Air's temperature: the record's own energy balance asks for 400 W/(m2 K) in the first 3 s, 98, 46 and 22 in the next
three steps of 3 s, where free convection gives about 20; seen by a probe that lags by 5 s it would be inside the band.
Hydrogen's: 0.7 of the film, well within its factor of two, would be inside from 2 to 13 s. Where the flow has ended,
gas of 1 bar follows its wall with 1.3 s by conduction alone, but the record stays 20 K cold for 10 s more.
"""

import csv
import functools
import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from simcal.engine import simulate
from simcal.physics import flow, heat
from simcal.physics.convection import outside_film
from simcal.tables import gas as tables
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
HYDROGEN = Vessel(
    "h2-discharge-10MPa", "hydrogen", 0.212, 0.076, 0.030, 0.5e-3, 100.0 * BAR, 308.0, 0.0, ("gas_high", "gas_low"),
    read_pressure=0.3 * BAR, read_kelvin=2.0, read_time=0.2,
)  # fmt: skip
NITROGEN_PRESSURE = "2.8 bands low at 54 to 59 s: the record asks for a discharge coefficient of 0.70"
NITROGEN_KELVIN = "1.3 bands (8 K) cold at 5 to 15 s: it follows the pressure, see the test of the film alone"
AIR_KELVIN = "2.5 bands (16 K) cold at 4 to 15 s, within the band from 27 s: the probe seems to lag"
HYDROGEN_KELVIN = (
    "1.5 bands cold at 1 s, then warm by 1 to 4 bands, 10 where the flow has ended: see the head of this file"
)


def case(vessel, missed=None):
    """A vessel as a parameter; `missed` says by how much the record lies outside its band, which stays as it is."""
    marks = [pytest.mark.xfail(reason=missed, strict=True)] if missed else []
    return pytest.param(vessel, marks=marks, id=vessel.gas)


@functools.cache
def load(gas):
    """The table of a gas: hydrogen is not shipped and made here, by the script that made the others."""
    if gas != "hydrogen":
        return tables.load(gas)
    make = pytest.importorskip("simcal.tables.make", reason="CoolProp")
    recipe = make.Recipe("Hydrogen", 140.0, 450.0, "as the library has it", p_max=16e6, T_dense=200.0)
    return tables.build(make.tabulate(gas, recipe))


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
        room_link=outside * outside_film("cylinder", wide, room - 5.0, room),
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


def bands(vessel, times, cd=CD, cd_spread=CD_SPREAD):
    """The model at times, and the half-widths of its bands of pressure and temperature."""
    central = np.array(blow_down(vessel, times, cd))
    wide = np.array([[vessel.read_pressure], [vessel.read_kelvin]]) * np.ones_like(central)
    later = np.array(blow_down(vessel, times + vessel.read_time, cd))
    earlier = np.array(blow_down(vessel, np.maximum(times - vessel.read_time, 0.0), cd))
    wide += np.maximum(np.abs(later - central), np.abs(earlier - central))
    nominal = {"cd": cd, "film": 1.0, "warmer": 0.0}
    for name, step in {"cd": cd_spread, "film": FILM_SPREAD, "warmer": vessel.kelvin_spread}.items():
        sides = [blow_down(vessel, times, **{**nominal, name: nominal[name] + sign * step}) for sign in (-1.0, 1.0)]
        wide += np.max([np.abs(side - central) for side in sides], axis=0)
    return central, wide


def assert_inside(found, right, wide, times):
    """Every point of a series inside its band; what is said names the worst."""
    off = (found - right) / wide
    worst = np.abs(off).argmax()
    assert np.abs(off).max() <= 1.0, f"worst {off[worst]:.2f} bands at {times[worst]} s"


def pressures(folder, vessel):
    """Times (s) and pressures (Pa) of a record, without what lies below the room that the vessel is open to.

    Hydrogen's record ends at 0.3 bar: its last four points are of the figure, not of the vessel.
    """
    times, right = read(folder, vessel)["pressure"]
    possible = right >= 0.99 * networks.ROOM_PA
    return times[possible], right[possible]


def kelvins(folder, vessel):
    """Times (s) and gas temperatures (K) of a record, the mean of its series."""
    series = read(folder, vessel)
    times = series[vessel.series[0]][0]
    return times, np.mean([np.interp(times, *series[name]) for name in vessel.series], axis=0)


@pytest.mark.parametrize("vessel", [case(NITROGEN, NITROGEN_PRESSURE), case(AIR), case(HYDROGEN)])
def test_pressure_of_a_blow_down(measured, vessel):
    times, right = pressures(measured, vessel)
    (found, _), (wide, _) = bands(vessel, times)
    assert_inside(found, right, wide, times)


@pytest.mark.parametrize(
    "vessel", [case(NITROGEN, NITROGEN_KELVIN), case(AIR, AIR_KELVIN), case(HYDROGEN, HYDROGEN_KELVIN)]
)
def test_gas_temperature_of_a_blow_down(measured, vessel):
    times, right = kelvins(measured, vessel)
    (_, found), (_, wide) = bands(vessel, times)
    assert_inside(found, right, wide, times)


def test_the_film_alone_under_the_recorded_pressure(measured):
    """Nitrogen, the hole sized to follow the record's pressure: temperature is free of the discharge then.

    Nothing of the temperature series goes into the size. Half or twice the film misses by 4 bands.
    """
    times, right = pressures(measured, NITROGEN)

    def miss(cd):
        return float(np.square(np.log(blow_down(NITROGEN, times, cd)[0] / right)).sum())

    fit = minimize_scalar(miss, bounds=(0.5, 1.0), method="bounded", options={"xatol": 1e-3}).x
    assert fit == pytest.approx(0.70, abs=0.02)
    times, right = kelvins(measured, NITROGEN)
    (_, found), (_, wide) = bands(NITROGEN, times, fit, cd_spread=0.0)
    assert_inside(found, right, wide, times)
