"""A laboratory's year as its LAB file states it: hours, work, checks, absences of sensors, seals, failures, costs.

What is left out does not happen: shares are 0 and there are no failures until somebody states them.
"""

# ruff: noqa: RUF009 - key() makes a dataclass field, as dataclasses.field() does

from dataclasses import dataclass

from simcal.bench.bench import Bench
from simcal.bench.meta import key

OWNED, OF_PLAN = "owned", "plan"
TORQUE_LIMITED, BY_FEEL = "torque-limited", "by feel"
DATES, TOGETHER, STAGGERED = "by date", "all together", "evenly staggered"
FROM_CALIBRATION, FROM_FIRST_USE = "calibration", "first use"
WALK, STEADY = "random walk", "steady"
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_YEARS = "0..1000000000"


@dataclass(frozen=True, kw_only=True)
class Staff:
    """When there is somebody; work that is not done at the close goes on at the next opening."""

    days: tuple[str, ...] = key("names", "staffed days, of Mon Tue Wed Thu Fri Sat Sun",
                                default=WEEKDAYS[:5], derived="Mon to Fri")  # fmt: skip
    opens: float = key("time", "since midnight", default="8 h", within="0 h..24 h", spread=False)
    closes: float = key("time", "since midnight", default="16 h", within="0 h..24 h", spread=False)


@dataclass(frozen=True, kw_only=True)
class Work:
    """How jobs arrive and what one takes beside its run."""

    run: float = key("time", "of a run where no bench's run tells it", default="45 min", within="0 s..1000 h",
                     spread=False)  # fmt: skip
    connect: float = key("time", "to connect an instrument", default="10 min", within="0 s..100 h", spread=False)
    release: float = key("time", "to vent and disconnect it", default="5 min", within="0 s..100 h", spread=False)
    batch: float = key("number", "instruments that come at once, mean of a geometric number", default=1.0,
                       within="1..1000", spread=False)  # fmt: skip
    week: tuple[float, ...] = key("weights", "arrivals on Monday to Sunday, 7 weights; none comes when nobody is there",
                                  default=(1.0,) * 7, derived="even")  # fmt: skip
    season: tuple[float, ...] = key("weights", "arrivals in January to December, 12 weights",
                                    default=(1.0,) * 12, derived="even")  # fmt: skip
    urgent: float = key("share", "of jobs that go first", default="0 %", within="0 %..100 %", spread=False)
    promise: float = key("time", "from arrival to the promised end", default="10 d", within="1 h..1000 d",
                         spread=False)  # fmt: skip
    urgent_promise: float = key("time", "the same of urgent jobs", default="3 d", within="1 h..1000 d", spread=False)
    queue: int | None = key("integer", "jobs that may wait, more are refused", default=None, within="0..1000000")
    patience: float | None = key("time", "after which a waiting job is taken back", default=None,
                                 within="1 h..1000 d", spread=False)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class LeakCheck:
    """The leak check of each connection; `criterion` gives its two risks."""

    takes: float = key("time", "each time", default="5 min", within="0 s..100 h", spread=False)
    bad: float = key("share", "of connections that leak", default="0 %", within="0 %..100 %", spread=False)
    false_alarm: float = key("share", "of tight ones that seem to leak", default="0 %", within="0 %..99 %",
                             spread=False)  # fmt: skip
    miss: float = key("share", "of leaking ones that seem tight", default="0 %", within="0 %..100 %", spread=False)
    again: float = key("time", "to connect anew", default="10 min", within="0 s..100 h", spread=False)


