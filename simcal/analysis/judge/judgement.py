"""What `judge` answers: a frozen result in SI, pressure levels absolute, unit at the end of every name.

Rates are net flow out of the isolated volume at the mean absolute pressure of the watch, signed, never cut at 0.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simcal.bench.values import Assumed
from simcal.physics.rates import to_pressure_volume

Vector = NDArray[np.float64]

LEAK, TIGHT, UNDECIDED = "leak", "tight", "undecided"
PARTS = ("leak", "thermal", "other", "unexplained")
CAUSES = (
    "leak", "gas", "body", "room", "creep", "trapped", "seat", "outgassing", "barometer", "sensor", "unknown",
)  # fmt: skip
ACTIONS = (
    "none", "hold_longer", "wait_longer", "from_above", "from_below", "second_pressure", "second_volume",
    "vent_supply", "plug_port", "vent_port", "vent_and_confirm_zero", "state_missing_input",
)  # fmt: skip
PV_TEMPERATURE = 293.15
"""K at which rates are told as pV flow"""


@dataclass(frozen=True)
class NextAction:
    """What to do next, on the record's own clock, and what it is expected to bring."""

    kind: str
    text: str
    until_s: float | None = None  # when the new watch may begin
    for_s: float | None = None  # how long it lasts
    expected_low_mol_per_s: float | None = None  # interval expected then
    expected_high_mol_per_s: float | None = None


@dataclass(frozen=True)
class CriterionView:
    """What the shop's own criterion would have said about this record, and why it may differ."""

    verdict: str | None  # leak, tight; None where the record does not reach over its watch
    change_Pa: float | None  # over its watch, falling negative
    allowed_drop_Pa: float | None
    allowed_rise_Pa: float | None
    agrees: bool | None
    why: str


@dataclass(frozen=True, eq=False)
class Explained:
    """The record in blocks and what explains it, for a figure; times on the record's clock, pressures absolute."""

    time_s: Vector
    reading_Pa: Vector
    sd_Pa: Vector
    explained_Pa: Vector
    parts_Pa: Mapping[str, Vector]  # leak, thermal, other, unexplained: change since the start of the watch


@dataclass(frozen=True)
class Judgement:
    """The answer about one hold, or about several judged together."""

    record: str
    verdict: str | None
    leak_mol_per_s: float | None
    low_mol_per_s: float | None
    high_mol_per_s: float | None
    permitted_mol_per_s: float | None
    change_Pa: float
    change_parts_Pa: Mapping[str, float]
    causes: Mapping[str, float]
    next_action: NextAction
    assumed: tuple[Assumed, ...]
    reasons: Mapping[str, str]  # why a value is None
    statements: tuple[str, ...]  # what must be read with the verdict
    pressure_Pa: float  # mean of the watch, absolute
    watch_from_s: float
    watch_until_s: float
    fits: bool  # some explanation fits the record
    misfit: float  # chi-squared over rows of the best explanation; about 1 or below is good
    widened_by: Mapping[str, float]  # share of each source in the variance of the leak
    criterion: CriterionView | None
    explained: Explained = field(repr=False, compare=False)
    records: tuple[str, ...] = ()  # where several were judged together

    @property
    def leak_Pa_m3_per_s(self) -> float | None:
        """The rate as pV flow at 20 degC."""
        return _pv(self.leak_mol_per_s)

    @property
    def low_Pa_m3_per_s(self) -> float | None:
        """Lower end as pV flow at 20 degC."""
        return _pv(self.low_mol_per_s)

    @property
    def high_Pa_m3_per_s(self) -> float | None:
        """Upper end as pV flow at 20 degC."""
        return _pv(self.high_mol_per_s)

    @property
    def permitted_Pa_m3_per_s(self) -> float | None:
        """The limit as pV flow at 20 degC."""
        return _pv(self.permitted_mol_per_s)


def _pv(rate: float | None) -> float | None:
    return None if rate is None else to_pressure_volume(rate, PV_TEMPERATURE)


def verdict(low: float, high: float, permitted: float) -> str:
    """`leak` exactly when the interval lies wholly outside [-permitted, permitted], `tight` when wholly inside."""
    if low > permitted or high < -permitted:
        return LEAK
    if -permitted < low and high < permitted:
        return TIGHT
    return UNDECIDED
