"""What the builder knows while it reads one file, and what it collects."""

import math
from dataclasses import dataclass, field
from functools import lru_cache

from simcal import units
from simcal.bench.meta import Key
from simcal.bench.values import Assumed, Spread
from simcal.files.faults import Report

ATMOSPHERE = 101325.0
FACTOR_TWO = 0.5 * math.log(2.0)
"""Standard deviation of ln(x) when x is known within a factor of two at 95 %."""


@dataclass
class Context:
    """The report, the names declared in the file, and the values that later keys refer to."""

    report: Report
    nodes: tuple[str, ...] = ()
    gas: str = ""
    barometer: float = ATMOSPHERE
    room_temperature: float = 293.15
    supply_pressure: float = 0.0
    spreads: dict[str, Spread] = field(default_factory=dict)
    assumed: list[Assumed] = field(default_factory=list)

    def assume(self, place: str, value: str, why: str) -> None:
        """Note a value nobody stated."""
        self.assumed.append(Assumed(place, value, why))

    def spread(self, place: str, sd: float, shape: str, meta: Key | None = None) -> None:
        """Note the spread of a value; the range of its key says what is possible."""
        low, high = bounds(meta) if meta is not None and meta.within else (float("-inf"), float("inf"))
        self.spreads[place] = Spread(sd, shape, low, high)


@lru_cache(maxsize=512)
def bounds(meta: Key) -> tuple[float, float]:
    """The range of a key in SI."""
    kind = {"pressure": "pressure_difference", "portion": "pressure_difference", "leak_rate": "flow_amount"}.get(
        meta.kind, meta.kind
    )
    low, high = units.parse_range(meta.within, kind if kind in units.KINDS else "ratio")
    return low.value, high.value
