"""The temperatures of a record at the rows of its pressures, refused where the unit cannot be right."""

import math

import numpy as np

from simcal.bench.record import FloatArray
from simcal.errors import InputError
from simcal.files.records.plan import Plan
from simcal.files.records.table import Table
from simcal.files.records.words import TEMPERATURE, Unit, kelvin
from simcal.units import TABLE, ZERO_OF

COLDEST, HOTTEST = 150.0, 423.15
"""K; no bench, its room or its gas is outside for most of a record: -123 degC to 150 degC [our choice]"""
ORDINARY = (250.0, 340.0)
"""K; a unit that brings the column in here is the one that fits"""


def temperatures(table: Table, plan: Plan, shown: str, notes: list[str]) -> FloatArray | None:
    """Temperatures at the rows of the pressure, K; what is missing is taken between its neighbours.

    Raises:
        InputError: most values are impossible in their unit; the line names the unit that would fit.
    """
    if table.warm is not None:
        order = np.argsort(table.warm.time, kind="stable")
        notes.append("the temperature has its own rows and is taken between them")
        _refuse_impossible(table.warm.pressure, plan, shown)
        return np.interp(table.time, table.warm.time[order], table.warm.pressure[order])
    if table.temperature is None:
        return None
    _refuse_impossible(table.temperature, plan, shown)
    known = np.isfinite(table.temperature) & (table.temperature > 0.0) & (table.temperature < 2000.0)
    if known.all():
        return np.ascontiguousarray(table.temperature)
    if known.sum() < 2:
        notes.append("no temperature is taken: fewer than two are readable")
        return None
    rows = np.arange(len(known), dtype=np.float64)
    missing = int((~known).sum())
    notes.append(f"the temperature is missing in {missing} of {len(known)} rows and is taken between its neighbours")
    return np.interp(rows, rows[known], table.temperature[known])


def _refuse_impossible(kelvins: FloatArray, plan: Plan, shown: str) -> None:
    """Refuse a column whose middle value no bench has; a few odd values are gaps, as anywhere."""
    finite = kelvins[np.isfinite(kelvins)]
    middle = float(np.median(finite)) if len(finite) else math.nan
    if not len(finite) or COLDEST <= middle <= HOTTEST:
        return
    unit = plan.temperature_unit or Unit(TEMPERATURE, "K")
    scale = TABLE["temperature"]
    written = (middle - ZERO_OF[unit.name]) / scale[unit.name]
    found = f"most temperatures read about {written:.4g} {unit.name}, which no bench has"
    for other in ("degC", "K", "degF"):
        meant = float(kelvin(np.array([written]), other)[0])
        if other != unit.name and ORDINARY[0] <= meant <= ORDINARY[1]:
            right = f'columns.temperature_unit = "{other}" makes it {meant - ZERO_OF["degC"]:.4g} degC'
            raise InputError(shown, "columns.temperature_unit", found, right)
    raise InputError(shown, "columns.temperature_unit", found, "the column of a temperature and its unit")
