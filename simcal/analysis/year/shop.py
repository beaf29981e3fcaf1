"""What a simulated year needs to know of a laboratory: plain numbers, easily sent to another process.

Times are seconds, from the start of the counted time; `Hours` says which of them are staffed. A set of sensors is
written as the bits of a number, sensor i being bit i.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from simcal.analysis.year.hours import Hours
from simcal.stats.lasting import Lasting, fixed

Need = frozenset[int]
"""Sets of sensors, of each of which one must be there"""
CALIBRATION, FIRST_USE, PLAN = "calibration", "first use", "plan"
"""What a sensor's interval counts from; "plan": it leaves on the same date every time."""
ALWAYS = Hours()


def met(need: Need, sensors: int) -> bool:
    """Whether the sensors of a set serve a need."""
    return all(mask & sensors for mask in need)


@dataclass(frozen=True)
class PointOfKind:
    """A point of an instrument that needs a sensor."""

    number: int
    tolerance_Pa: float
    sensors: tuple[int, ...]  # that serve it, the best first
    limits_Pa: tuple[float, ...]  # of the error of each of these sensors there


@dataclass(frozen=True)
class Kind:
    """Instruments of one kind; times are those of one job when nothing goes wrong."""

    name: str
    count: float = 1.0  # jobs a year
    need: Need = frozenset()
    connect_s: float = 0.0
    run_s: float = 0.0
    check_s: float = 0.0
    release_s: float = 0.0
    points: tuple[PointOfKind, ...] = ()

    @property
    def work_s(self) -> float:
        """All of them."""
        return self.connect_s + self.run_s + self.check_s + self.release_s


@dataclass(frozen=True, slots=True)
class Job:
    """One instrument that comes; `luck` are its own draws from (0, 1), see `LUCK`."""

    number: int
    kind: int
    arrival: float
    due: float = float("inf")
    urgent: bool = False
    work_s: float | None = None  # instead of its kind's
    luck: tuple[float, ...] = ()


LUCK = ("connection", "found", "false alarm", "seal found", "reading")
"""What a job's draws decide: whether its connection leaks, whether its check sees that, whether the check sees a leak
where none is, whether it sees a leak of the bench, and the error that is read of the instrument."""


@dataclass(frozen=True)
class Sensor:
    """One piece. It first leaves at `first_due`, and then `interval` after what `Shop.counts_from` says."""

    name: str
    first_due: float
    interval: Lasting
    batch: str = ""  # those of one batch leave and come back together; absent: alone
    rated: float | None = None  # interval at which its share out of tolerance is stated, s; None: `interval`

    def with_days(self, first_due: float, batch: str = "") -> "Sensor":
        """The same with another first date."""
        return Sensor(self.name, first_due, self.interval, batch, self.rated)


@dataclass(frozen=True)
class Check:
    """The leak check of a connection; shares of jobs."""

    bad: float = 0.0
    false_alarm: float = 0.0
    miss: float = 0.0
    again_s: float = 0.0  # to connect anew, the second check not counted


@dataclass(frozen=True)
class Exchange:
    """Putting a sensor in or taking it out: the bench is vented, a seal may be bad afterwards."""

    takes_s: float = 0.0
    check_s: float = 0.0  # the shortened check afterwards
    bad: float = 0.0
    miss: float = 0.0
    reseat_s: float = 0.0


@dataclass(frozen=True)
class Return:
    """What happens to a sensor that comes back."""

    accept_s: float = 0.0  # the check before it is used again, on a bench
    refused: float = 0.0  # share that goes back once more
    zero: float = 0.0  # share with a shifted zero
    zero_s: float = 0.0
    zero_miss: float = 0.0  # share of those that is not seen
    out: float = 0.0  # share found out of tolerance at the usual interval
    growth: float = 0.5  # power of the time in use with which its error grows


@dataclass(frozen=True)
class Shop:
    """A laboratory: benches, sensors, kinds of work and what may go wrong."""

    hours: Hours = ALWAYS
    benches: int = 1
    places: int = 1_000_000  # sensors on a bench
    kinds: tuple[Kind, ...] = (Kind("job"),)
    sensors: tuple[Sensor, ...] = ()
    layout: tuple[tuple[int, ...], ...] = ((),)  # sensors on each bench at first; each returns while fewer are there
    away: Lasting = field(default_factory=lambda: fixed(0.0))
    slots: int | None = None  # sensors that are calibrated at a time; None: any number
    counts_from: str = CALIBRATION
    check: Check = Check()
    exchange: Exchange = Exchange()
    back: Return = Return()
    fails: Lasting | None = None  # staffed time between failures of a bench
    repair: Lasting = field(default_factory=lambda: fixed(0.0))
    queue: int | None = None  # jobs that may wait
    patience_s: float = float("inf")
    reading_sd: float = 0.0  # of errors read, as a share of the tolerance
    twins: Mapping[int, int] = field(default_factory=dict)  # sensor -> sensors of its name, as bits

    def same(self, sensor: int) -> int:
        """Sensors that are like this one, itself among them."""
        return self.twins.get(sensor, 1 << sensor)
