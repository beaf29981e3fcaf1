"""What `cover` answers: frozen results in SI, unit at the end of every name; uncertainties are standard ones (k=1)."""

from collections.abc import Mapping
from dataclasses import dataclass

from simcal.bench.values import Assumed

PARTS = ("sensor", "drift", "calibration", "resolution", "barometer", "head", "line", "dwell", "device")
"""What the comparison's uncertainty is made of; the last one is the device's own share."""
VENT, SENSOR, NONE = "vent", "sensor", "none"


@dataclass(frozen=True)
class PointCover:
    """One point of an instrument; what is of a sensor is of the chosen one, else of the nearest to serve it."""

    number: int
    stated_Pa: float  # in the instrument's own reference
    pressure_Pa: float  # absolute
    tolerance_Pa: float
    mode: str  # "vent", "sensor" or "none"
    sensor: str | None
    ratio: float | None  # tolerance over U (k=2) of the bench alone
    ratio_with_device: float | None
    consumer_risk: float | None
    producer_risk: float | None
    specific_risk: float | None  # that an instrument with a reading at the acceptance limit is out of tolerance
    limit_for_risk_Pa: float | None  # not served by a rule of consumer's risk: the acceptance limit that would hold it
    acceptance_Pa: float | None  # readings of this size or less are accepted
    uncertainty_Pa: Mapping[str, float]  # of PARTS
    reason: str | None  # why no sensor of the plan serves it
    nearest: str | None  # the sensor of all with the best ratio, where none of the plan serves it
    able: tuple[str, ...]  # every sensor that would serve it, of the plan or not


@dataclass(frozen=True)
class InstrumentCover:
    """One kind of instrument."""

    name: str
    count: float  # a year
    gauge: bool
    low_Pa: float  # range in its own reference
    high_Pa: float
    covered: bool
    possible: bool  # all sensors together would cover it
    points: tuple[PointCover, ...]
    switches: int
    switch_s: float
    bench: str | None  # whose run tells what the dwell leaves
    run_s: float | None  # of that run


@dataclass(frozen=True)
class SensorUse:
    """One sensor."""

    name: str
    gauge: bool
    low_Pa: float  # range in its own reference
    high_Pa: float
    owned: bool
    chosen: bool
    cost: float | None
    serves: int  # points it could serve
    used: int  # points it is chosen for
    only: int  # points that no other chosen one serves


@dataclass(frozen=True)
class Plan:
    """A set of sensors, and what it covers of the kinds of instrument and of the calibrations a year."""

    kind: str  # "cheapest that covers all", "most within the places", "most for the budget", "owned"
    sensors: tuple[str, ...]
    cost: float
    kinds: int
    count: float
    proved: bool
    gap: float | None  # relative distance of cost or count from the best bound; None: no bound is known


@dataclass(frozen=True)
class Crossover:
    """Where two sensors are equally good."""

    below: str  # the better one below
    above: str
    pressure_Pa: float  # absolute
    uncertainty_Pa: float


@dataclass(frozen=True)
class OneMore:
    """What one sensor beside a set buys."""

    beside: str  # "owned" or "plan"
    sensor: str
    kinds: int
    count: float
    cost: float
    place_free: bool


@dataclass(frozen=True)
class CoverResult:
    """The whole answer."""

    lab: str
    rule: str  # its key
    limit: float
    uncertainty: str  # "bench" or "with device"
    prior: str | None  # "true" or "observed"; None: the worst case
    in_tolerance: float | None
    places: int
    budget: float | None
    kinds: int
    count: float  # calibrations a year
    plan: Plan
    owned: Plan
    instruments: tuple[InstrumentCover, ...]
    sensors: tuple[SensorUse, ...]
    crossovers: tuple[Crossover, ...]
    one_more: tuple[OneMore, ...]
    notes: tuple[str, ...]
    assumed: tuple[Assumed, ...]
    version: str

    @property
    def good(self) -> bool:
        """Whether the plan covers every instrument."""
        return self.plan.kinds == self.kinds
