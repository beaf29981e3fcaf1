"""A recorded pressure: what the reader understood of a logger's file."""

import datetime as dt
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from simcal.bench.values import Assumed, Moment

FloatArray = NDArray[np.float64]
SPIKE, GAP, FROZEN, SAME_TIME = "spike", "gap", "frozen", "same time"
"""What a stretch of rows may be marked as; no marked row is left out of the record."""


@dataclass(frozen=True)
class Flag:
    """A stretch of rows that asks for a look: its kind, first and last row (inclusive)."""

    kind: str
    first: int
    last: int


@dataclass(frozen=True, kw_only=True, eq=False)
class Record:
    """A checked record in SI; all arrays have one entry a row and are finite.

    `time_s` is the file's own elapsed time where it has one, else seconds from the first row; inside a segment
    it never falls. `pressure_Pa` is above the room's where `reference` is "gauge", absolute where it is
    "absolute", and as the file says where it is None. `resolution_Pa` is the smallest step the values show
    (None where they never change). `segments` are the (first, last) rows, inclusive, between restarts.
    `dropped` counts the lines left out by reason, `flags` marks rows that were kept, `marks` counts all of
    each kind. `clock_start` is the clock time of `time_s` = 0, without a zone where none is known, and None
    where the file shows no clock; `dated` is False where it shows a time of day only.
    """

    name: str
    time_s: FloatArray
    pressure_Pa: FloatArray
    temperature_K: FloatArray | None = None
    reference: str | None = None
    resolution_Pa: float | None = None
    segments: tuple[tuple[int, int], ...] = ()
    assumed: tuple[Assumed, ...] = ()
    notes: tuple[str, ...] = ()
    dropped: dict[str, int] = field(default_factory=dict)
    flags: tuple[Flag, ...] = ()
    marks: dict[str, int] = field(default_factory=dict)
    columns: dict[str, str] = field(default_factory=dict)
    clock_start: dt.datetime | None = None
    dated: bool = True

    def hung(self) -> NDArray[np.bool_]:
        """True for rows that only repeat the row before a logger hung; the first row of such a stretch was alive."""
        found = np.zeros(len(self.time_s), dtype=bool)
        for flag in self.flags:
            if flag.kind == FROZEN:
                found[flag.first + 1 : flag.last + 1] = True
        return found

    def elapsed(self, moment: Moment) -> float:
        """A stated time on the record's own `time_s`, s; a time of day is the first one from the first row on.

        Raises:
            ValueError: the record has no clock or no date to place it by; the message is for people.
        """
        if isinstance(moment, (int, float)):
            return float(moment)
        if self.clock_start is None:
            raise ValueError("the record shows no clock, only elapsed time")
        if isinstance(moment, dt.time):
            first = self.clock_start + dt.timedelta(seconds=float(self.time_s[0]))
            at = first.replace(
                hour=moment.hour, minute=moment.minute, second=moment.second, microsecond=moment.microsecond
            )
            if at < first:
                at += dt.timedelta(days=1)
            return (at - self.clock_start).total_seconds()
        if not self.dated:
            raise ValueError("the record shows a time of day without a date")
        if (moment.tzinfo is None) != (self.clock_start.tzinfo is None):
            start = self.clock_start
            if moment.tzinfo is not None:
                raise ValueError("the record's clock says no zone")
            moment = moment.replace(tzinfo=start.tzinfo)
        return (moment - self.clock_start).total_seconds()
