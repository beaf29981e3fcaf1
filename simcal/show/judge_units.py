"""The units in which one judgement is told, chosen once: levels, rates in mol/s and in the shop's own unit."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simcal.analysis.judge import Judgement
from simcal.analysis.judge.assemble import CAPACITY_SPREAD
from simcal.bench.about import AMOUNT, PRESSURE_RATE, About
from simcal.bench.record import Record
from simcal.physics import gas
from simcal.physics.energy import STORED_ENERGY_METHOD, stored_energy
from simcal.show import words
from simcal.show.cautions import Hazard
from simcal.show.level_units import level_unit, unit_of_levels
from simcal.tables import gas as gas_tables
from simcal.units import TABLE

USUAL = "sccm(0 degC)"
"""The unit beside mol/s where the limit does not name one."""
ATMOSPHERE, ROOM_K = 101325.0, 293.15
LITRE_FROM = 2e-3
"""Capacities from here on are written in L, m3."""


@dataclass(frozen=True)
class Judged:
    """A judgement with what it was made from; the first record and its about-file lead."""

    found: Judgement
    records: tuple[Record, ...]
    abouts: tuple[About, ...]
    seed: int = 1  # nothing is drawn: it is printed with the answer, as everywhere

    @property
    def about(self) -> About:
        """What was said of the first record."""
        return self.abouts[0]

    @property
    def gauge(self) -> bool:
        """Whether the first record's pressures are above the room's."""
        return (self.about.reading or self.records[0].reference) == "gauge"

    @property
    def room_Pa(self) -> float:
        """The room's pressure, absolute."""
        return ATMOSPHERE if self.about.barometer is None else self.about.barometer

    @property
    def room_K(self) -> float:
        """The room's temperature."""
        stated = self.about.room.temperature if self.about.room is not None else None
        return ROOM_K if stated is None else stated


@dataclass(frozen=True)
class RateUnits:
    """Rates: a multiple of mol/s that fits their size, and the shop's unit; sizes of one unit in mol/s."""

    amount: tuple[float, str]
    shop: tuple[float, str] | None
    unicode: bool

    def one(self, rate: float | None) -> str:
        """A rate in both units."""
        if rate is None:
            return words.NONE
        return self._both([rate])

    def between(self, low: float, high: float) -> str:
        """An interval in both units."""
        return self._both([low, high])

    def _both(self, rates: Sequence[float]) -> str:
        first = _told(rates, *self.amount)
        told = words.with_micro(first, self.unicode)
        return told if self.shop is None else f"{told} ({_told(rates, *self.shop)})"


def _told(rates: Sequence[float], size: float, name: str) -> str:
    numbers = [rate / size for rate in rates]
    largest = max(abs(number) for number in numbers)
    if largest != 0.0 and not 1e-4 <= largest < 1e5:
        return f"{' to '.join(f'{number:.2e}' for number in numbers)} {name}"
    places = words.decimals_for(largest)
    return f"{' to '.join(words.fixed(number, places) for number in numbers)} {name}"


def rate_units(judged: Judged, unicode: bool) -> RateUnits:
    """The units for one judgement, by its largest rate."""
    found = judged.found
    known = [abs(r) for r in (found.low_mol_per_s, found.high_mol_per_s, found.permitted_mol_per_s) if r is not None]
    return RateUnits(words.scale(max(known, default=1e-9), words.AMOUNTS), _shop(judged), unicode)


def _shop(judged: Judged) -> tuple[float, str] | None:
    """The unit that the limit was stated in, as mol/s a unit; the usual one where it is a plain amount or none."""
    limit = judged.about.permitted_leak
    if limit is not None and limit.form == PRESSURE_RATE:
        per_pascal = _mol_per_pascal(judged)
        return None if per_pascal is None else (TABLE["pressure rate"][limit.unit] * per_pascal, limit.unit)
    amounts = TABLE["amount flow"]
    named = limit.unit if limit is not None and limit.form == AMOUNT else USUAL
    unit = USUAL if named.endswith("mol/s") else named
    return amounts[unit], unit


def _mol_per_pascal(judged: Judged) -> float | None:
    """Amount in the capacity a pascal of pressure at the room's temperature; None without gas or capacity."""
    about = judged.about
    if about.gas is None or about.capacity is None:
        return None
    table = gas_tables.load(about.gas)
    rho = gas.density(table, judged.found.pressure_Pa, judged.room_K)
    return float(about.capacity / (gas.properties(table, rho, judged.room_K)[1] * table.molar_mass))


def level_named(judged: Judged, pressure_Pa: float) -> str:
    """An absolute level as the record shows levels, with its unit."""
    shown = pressure_Pa - judged.room_Pa if judged.gauge else pressure_Pa
    unit = level_unit([shown], unit_of_levels(judged.about.texts))
    return f"{words.figures(shown / words.PRESSURE_UNITS[unit], 4)} {unit} {'gauge' if judged.gauge else 'abs'}"


def capacity_named(judged: Judged, unicode: bool) -> str:
    """The capacity with its spread; empty where it was not stated."""
    capacity = judged.about.capacity
    if capacity is None:
        return ""
    size, unit = (1e-3, "L") if capacity >= LITRE_FROM else (1e-6, "cm3")
    spread, limit = judged.about.spreads.get("capacity"), judged.about.permitted_leak
    sd = CAPACITY_SPREAD * capacity if spread is None else spread.sd
    if sd <= 0.0 or (spread is None and limit is not None and limit.form == PRESSURE_RATE):
        return f"{words.figures(capacity / size, 4)} {unit}"
    return words.with_spread(capacity / size, sd / size, unit, unicode)


def hazard(judged: Judged) -> Hazard:
    """What the cautions depend on."""
    levels = [record.pressure_Pa + (judged.room_Pa if judged.gauge else 0.0) for record in judged.records]
    highest = float(max(np.max(one) for one in levels))
    energy, about = None, judged.about
    if about.gas is not None and about.capacity is not None:
        table = gas_tables.load(about.gas)
        worked = stored_energy(table, [(about.capacity, judged.room_K)], highest, judged.room_Pa)
        energy = worked if np.isfinite(worked) else None
    return Hazard(
        gas=about.gas or "",
        highest_Pa=highest,
        lowest_Pa=float(min(np.min(one) for one in levels)),
        room_Pa=judged.room_Pa,
        stored_energy_J=energy,
        stored_energy_method=STORED_ENERGY_METHOD,
    )
