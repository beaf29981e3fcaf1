"""A leak rate in every form a shop states it in, made an amount of gas per time."""

from dataclasses import dataclass
from typing import Any

from simcal import units
from simcal.bench.bench import GASES
from simcal.bench.meta import keys_of
from simcal.bench.parts import Leak
from simcal.files.context import Context, bounds
from simcal.units import Parsed, UnitError, clip

KINDS = ("flow_amount", "mass_flow", "rate_pressure")
"""An amount; grams, of the bench's gas; a fall of pressure in a stated volume."""


@dataclass(frozen=True)
class StatedRate:
    """A rate as written: its kind of unit and what was read."""

    kind: str
    parsed: Parsed
    text: str


def read_rate(value: Any, _meta: Any, _place: str, _context: Context) -> StatedRate:
    """The rate as it stands; `amount` makes it mol/s when the rest of its table is known.

    Raises UnitError for a text that is none of `KINDS`.
    """
    if not isinstance(value, str):
        raise UnitError(f"{value} is no text", 'write it in quotes with its unit, "2e-8 mol/s"')
    first: UnitError | None = None
    for kind in KINDS:
        try:
            return StatedRate(kind, units.parse(value, kind), value)
        except UnitError as error:
            first = first or error
    assert first is not None
    raise first


def amount(values: dict[str, Any], place: str, context: Context) -> None:
    """Put mol/s in the place of a leak's stated rate, with its spread, or report what is missing or out of range."""
    stated: StatedRate = values["rate"]
    factor = _factor(stated.kind, values, place, context)
    if factor is None:
        values["rate"] = 0.0
        return
    meta = keys_of(Leak)["rate"][1]
    rate = stated.parsed.value * factor
    low, high = bounds(meta)
    if not low <= rate <= high:
        context.report.add(
            f"{place}.rate", f"{clip(stated.text)} is outside {meta.within}", f"a value in {meta.within}"
        )
    values["rate"] = rate
    if stated.parsed.sd > 0.0:
        context.spread(f"{place}.rate", stated.parsed.sd * factor, stated.parsed.shape, meta)


def _factor(kind: str, values: dict[str, Any], place: str, context: Context) -> float | None:
    """mol/s per SI unit of a rate of that kind; None with a report where it cannot be told."""
    if kind != "rate_pressure" and "rate_in" in values:
        context.report.add(f"{place}.rate_in", "the rate is no fall of pressure", "leave it out")
        return None
    if kind == "flow_amount":
        return 1.0
    if kind == "rate_pressure" and ("rate_in" not in values or "rate_at" not in values):
        missing = "rate_in" if "rate_in" not in values else "rate_at"
        example = '"250 cm3", all that lost pressure' if missing == "rate_in" else '"20 bar abs"'
        context.report.add(f"{place}.{missing}", "missing", f"a fall of pressure needs it: {missing} = {example}")
        return None
    if context.gas not in GASES:
        return None  # reported where it stands
    from simcal.physics import rates  # the gas tables are for those who need them: a refusal must be quick
    from simcal.tables.gas import load

    table = load(context.gas)
    if kind == "mass_flow":
        return rates.from_mass(1.0, table.molar_mass)
    return rates.from_pressure_fall(table, values["rate_in"], values["rate_at"], context.room_temperature, 1.0)
