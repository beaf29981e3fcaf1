"""What `year` answers: frozen results in SI, shares from 0 to 1, counts and costs a year."""

from collections.abc import Mapping
from dataclasses import dataclass

from simcal.analysis.year.exposure import Exposures
from simcal.analysis.year.tally import Mark
from simcal.bench.values import Assumed


@dataclass(frozen=True)
class Estimate:
    """A number over all replications.

    mean, with the 95 % interval `low` to `high` of it (`stats.mean`); `year_low` to `year_high` is the band in which
    nine replications of ten lie, None for too few of them.
    """

    mean: float
    low: float
    high: float
    year_low: float | None
    year_high: float | None


@dataclass(frozen=True)
class RangeYear:
    """Instruments of one range: the share of time in which a job of it could start."""

    gauge: bool
    low_Pa: float
    high_Pa: float
    kinds: tuple[str, ...]
    count: float  # jobs a year
    hours: Estimate  # of staffed time
    calendar: Estimate  # of all time


@dataclass(frozen=True)
class SensorYear:
    """One piece of a sensor."""

    name: str
    first_due_s: float
    interval_s: float
    batch: str


@dataclass(frozen=True)
class Variant:
    """Another way to run the laboratory, by the same draws as it is: `more` is the difference of the two uptimes."""

    label: str
    uptime: Estimate
    more: Estimate
    late_share: Estimate
    exceeded: Estimate
    cost: Estimate
    dates: tuple[float, ...] = ()  # of a plan, as parts of the interval, by sensor


@dataclass(frozen=True)
class Shown:
    """The first replication, for the chart of a year and the list of exposed jobs."""

    marks: tuple[Mark, ...]
    queue: tuple[tuple[float, int], ...]
    exposures: Exposures


@dataclass(frozen=True)
class YearResult:
    """The whole answer."""

    lab: str
    years: int
    replications: int
    seed: int
    width: float | None
    target: float | None
    numbers: Mapping[str, Estimate]
    ranges: tuple[RangeYear, ...]
    spent: Mapping[str, Estimate]  # share of the benches' staffed time
    cost: Mapping[str, Estimate]
    sensors: tuple[SensorYear, ...]
    bad_seals: float
    little: float  # largest relative difference of the two sides of Little's law
    compared: str | None
    variants: tuple[Variant, ...]
    shown: Shown
    notes: tuple[str, ...]
    assumed: tuple[Assumed, ...]
    version: str

    @property
    def met(self) -> bool | None:
        """Whether the target is met; None: the replications do not tell."""
        if self.target is None or self.numbers["uptime"].low >= self.target:
            return True
        return False if self.numbers["uptime"].high < self.target else None
