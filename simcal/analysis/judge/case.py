"""The judge's own view of one hold: the rows since the valves shut, and every number with its spread, in SI."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.bench.values import Assumed
from simcal.tables.gas import GasTable

Vector = NDArray[np.float64]


class Guess(NamedTuple):
    """A number and its standard deviation."""

    value: float
    sd: float


@dataclass(frozen=True)
class Sheet:
    """The pressure sensor's data sheet, SI; None where nobody said."""

    noise: float | None = None
    resolution: float = 0.0
    drift: float = 0.0  # Pa/s, standard deviation
    zero_shift: float = 0.0  # Pa/K, standard deviation


@dataclass(frozen=True)
class Thermometer:
    """What the temperature column is: readings in K at their own times, and how the thermometer sits."""

    time: Vector
    reading: Vector
    of: str = "wall"  # or "room", "gas"
    lag: float = 20.0
    accuracy: float = 0.3  # K, standard deviation of a constant error
    resolution: float = 0.0


@dataclass(frozen=True)
class Wall:
    """What holds the gas: areas m2, lengths m, SI properties; sd are of logarithms."""

    shape: str
    bore: float
    thickness: float
    density: float
    specific_heat: float
    conductivity: float
    film: float | None = None  # W/(m2 K), fixed
    outside: float | None = None  # W/(m2 K)
    film_sd: float = 0.40
    capacity_sd: float = 0.14
    outside_sd: float = 0.45


@dataclass(frozen=True)
class Case:
    """One hold. Times in s since the valves shut, pressures absolute, Pa.

    `past` holds (time, pressure) of the time before as far as it is known, `past_rested` whether the first point was
    at rest, so that all that matters is known.
    """

    time: Vector
    pressure: Vector
    watch: tuple[float, float]
    table: GasTable
    gas: str
    volume: float
    volume_sd: float  # relative
    room: float  # K
    wall: Wall
    sheet: Sheet = Sheet()
    past: tuple[tuple[float, float], ...] = ()
    past_rested: bool = True
    past_sd: float = 0.3  # of the logarithm of its time scale
    heat_sd: float = 0.12  # relative, of the heat of a known move
    gauge: bool = False
    barometer: float = 101325.0
    barometer_drift: float = 25.0 / 3600.0  # Pa/s, standard deviation
    room_ramp: float = 0.5 / 3600.0  # K/s, standard deviation
    room_trend: float = 0.0  # K/s, known
    room_cycle: float = 0.1  # K, amplitude
    room_period: float | None = None  # s
    thermometer: Thermometer | None = None
    permitted: float | None = None  # mol/s at the watch's mean pressure
    rate_known: bool = True  # gas and capacity were given
    supply: float | None = None  # Pa; 0.0: vented; None: not stated
    port: str | None = None
    rating: float | None = None  # Pa, lowest of all parts
    horizon: float | None = None  # s, hold that slow courses are thought of for; None: the record's own length
    assumed: tuple[Assumed, ...] = field(default=())

    @property
    def length(self) -> float:
        """Length of hold that slow courses and permeation are thought of for, s."""
        return self.horizon if self.horizon is not None else float(self.time[-1])
