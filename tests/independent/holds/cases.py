"""Independent re-implementation, shares nothing with simcal/: the draw of one bench, its room, its instruments.

The ranges are broad and of handbook sense: laboratory rooms, hard-piped volumes of 5 cm3 to 20 L, shop pressures.
What the user states differs from what is true within the stated spreads.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from tests.independent.holds import gases, laws
from tests.independent.holds.confounders import Course, room_course
from tests.independent.holds.logger import Logger, Thermometer
from tests.independent.holds.model import GEOMETRIES, Vessel

# W/(m K), J/(m3 K), 300 K: Incropera & DeWitt, appendix A (from memory, good to some per cent)
MATERIALS = {
    "steel": (60.5, 3.41e6), "stainless": (14.9, 3.77e6), "aluminium": (167.0, 2.42e6), "brass": (110.0, 3.24e6),
}  # fmt: skip
BAROMETER = 101325.0
HIGHEST = 34e6
"""Pa, of a supply"""
DEFAULTS = {"room_drift": 0.5 / 3600.0, "room_cycle": 0.1, "barometer_drift": 100.0 / 3600.0}
"""what u counts for a key that the user left out, K/s, K, Pa/s"""


def between(rng: np.random.Generator, low: float, high: float) -> float:
    """Log-uniform."""
    return float(math.exp(rng.uniform(math.log(low), math.log(high))))


def rounded(x: float, digits: int = 2) -> float:
    """To so many significant digits, as people state numbers."""
    return float(f"{x:.{digits - 1}e}")


@dataclass(frozen=True)
class Stated:
    """Sizes on the data sheet and of the room, SI; None where the user left it out."""

    noise: float
    resolution: float
    drift: float
    zero_shift: float
    room_drift: float | None
    room_cycle: float | None
    barometer_drift: float | None


@dataclass(frozen=True)
class Bench:
    """One drawn bench without leak or confounder."""

    vessel: Vessel
    course: Course
    stated: Stated
    logger: Logger
    thermometer: Thermometer | None
    gauge: bool
    barometer: float
    wait: float
    pre: float
    vented: bool
    about_wall: dict | None
    capacity: float
    capacity_sd: float
    thermometer_about: dict | None


def drawn_shape(rng: np.random.Generator, volume: float) -> tuple[str, float]:
    """Shape of the hollow and its bore (gap of a slab), m."""
    shape = str(rng.choice(["cylinder", "sphere", "slab"], p=[0.7, 0.2, 0.1]))
    if shape == "sphere":
        return shape, (6.0 * volume / math.pi) ** (1.0 / 3.0)
    if shape == "slab":
        return shape, volume ** (1.0 / 3.0) * rng.uniform(0.15, 0.5)
    return shape, max((4.0 * volume / (math.pi * between(rng, 1.5, 40.0))) ** (1.0 / 3.0), 0.003)


def pressures(rng: np.random.Generator, barometer: float) -> tuple[float, float]:
    """Pressure of the hold and what came before, Pa abs."""
    p = between(rng, 2e4, 2e7)
    while 0.8 < p / barometer < 1.25:
        p = between(rng, 2e4, 2e7)
    if p < barometer:
        came = barometer if rng.uniform() < 0.7 else p * rng.uniform(0.3, 0.9)
    else:
        kind = rng.choice(["room", "point", "above", "vacuum"], p=[0.4, 0.25, 0.25, 0.1])
        came = {
            "room": barometer,
            "point": max(p * rng.uniform(0.3, 0.9), barometer),
            "above": p * rng.uniform(1.1, 1.6),
            "vacuum": rng.uniform(2e3, 1e4),
        }[str(kind)]
    return p, came


def drawn_vessel(rng: np.random.Generator, part: str) -> tuple[Vessel, str, float]:
    """A vessel with its move and soak; its material; the wait before the watch, s."""
    volume = between(rng, 5e-6, 2e-2)
    shape, bore = drawn_shape(rng, volume)
    p, came = pressures(rng, BAROMETER)
    thickness = float(np.clip(bore * rng.uniform(0.03, 0.12) * (1.0 + p / 6e6), 8e-4, 0.04))
    material = str(rng.choice(list(MATERIALS)))
    conductivity, heat = MATERIALS[material]
    hold = between(rng, 30.0, 1200.0)
    calm = part == "clear-cut"
    geometry = GEOMETRIES[shape]
    held = heat * volume * ((1.0 + 2.0 * thickness / bore) ** geometry - 1.0)
    nu8, n = 58.0 * math.exp(rng.normal(0.0, 0.4)), rng.uniform(0.24, 0.35)
    body = (1.0, 0.0, 0.0)
    if rng.uniform() < 0.4:
        capacity = held * between(rng, 0.2, 3.0)
        body = (capacity, held / between(rng, 150.0, 3000.0), capacity / between(rng, 900.0, 4000.0))
    vessel = Vessel(
        gas=str(rng.choice(["nitrogen", "air", "helium", "argon"], p=[0.4, 0.25, 0.2, 0.15])),
        volume=volume, shape=shape, bore=bore, thickness=thickness,
        wall=(conductivity * math.exp(rng.normal(0.0, 0.05)), heat * math.exp(rng.normal(0.0, 0.03))),
        p=p, came_from=came, supply=min(max(p, came) * rng.uniform(1.05, 1.6), HIGHEST),
        move=float(np.clip(between(rng, 0.7, 15.0) * (volume / 1e-4) ** 0.25, 0.5, 90.0)),
        soak=between(rng, 30.0, 1800.0) if calm else between(rng, 2.0, 240.0),
        hold=hold,
        overshoot=(0.0 if rng.uniform() < 0.5 else rng.uniform(-0.002, 0.008) * (p - came)),
        film_rad=rng.uniform(0.5, 5.0), film_nat=rng.uniform(1.2, 3.5),
        film_forced=(between(rng, 0.5, 12.0) if rng.uniform() < 0.6 else 0.0),
        body=body, body_offset=rng.normal(0.0, 0.05 if calm else 0.15),
        wall_offset=rng.normal(0.0, 0.03 if calm else 0.12),
        room0=rng.uniform(289.0, 298.0),
        convection=(nu8 / 1e8**n, n, between(rng, 0.4, 8.0), rng.uniform(0.0, 0.5)),
        jet=rng.uniform(0.2, 0.8) * (4.0 / (math.pi * rng.uniform(0.0015, 0.005))) ** 0.67,
        swirl_tau=between(rng, 0.5, 6.0),
    )  # fmt: skip
    wait = 0.0 if rng.uniform() < 0.4 else rng.uniform(0.05, 0.6 if calm else 0.4) * hold
    return vessel, material, min(wait, hold - 25.0)


def drawn_leak(rng: np.random.Generator, vessel: Vessel, barometer: float) -> Vessel:
    """The law of the leak, its size left at nought."""
    law = str(rng.choice(list(laws.LAWS), p=[0.4, 0.25, 0.15, 0.2]))
    beyond = barometer
    if law == "permeation":
        beyond = {"nitrogen": 0.78 * barometer, "air": barometer}.get(vessel.gas, 0.0)
    return replace(vessel, law=laws.LAWS[law], beyond=beyond, lag=between(rng, 20.0, 3000.0))


def data_sheet(rng: np.random.Generator, p: float, part: str) -> Stated:
    """Sizes as a data sheet and a careful user would state them."""
    fine = part == "clear-cut"
    resolution = p * between(rng, 3e-7, 2e-5 if fine else 5e-5)
    omit = 0.1 if fine else 0.15
    gone = rng.uniform(size=2) < omit
    return Stated(
        noise=rounded(p * between(rng, 5e-7, 2e-5)),
        resolution=10.0 ** round(math.log10(resolution)) * float(rng.choice([1.0, 1.0, 2.0, 5.0])),
        drift=rounded(p * between(rng, 3e-6, 5e-5)) / 3600.0,
        zero_shift=rounded(p * between(rng, 3e-6, 5e-5)),
        room_drift=None if gone[0] else rounded(between(rng, 0.1, 1.0 if fine else 2.0)) / 3600.0,
        room_cycle=None if gone[0] else rounded(between(rng, 0.02, 0.3 if fine else 0.6)),
        barometer_drift=None if gone[1] else rounded(between(rng, 20.0, 200.0)) / 3600.0,
    )


def drawn_logger(rng: np.random.Generator, stated: Stated, hold: float) -> Logger:
    """The instrument behind that data sheet."""
    noise = stated.noise * math.exp(rng.normal(0.0, 0.15))
    return Logger(
        period=float(np.clip(between(rng, 0.1, 5.0), hold / 5000.0, hold / 25.0)),
        lag=between(rng, 0.005, 0.5),
        noise=noise,
        coloured=noise * between(rng, 0.05, 0.4),
        resolution=stated.resolution,
        jitter=float(rng.choice([0.0, 0.02, 0.1])),
        spikes=float(rng.choice([0.0, 0.001, 0.005], p=[0.5, 0.3, 0.2])),
        spike_size=max(stated.noise, stated.resolution) * between(rng, 10.0, 1000.0),
        gaps=int(rng.choice([0, 1, 3], p=[0.75, 0.2, 0.05])),
    )


def drawn_thermometer(rng: np.random.Generator) -> tuple[Thermometer, dict]:
    """A thermometer on the wall, and what is stated of it."""
    accuracy = rounded(between(rng, 0.05, 0.5), 1)
    lag = between(rng, 4.0, 60.0)
    own = Thermometer(
        rng.uniform(0.0, 0.25), lag, rng.normal(0.0, 0.5 * accuracy), between(rng, 1e-3, 2e-2),
        float(rng.choice([0.001, 0.01, 0.1], p=[0.3, 0.5, 0.2])),
    )  # fmt: skip
    return own, {"of": "wall", "lag": rounded(lag * math.exp(rng.normal(0.0, 0.2))), "accuracy": accuracy}


def drawn_bench(rng: np.random.Generator, part: str) -> Bench:
    """One bench of the part: "clear-cut", "hard" or "confounded"."""
    vessel, material, wait = drawn_vessel(rng, part)
    barometer = rng.uniform(9.7e4, 1.03e5)
    if vessel.came_from == BAROMETER:
        vessel = replace(vessel, came_from=barometer)
    vessel = drawn_leak(rng, vessel, barometer)
    stated = data_sheet(rng, vessel.p, part)
    drift = stated.room_drift or DEFAULTS["room_drift"]
    cycle = stated.room_cycle or DEFAULTS["room_cycle"]
    unsteady = part != "clear-cut" and rng.uniform() < 0.6
    course = room_course(rng, vessel.begins, vessel.hold, drift, cycle, unsteady)
    sd = float(rng.choice([0.02, 0.03, 0.05]))
    capacity = rounded(vessel.volume / (1.0 + np.clip(rng.normal(0.0, sd), -0.09, 0.09)), 3)
    wall = {
        "material": material,
        "shape": vessel.shape,
        "bore": rounded(vessel.bore * math.exp(rng.normal(0.0, 0.02)), 3),
        "thickness": rounded(vessel.thickness * math.exp(rng.normal(0.0, 0.07))),
    }
    unknown_wall = part != "clear-cut" and rng.uniform() < 0.1
    thermometer = drawn_thermometer(rng) if rng.uniform() < 0.45 else (None, None)
    return Bench(
        vessel=vessel, course=course, stated=stated, logger=drawn_logger(rng, stated, vessel.hold),
        thermometer=thermometer[0], gauge=bool(rng.uniform() < 0.5 and vessel.p > barometer), barometer=barometer,
        wait=wait, pre=min(vessel.soak, rng.uniform(3.0, 30.0)), vented=bool(rng.uniform() < 0.7),
        about_wall=None if unknown_wall else wall, capacity=capacity, capacity_sd=sd * capacity,
        thermometer_about=thermometer[1],
    )  # fmt: skip


def sensitivities(vessel: Vessel) -> dict[str, float]:
    """The library's properties at the pressure of the hold and the room's temperature."""
    return gases.at(vessel.gas, vessel.p, vessel.room0)
