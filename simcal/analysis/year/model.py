"""One replication of a laboratory's year: from the model and (seed, replication) to one row of numbers."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.year import fleet
from simcal.analysis.year import floor as at
from simcal.analysis.year.demand import YEAR_DAYS, Calendar, Demand, jobs
from simcal.analysis.year.exposure import exposures
from simcal.analysis.year.hours import DAY
from simcal.analysis.year.luck import Luck
from simcal.analysis.year.shop import Job, Shop, met
from simcal.analysis.year.tally import Tally

Array = NDArray[np.float64]
Row = dict[str, float | Array]
YEAR = YEAR_DAYS * DAY
SPENT = (
    at.CONNECT, at.RUN, at.CHECK, at.RELEASE, at.MEND, at.EXCHANGE, at.ACCEPT, at.RESEAT, at.LOST, at.DOWN,
    at.SHORT, at.IDLE,
)  # fmt: skip
"""Where a bench's staffed time goes"""
WORKING = SPENT[: SPENT.index(at.DOWN)]
COSTS = ("sensors", "calibrations", "benches", "hours", "late", "refused")


@dataclass(frozen=True)
class Prices:
    """In the LAB's currency; a sensor's is that of a year, spread over the years it lasts."""

    sensors: tuple[float, ...] = ()
    calibration: float = 0.0
    bench: float = 0.0
    hour: float = 0.0
    late: float = 0.0
    refused: float = 0.0


@dataclass(frozen=True)
class Model:
    """All that a replication needs; `years` are counted after `warm_up_s`."""

    shop: Shop
    demand: Demand = field(default_factory=Demand)
    prices: Prices = field(default_factory=Prices)
    years: int = 1
    warm_up_s: float = 0.0

    @property
    def end(self) -> float:
        """Of what is counted."""
        return self.years * YEAR

    def calendar(self) -> Calendar:
        """The days of work, those of the warm-up with them."""
        return Calendar(self.demand, self.shop.hours, math.floor(-self.warm_up_s / DAY), self.years * YEAR_DAYS)


@dataclass(frozen=True)
class Replicated:
    """`replication -> row`, to be sent to other processes."""

    model: Model
    seed: int

    def __call__(self, replication: int) -> Row:
        """The numbers of one replication."""
        work, tally = simulated(self.model, self.seed, replication)
        return row(self.model, work, tally)


def simulated(model: Model, seed: int, replication: int, marks: bool = False) -> tuple[list[Job], Tally]:
    """One replication: its jobs and what came of them; with what every bench and sensor did where `marks` asks."""
    luck = Luck(seed, replication)
    work = jobs(model.demand, model.shop.kinds, model.calendar(), luck)
    return work, _run(model, work, luck, marks)


def without_work(model: Model, seed: int, replication: int) -> float:
    """Share of the demand that could start when due, by the state of sensors and benches alone; no job is done.

    It is what `uptime` estimates, without the chance of when jobs come: for the search of a plan.
    """
    model = with_shop(model, fails=None)  # failures know no plan
    tally = _run(model, [], Luck(seed, replication), marks=False)
    calendar = model.calendar()
    kinds = [(kind.need, kind.count) for kind in model.shop.kinds if 0 not in kind.need]
    whole = max(sum(count for _, count in kinds), 1e-12)
    times = np.array([t for t, _ in tally.changes] + [tally.end]).clip(tally.begin, tally.end)
    shares = np.diff(calendar.share(times - 1e-6))
    could = [up * sum(n for need, n in kinds if met(need, there)) / whole for _, (there, up) in tally.changes]
    return float(np.dot(shares, could) / max(float(shares.sum()), 1e-12))


def _run(model: Model, work: list[Job], luck: Luck, marks: bool) -> Tally:
    tally = Tally(model.shop.hours, 0.0, model.end, marks=[] if marks else None)
    floor = at.Floor(model.shop, work, luck, tally, -model.warm_up_s)
    fleet.begin(floor)
    floor.run()
    return tally


