"""Cells of a block of rows as numbers in SI; NaN where a cell is none, or one that no quantity of its kind has."""

import math
from collections.abc import Sequence

import numpy as np

from simcal.bench.record import FloatArray
from simcal.files.records import clock, words
from simcal.files.records.cell import OUT_OF_RANGE, Read, numbers
from simcal.files.records.clock import Stamps
from simcal.files.records.plan import NUMBERS, Plan
from simcal.files.records.words import PRESSURE, TEMPERATURE, Unit
from simcal.units import TABLE

LARGEST = 1e9
"""Largest pressure taken for one, Pa."""
LATEST = 1e17
"""Largest number taken for a time, in its unit."""


def times(
    cells: Sequence[str], plan: Plan, stamps: Stamps, strict: bool = True
) -> tuple[FloatArray, np.ndarray | None]:
    """Seconds of cells and, with dates, the numbers of their date texts; NaN where unreadable."""
    if plan.time_kind == NUMBERS:
        read = numbers(cells, plan.forms[plan.time[0]])
        read.values[np.abs(read.values) > LATEST] = math.nan
        if read.units is not None:
            if strict:
                raise ValueError
            factors = [plan.seconds if u is None else si_size(u, words.TIME, "time") for u in read.units]
            return read.values * np.array(factors), None
        return read.values * plan.seconds, None
    if plan.time_kind == clock.STAMPS:
        which, seconds = stamps.read(cells)
        return seconds, which
    if plan.time_kind == clock.ELAPSED:
        return clock.elapsed(cells, plan.time_unit), None
    return clock.times_of_day(cells), None


def second(columns: dict[int, list[str]], plan: Plan) -> FloatArray | None:
    """Temperatures in K, NaN where there is none."""
    if plan.temperature is None or plan.temperature_unit is None:
        return None
    read = numbers(columns[plan.temperature], plan.forms[plan.temperature])
    return kelvins(read, read.units, plan)


def pascals(read: Read, plan: Plan) -> FloatArray:
    """Pressures in Pa; NaN where there is no number, no unit, or one that no pressure has."""
    default = math.nan if plan.unit is None else TABLE[PRESSURE][plan.unit.name]
    values = np.where(np.abs(read.values) < OUT_OF_RANGE, read.values, math.nan)
    factors: float | FloatArray = default
    if read.units is not None:
        factors = np.array([default if unit is None else si_size(unit, PRESSURE, "pressure") for unit in read.units])
    pascal = values * factors
    return np.where(np.abs(pascal) <= LARGEST, pascal, math.nan)


def kelvins(read: Read, units: Sequence[Unit | None] | None, plan: Plan) -> FloatArray:
    """Temperatures in K."""
    values = np.where(np.abs(read.values) < OUT_OF_RANGE, read.values, math.nan)
    default = plan.temperature_unit
    every = [default] * len(values) if units is None else [unit or default for unit in units]
    found = np.full(len(values), math.nan)
    for unit in set(every):
        if unit is not None and unit.kind == TEMPERATURE:
            mine = np.array([one == unit for one in every]) if units is not None else slice(None)
            found[mine] = words.kelvin(values[mine], unit.name)
    return found


def si_size(unit: Unit, kind: str, dimension: str) -> float:
    """SI size of a unit, NaN for one of another kind."""
    return TABLE[dimension].get(unit.name, math.nan) if unit.kind == kind else math.nan
