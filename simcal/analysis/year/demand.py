"""The work that comes in a year: drawn before anything else, so that no sensor and no bench changes it.

Batches are a Poisson process in the measure of weights: staffed time, times the weight of the weekday, times that of
the month. Each batch is of one kind of instrument, drawn by the kinds' counts, and of a geometric size.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from simcal.analysis.year.hours import DAY, DAYS, Hours
from simcal.analysis.year.luck import Luck
from simcal.analysis.year.shop import LUCK, Job, Kind

Array = NDArray[np.float64]
YEAR_DAYS = 365
MONTH_ENDS = np.cumsum([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


@dataclass(frozen=True)
class Demand:
    """How jobs arrive; day 0 is a Monday and 1 January, years have 365 days."""

    batch: float = 1.0
    week: tuple[float, ...] = field(default=(1.0,) * 7)
    season: tuple[float, ...] = field(default=(1.0,) * 12)
    urgent: float = 0.0
    promise_s: float = math.inf
    urgent_promise_s: float = math.inf


class Calendar:
    """Weights of the days from `first_day` to before `last_day`, and the share of a year's work up to a moment."""

    def __init__(self, demand: Demand, hours: Hours, first_day: int, last_day: int) -> None:
        days = np.arange(first_day, last_day)
        month = np.searchsorted(MONTH_ENDS, days % YEAR_DAYS, side="right")
        staffed = np.isin(days % len(DAYS), hours.days)
        weights = np.array(demand.week)[days % len(DAYS)] * np.array(demand.season)[month] * staffed
        a_year = np.arange(YEAR_DAYS * len(DAYS))  # seven years: every weekday in every month
        one = (
            np.array(demand.week)[a_year % len(DAYS)]
            * np.array(demand.season)[np.searchsorted(MONTH_ENDS, a_year % YEAR_DAYS, side="right")]
        )
        whole = float((one * np.isin(a_year % len(DAYS), hours.days)).sum()) / len(DAYS)
        self._first, self._hours = first_day, hours
        self._ends = np.concatenate([[0.0], np.cumsum(weights / whole)])

    @property
    def total(self) -> float:
        """Years' worth of work in all days."""
        return float(self._ends[-1])

    def share(self, t: ArrayLike) -> Array:
        """Years' worth of work before the moments t."""
        day, clock = np.divmod(np.asarray(t, dtype=np.float64), DAY)
        number = np.clip((day - self._first).astype(int), 0, len(self._ends) - 2)
        inside = np.clip((clock - self._hours.opens) / self._hours.day_s, 0.0, 1.0)
        return np.asarray(self._ends[number] + inside * (self._ends[number + 1] - self._ends[number]))

    def moment(self, share: Array) -> Array:
        """The inverse of `share`."""
        number = np.clip(np.searchsorted(self._ends, share, side="right") - 1, 0, len(self._ends) - 2)
        size = self._ends[number + 1] - self._ends[number]
        inside = (share - self._ends[number]) / np.where(size > 0.0, size, 1.0)
        return np.asarray((number + self._first) * DAY + self._hours.opens + inside * self._hours.day_s)


def jobs(demand: Demand, kinds: tuple[Kind, ...], calendar: Calendar, luck: Luck) -> list[Job]:
    """Every job of the calendar's days, in the order of arrival."""
    count = sum(kind.count for kind in kinds)
    rate = count / demand.batch
    if rate <= 0.0:
        return []
    most = math.ceil(rate * calendar.total + 10.0 * math.sqrt(rate * calendar.total) + 10.0)
    drawn = np.array(luck.table("batches", most, 3))
    at = np.cumsum(-np.log1p(-drawn[:, 0])) / rate
    at = at[at < calendar.total]
    kind = np.searchsorted(np.cumsum([one.count for one in kinds]) / count, drawn[: len(at), 1])
    sizes = np.ones(len(at), dtype=int)
    if demand.batch > 1.0:
        sizes += (np.log1p(-drawn[: len(at), 2]) / math.log1p(-1.0 / demand.batch)).astype(int)
    arrivals = np.repeat(calendar.moment(at), sizes).tolist()
    of_kind = np.repeat(np.minimum(kind, len(kinds) - 1), sizes).tolist()
    lucks = luck.table("jobs", len(arrivals), len(LUCK) + 1)
    found = []
    for number, (arrival, which, own) in enumerate(zip(arrivals, of_kind, lucks, strict=True)):
        urgent = own[-1] < demand.urgent
        due = arrival + (demand.urgent_promise_s if urgent else demand.promise_s)
        found.append(Job(number, which, arrival, due, urgent, luck=tuple(own[:-1])))
    return found