@dataclass(frozen=True, kw_only=True)
class Away:
    """The calibration of the sensors elsewhere, and their return."""

    usual: float = key("time", "away, door to door, the median", within="1 h..1000 d", spread=False)
    late: float = key("time", "one in ten takes longer", within="1 h..1000 d", spread=False)
    slots: int | None = key("integer", "batches that may be away at a time", default=None, within="1..1000")
    plan: str = key("choice", "when they leave", default=DATES, choices=(DATES, TOGETHER, STAGGERED))
    counts_from: str = key("choice", "what an interval counts from; a plan keeps its dates", default=FROM_CALIBRATION,
                           choices=(FROM_CALIBRATION, FROM_FIRST_USE), name="from")  # fmt: skip
    accept: float = key("time", "the check on a bench when one comes back", default="1 h", within="0 s..100 h",
                        spread=False)  # fmt: skip
    refuse: float = key("share", "that is sent back once more", default="0 %", within="0 %..90 %", spread=False)
    zero_shift: float = key("share", "that comes back with a shifted zero", default="0 %", within="0 %..100 %",
                            spread=False)  # fmt: skip
    zero_time: float = key("time", "to put it right", default="30 min", within="0 s..100 h", spread=False)
    zero_miss: float = key("share", "of those that nobody sees", default="0 %", within="0 %..100 %", spread=False)
    out_of_tolerance: float = key("share", "found beyond their accuracy figure after a whole interval", default="0 %",
                                  within="0 %..90 %", spread=False)  # fmt: skip
    growth: str = key("choice", "of an error with time: as its root, or in proportion", default=WALK,
                      choices=(WALK, STEADY))  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Exchange:
    """A sensor put in or taken out: the bench is vented, its seal may leak afterwards."""

    takes: float = key("time", "each time", default="20 min", within="0 s..100 h", spread=False)
    check: float = key("time", "of the shortened leak check afterwards", default="5 min", within="0 s..100 h",
                       spread=False)  # fmt: skip
    miss: float = key("share", "of leaking seals that it does not see", default="0 %", within="0 %..100 %",
                      spread=False)  # fmt: skip
    reseat: float = key("time", "to vent, find a leaking seal and renew it", default="1 h", within="0 s..1000 h",
                        spread=False)  # fmt: skip
    bad: float | None = key("share", "of exchanges after which a seal leaks; or a file", default=None,
                            within="0 %..99 %", spread=False)  # fmt: skip
    file: str = key("text", "a bench file with the seal that is opened, which then tells that share", default="")
    seal: str = key("text", "its [seal.NAME]", default="", derived="the only one")
    habit: str = key("choice", "how it is tightened to its torque", default=TORQUE_LIMITED,
                     choices=(TORQUE_LIMITED, BY_FEEL))  # fmt: skip
    permitted_leak: float | None = key("flow_amount", "of that seal; more is a leaking one", default=None,
                                       within="0 mol/s..1 mol/s", spread=False)  # fmt: skip
    bench: Bench | None = None


@dataclass(frozen=True, kw_only=True)
class Failures:
    """Of the controller of a bench."""

    every: float = key("time", "staffed time between two, the mean", within="1 h..1000000 h", spread=False)
    usual: float = key("time", "down, the median", within="0.1 h..10000 h", spread=False)
    late: float = key("time", "one in ten takes longer", within="0.1 h..10000 h", spread=False)


@dataclass(frozen=True, kw_only=True)
class Costs:
    """In the LAB's currency."""

    calibration: float = key("number", "of one sensor", default=0.0, within=_YEARS, spread=False)
    bench: float = key("number", "of one bench, a year", default=0.0, within=_YEARS, spread=False)
    hour: float = key("number", "of a staffed hour of one bench", default=0.0, within=_YEARS, spread=False)
    late: float = key("number", "of a job done after its promise", default=0.0, within=_YEARS, spread=False)
    refused: float = key("number", "of a job refused or taken back", default=0.0, within=_YEARS, spread=False)
    write_off: float = key("number", "years over which a sensor's cost is spread", default=5.0, within="0.1..100",
                           spread=False)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Year:
    """A year of the laboratory, for `simcal year`."""

    benches: int = key("integer", "benches that do any of the work, one job at a time each", default=1, within="1..100")
    sensors: str = key("choice", "those owned, or the set that `cover` finds", default=OWNED, choices=(OWNED, OF_PLAN))
    target: float | None = key("share", "uptime that is wanted", default=None, within="0 %..100 %", spread=False)
    warm_up: float = key("time", "simulated before what counts", default="60 d", within="0 d..3650 d", spread=False)
    staff: Staff = key("table", "staffed hours", default=Staff(), of=Staff)
    work: Work = key("table", "jobs", default=Work(), of=Work)
    check: LeakCheck = key("table", "the leak check of a job", default=LeakCheck(), of=LeakCheck)
    away: Away = key("table", "sensors away for calibration", of=Away)
    exchange: Exchange = key("table", "a sensor put in or taken out", default=Exchange(), of=Exchange)
    failures: Failures | None = key("table", "of a bench's controller; absent: none", default=None, of=Failures)
    cost: Costs = key("table", "costs", default=Costs(), of=Costs)
