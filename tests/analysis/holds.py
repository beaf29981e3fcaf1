"""Records of holds from closed forms, and what is said of them, for the tests of the judge."""

import math

import numpy as np

from simcal.bench.about import About, HoldRoom, HoldSensor, HoldWall, PermittedLeak
from simcal.bench.record import Record
from simcal.bench.values import Level, Spread

R = 8.314462618  # J/(mol K), CODATA 2018
T = 293.15
VOLUME = 100e-6
P = 500e3


def about(**changed):
    """A steel vessel of 100 cm3 with nitrogen, told well; `changed` replaces keys, `spreads` add to the spreads."""
    spreads = {
        "capacity": Spread(0.01 * VOLUME),
        "sensor.drift": Spread(1.0 / 3600.0),
        "room.drift": Spread(0.05 / 3600.0),
    } | changed.pop("spreads", {})
    said = {
        "gas": "nitrogen",
        "capacity": VOLUME,
        "reading": "absolute",
        "barometer": 101325.0,
        "permitted_leak": PermittedLeak(2e-8, "amount", "mol/s"),
        "isolated_at": 0.0,
        "came_from": Level(P, False),
        "moved_in": 5.0,
        "soak": 600.0,
        "supply": "vented",
        "wall": HoldWall(material="steel", shape="cylinder", bore=0.04, thickness=0.003),
        "sensor": HoldSensor(noise=2.0, resolution=0.1, drift=0.0, zero_shift=0.0),
        "room": HoldRoom(temperature=T, drift=0.0, cycle=0.02),
        "file": "about.toml",
    }
    return About(**(said | changed), spreads=spreads)


def record(pressure, time=None, seed=1, noise=2.0, temperature=None, name="hold.csv"):
    """A record of the course `pressure(t)`, Pa, with white noise and a resolution of 0.1 Pa."""
    time = np.linspace(0.5, 300.0, 600) if time is None else time
    reading = pressure(time) + np.random.default_rng(seed).normal(0.0, noise, len(time))
    return Record(
        name=name,
        time_s=time,
        pressure_Pa=np.round(reading, 1),
        temperature_K=temperature,
        resolution_Pa=0.1,
        segments=((0, len(time) - 1),),
    )


def isothermal(rate, law="constant", p0=P, volume=VOLUME, outside=101325.0):
    """Closed forms of an ideal gas at rest at the wall's temperature that leaks `rate` mol/s at first."""
    slope = rate * R * T / volume

    def course(t):
        if law == "hole":  # choked: dp/dt = -slope p/p0
            return p0 * np.exp(-slope / p0 * t)
        if law == "laminar":  # dp/dt = -k (p^2 - pa^2), a hyperbolic cotangent
            k = slope / (p0**2 - outside**2)
            start = math.atanh(outside / p0)
            return outside / np.tanh(start + k * outside * t)
        return p0 - slope * t

    return course