def row(model: Model, work: Sequence[Job], tally: Tally) -> Row:
    """The numbers of one replication; shares from 0 to 1, times in s, counts and costs a year."""
    shop, years = model.shop, model.years
    counted = [job for job in work if tally.counted(job.arrival)]
    covered = [job for job in counted if 0 not in shop.kinds[job.kind].need]
    waits = np.array([t - work[n].arrival for n, t in tally.started.items() if tally.counted(t)] or [0.0])
    gone = tally.refused.keys() | tally.taken_back.keys()
    promised = [j for j in work if tally.counted(j.due) and j.number not in gone]
    late = sum(tally.ended.get(j.number, math.inf) > j.due for j in promised)
    lost = sum(tally.counted(t) for t in [*tally.refused.values(), *tally.taken_back.values()])
    staffed = shop.hours.staffed(tally.end) - shop.hours.staffed(tally.begin)
    spent = np.array([tally.spent[what] for what in SPENT]) / (staffed * shop.benches)
    kinds, calendar = _up(shop, tally.staffed_in), _up(shop, tally.calendar_in)
    counts = np.array([0.0 if 0 in kind.need else kind.count for kind in shop.kinds])
    weights = counts / max(float(counts.sum()), 1e-12)
    touched = exposures(shop, work, tally)
    sojourns = tally.sojourns(list(work))
    done = sum(tally.counted(t) for t in tally.ended.values())
    return {
        "uptime": float(np.mean([tally.could_start[j.number] for j in covered])) if covered else 1.0,
        "hours": float(weights @ kinds),
        "calendar": float(weights @ calendar),
        "kinds": kinds,
        "kinds_calendar": calendar,
        "jobs": len(counted) / years,
        "done": done / years,
        "lost": lost / years,
        "late": late / years,
        "late_share": late / max(len(promised), 1),
        "wait_s": float(waits.mean()),
        "wait_90_s": float(np.quantile(waits, 0.9)),
        "in_house": tally.area / (tally.end - tally.begin),
        "utilisation": float(sum(tally.spent[what] for what in WORKING)) / (staffed * shop.benches),
        "spent": spent,
        "exchanges": tally.exchanges / years,
        "calibrations": tally.calibrations / years,
        "found_out": len({(one.sensor, one.back) for one in touched.events}) / years,
        "touched": len(touched.jobs) / years,
        "exceeded": len(touched.exceeded) / years,
        "leaky": sum(tally.counted(tally.ended[n]) for n in tally.leaky if n in tally.ended) / years,
        "zero_unseen": sum(t.zero and not t.seen and tally.counted(t.back) for t in tally.trips) / years,
        "cost": _costs(model, tally, staffed, late, lost),
        "little": abs(tally.area - sojourns) / max(tally.area, 1.0),
    }


def _up(shop: Shop, time_in: dict[tuple[int, bool], float]) -> Array:
    """Share of time in which a job of each kind could start."""
    whole = max(sum(time_in.values()), 1e-12)
    return np.array([
        sum(time for (there, up), time in time_in.items() if up and met(kind.need, there)) / whole
        for kind in shop.kinds
    ])  # fmt: skip


def _costs(model: Model, tally: Tally, staffed: float, late: int, lost: int) -> Array:
    """Of a year, by `COSTS`."""
    p, years, benches = model.prices, model.years, model.shop.benches
    return np.array([
        sum(p.sensors), tally.calibrations * p.calibration / years, benches * p.bench,
        benches * p.hour * staffed / 3600.0 / years, late * p.late / years, lost * p.refused / years,
    ])  # fmt: skip


def with_shop(model: Model, **changes: object) -> Model:
    """The same laboratory with other fields of its shop."""
    return replace(model, shop=replace(model.shop, **changes))  # type: ignore[arg-type]
