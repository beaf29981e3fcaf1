"""What a simulated hold answers."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.hold.plan import Plan
from simcal.bench.values import Assumed

Vector = NDArray[np.float64]

PARTS = ("leak", "thermal", "other", "unexplained")
"""What the change over the watch is made of: gas that left; temperatures of the gas; creep, pockets, surfaces and the
sensor with the barometer; noise and rounding."""


@dataclass(frozen=True)
class Rows:
    """What the logger holds, on its own clock: time_s, pressure_Pa as the sensor reads it, temperature_K, all [k]."""

    time_s: Vector
    pressure_Pa: Vector
    temperature_K: Vector | None


@dataclass(frozen=True)
class Truth:
    """What no logger sees. times_s, pressure_Pa [k]: the rows' clock and the true pressure at the sensor, absolute.

    leak_mol_per_s: net flow out of the isolated volume, mean of the watch; permitted_mol_per_s: at the watch's mean
    pressure, None where none was given; change_Pa: of the reading, start to end of the watch; parts_Pa sum to it;
    drawn: key of the bench -> the value this hold had.
    """

    leak_mol_per_s: float
    permitted_mol_per_s: float | None
    change_Pa: float
    parts_Pa: Mapping[str, float]
    drawn: Mapping[str, float]
    times_s: Vector
    pressure_Pa: Vector


@dataclass(frozen=True)
class HoldResult:
    """A hold with its record. Times on the record's clock, s; pressures Pa, absolute but in `rows`.

    reading: "gauge" or "absolute", what the rows' pressures are.
    """

    bench: str
    version: str
    seed: int
    plan: Plan
    reading: str
    moved_in_s: float
    isolated_at_s: float
    watch_from_s: float
    watch_until_s: float
    highest_Pa: float
    stored_energy_J: float
    stored_energy_method: str
    rows: Rows
    truth: Truth
    assumed: tuple[Assumed, ...]
    notes: tuple[str, ...] = ()
