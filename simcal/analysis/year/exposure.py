"""Sensors found out of tolerance, and the jobs that were read with them since their calibration before.

Nobody knows when an error came, so each of these jobs is held against all of it: at each point that this sensor read,
the as-found error beside the margin, the distance of the instrument's error as read from its tolerance.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scipy.special import ndtri

from simcal.analysis.year.shop import Job, PointOfKind, Shop
from simcal.analysis.year.tally import Tally, Trip


@dataclass(frozen=True)
class Exposed:
    """One point of one job."""

    trip: Trip
    job: Job
    point: PointOfKind
    error_Pa: float
    margin_Pa: float

    @property
    def exceeds(self) -> bool:
        """Whether the error could have changed the verdict there."""
        return abs(self.error_Pa) > self.margin_Pa


@dataclass(frozen=True)
class Exposures:
    """Of one replication: the absences that ended with a finding, and the points of the jobs."""

    events: tuple[Trip, ...]
    points: tuple[Exposed, ...]

    @property
    def jobs(self) -> set[int]:
        """Jobs that were read with a sensor found out of tolerance."""
        return {one.job.number for one in self.points}

    @property
    def exceeded(self) -> set[int]:
        """Those in which the error exceeds the margin at a point."""
        return {one.job.number for one in self.points if one.exceeds}


def exposures(shop: Shop, work: Sequence[Job], tally: Tally) -> Exposures:
    """What was found out of tolerance in the counted time."""
    events = tuple(trip for trip in tally.trips if abs(trip.size) > 1.0 and tally.counted(trip.back))
    points = [one for trip in events for one in _points(shop, work, tally, trip)]
    return Exposures(events, tuple(points))


def _points(shop: Shop, work: Sequence[Job], tally: Tally, trip: Trip) -> Iterator[Exposed]:
    bit = 1 << trip.sensor
    for number, sensors in tally.sensors_of.items():
        if not sensors & bit or not trip.since < tally.ended[number] <= trip.left:
            continue
        job = work[number]
        reading = shop.reading_sd * float(ndtri(job.luck[4]))
        for point in shop.kinds[job.kind].points:
            place = _reads(point, sensors)
            if place is not None and point.sensors[place] == trip.sensor:
                margin = point.tolerance_Pa * abs(1.0 - abs(reading))
                yield Exposed(trip, job, point, trip.size * point.limits_Pa[place], margin)


def _reads(point: PointOfKind, sensors: int) -> int | None:
    """Which of a point's sensors reads it: the best of those on the bench."""
    return next((place for place, i in enumerate(point.sensors) if sensors >> i & 1), None)
