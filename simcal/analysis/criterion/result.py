"""What `criterion` answers."""

from collections.abc import Mapping
from dataclasses import dataclass

from simcal.analysis.criterion.question import Question
from simcal.analysis.criterion.verify import Risk
from simcal.bench.values import Assumed


@dataclass(frozen=True)
class Compared:
    """What the two limits are held against: means of `readings` readings, one every every_s, at both ends of the watch,
    `reading` gauge or absolute, of a sensor; holds: 2 where the changes from below and from above are averaged.
    """

    sensor: str
    readings: int
    every_s: float
    reading: str
    temperature_corrected: bool
    holds: int


@dataclass(frozen=True)
class Level:
    """One point of the operating curve: the chance that a hold fails at a leak, with its 95 % interval."""

    leak_mol_per_s: float
    fails: float
    low: float
    high: float
    fails_rise: float
    change_Pa: float


@dataclass(frozen=True)
class Worst:
    """Of the fresh benches the one nearest to a wrong decision. drawn: key -> value, SI; cause: the key that moves this
    most and the share of the spread between benches that goes with it; None where none stands out.
    """

    false_alarm: float
    miss: float
    drawn: Mapping[str, float]
    cause: str | None
    cause_share: float | None
    cause_value: float | None
    cause_stated: float | None


@dataclass(frozen=True)
class Cure:
    """One thing that would make it feasible: what, the number needed beside the one stated, both SI, in words."""

    what: str
    stated: float | None
    needed: float | None
    total_s: float | None
    text: str


@dataclass(frozen=True)
class Span:
    """Where the same numbers still serve, by the nominal bench: everything between the shut valves m3, pressure Pa."""

    capacity_m3: tuple[float, float]
    capacity_stated_m3: float
    pressure_Pa: tuple[float, float]


@dataclass(frozen=True)
class Decision:
    """For a share of bad seals in use: the chance that a fail is a bad one, that a pass is a good one."""

    bad_share: float
    fail_is_bad: float
    pass_is_good: float


@dataclass(frozen=True)
class Caught:
    """For a capacity [m3]: the leak that fails with 50 % and with 95 %, mol/s; None beyond the largest looked at."""

    capacity_m3: float
    half_mol_per_s: float | None
    most_mol_per_s: float | None


@dataclass(frozen=True)
class CriterionResult:
    """A criterion with its risks, or why there is none. Pressures Pa, levels absolute; rates mol/s; times s.

    soak_s to allowed_rise_Pa, the risks, curve, worst, changes_Pa (of the reading, by bench, with the healthy and
    with the permitted leak), valid_for, decision: None, empty without a criterion. explained:
    whether the criterion was given. catches: which leaks, over all drawn benches; caught: by capacity, of the nominal
    bench, for a criterion that was given. checked_Pa: largest difference of a
    sum of parts and a whole hold.
    """

    bench: str
    version: str
    asked: Question
    pressure_Pa: float
    came_from_Pa: tuple[float, ...]
    permitted_mol_per_s: float
    healthy_mol_per_s: float
    law: str
    moved_in_s: float
    highest_Pa: float
    stored_energy_J: float
    stored_energy_method: str
    compare: Compared
    feasible: bool
    reason: str
    explained: bool
    soak_s: float | None
    wait_s: float | None
    watch_s: float | None
    total_s: float | None
    allowed_drop_Pa: float | None
    allowed_rise_Pa: float | None
    false_alarm: Risk | None
    miss: Risk | None
    curve: tuple[Level, ...]
    worst: Worst | None
    changes_Pa: Mapping[str, tuple[float, ...]]
    valid_for: Span | None
    decision: Decision | None
    cures: tuple[Cure, ...]
    catches: Caught | None
    caught: tuple[Caught, ...]
    checked_Pa: float | None
    assumed: tuple[Assumed, ...]
    notes: tuple[str, ...] = ()
