"""Times in order: dates, zones, midnight, the hour that a clock repeats, reversed files, restarts."""

import dataclasses
import datetime as dt
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from simcal.bench.about import FileForm
from simcal.bench.record import FloatArray
from simcal.errors import InputError
from simcal.files.records import clock
from simcal.files.records.plan import CLOCKS, Plan
from simcal.files.records.table import Table
from simcal.files.stated import zone_of

_HOUR = 3600.0
_UNIX_DAY, _SPREADSHEET_DAY = dt.date(1970, 1, 1).toordinal(), dt.date(1899, 12, 30).toordinal()
STRAY = "time out of order for one row"


@dataclass(frozen=True)
class Ordered:
    """A table in order of time, its segments, where its clock stood at `time` = 0, and what was assumed for that."""

    table: Table
    segments: tuple[tuple[int, int], ...]
    clock_start: dt.datetime | None
    dated: bool
    assumed: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...]


def in_order(shown: str, table: Table, plan: Plan, form: FileForm) -> Ordered:
    """The table with times that count seconds and never fall inside a segment.

    Raises:
        InputError: day and month, or the hour that a clock repeats, cannot be told.
    """
    work = _Order(shown, table, plan, form)
    work.dates()
    work.turn()
    work.midnight()
    work.zone()
    work.strays()
    return work.done()


class _Order:
    """One table on its way into order; `base` is the day number of time 0, 0 where there is no date."""

    def __init__(self, shown: str, table: Table, plan: Plan, form: FileForm) -> None:
        self.shown, self.table, self.plan, self.form = shown, table, plan, form
        self.assumed: list[tuple[str, str, str]] = []
        self.notes: list[str] = []
        self.base = 0
        self.tz: dt.tzinfo | None = None
        self.clocked = plan.time_kind in (clock.STAMPS, clock.TIME_OF_DAY) or plan.time_unit in CLOCKS

    def dates(self) -> None:
        """Add the days, in the one order of day and month that fits."""
        if self.plan.time_kind != clock.STAMPS:
            if self.plan.time_unit in CLOCKS:
                self.base = _SPREADSHEET_DAY if self.plan.time_unit == "spreadsheet day" else _UNIX_DAY
                self.tz = None if self.plan.time_unit == "spreadsheet day" else dt.UTC
            return
        which = self.table.which
        assert which is not None
        used = np.unique(which)
        every = list(self.table.stamps.tokens)
        tokens = [every[number] for number in used]
        days = np.array(self._order(tokens), dtype=np.float64)
        self.base = int(days[0])
        place = np.searchsorted(used, which)
        self._replace((days[place] - self.base) * clock.DAY + self.table.time)
        if self.table.warm is not None and self.table.warm.which is not None:
            self._warm(used, days)
        if self.table.stamps.zoned:
            if self.table.stamps.naive:
                found = "some times have a zone and others have none"
                raise InputError(self.shown, "file.zone", found, "one kind of time; the others left out")
            self.tz = dt.UTC

    def _warm(self, used: np.ndarray, days: FloatArray) -> None:
        """The same for the temperature's own rows; those of a day without a pressure are left out."""
        warm = self.table.warm
        assert warm is not None and warm.which is not None
        place = np.clip(np.searchsorted(used, warm.which), 0, len(used) - 1)
        known = used[place] == warm.which
        time = (days[place] - self.base) * clock.DAY + warm.time
        kept = dataclasses.replace(warm, time=time[known], pressure=warm.pressure[known], which=None)
        self.table = dataclasses.replace(self.table, warm=kept)

    def _order(self, tokens: list[str]) -> list[int]:
        """Day numbers of the date texts."""
        possible = clock.orders_of(tokens)
        if self.form.date_order is not None:
            if self.form.date_order in possible:
                return possible[self.form.date_order]
            found = f"dates like {tokens[0]} do not fit {self.form.date_order}"
            raise InputError(self.shown, "file.date_order", found, " or ".join(possible) or "the order as written")
        if not possible:
            raise InputError(self.shown, "file.date_order", f"dates like {tokens[0]} fit no order", "dates that exist")
        distinct = {tuple(days): order for order, days in reversed(possible.items())}
        if len(distinct) == 1:
            (days, order), *_ = distinct.items()
            if not tokens[0][:4].isdigit() and tokens[0].replace("/", "").replace(".", "").replace("-", "").isdigit():
                self.assumed.append(("file.date_order", f'"{order}"', "no other order fits all dates"))
            return list(days)
        if clock.dotted(tokens) and "dmy" in possible:
            self.assumed.append(("file.date_order", '"dmy"', "dates with points are written day first"))
            return possible["dmy"]
        steady = [order for order in possible if _even(possible[order])]
        if len(steady) == 1 and len(tokens) > 1:
            self.assumed.append(("file.date_order", f'"{steady[0]}"', "only then do the days follow each other"))
            return possible[steady[0]]
        names = " or ".join(f'"{order}"' for order in possible)
        raise InputError(self.shown, "file.date_order", f"{tokens[0]} can be read in several orders", names)

    def turn(self) -> None:
        """Put a record written from the last row to the first into order."""
        steps = np.diff(self.table.time)
        falling, rising = int((steps < 0.0).sum()), int((steps > 0.0).sum())
        if falling < 2 or falling < 9 * rising or self.table.breaks:
            return
        if self.plan.time_kind == clock.TIME_OF_DAY and falling < 3:
            return
        table = self.table
        warm = None if table.temperature is None else table.temperature[::-1]
        self.table = dataclasses.replace(table, time=table.time[::-1], pressure=table.pressure[::-1], temperature=warm)
        self.notes.append("the file runs from the last row to the first and was turned")

    def midnight(self) -> None:
        """Carry a time of day across midnight."""
        if self.plan.time_kind != clock.TIME_OF_DAY:
            return
        days = np.concatenate([[0.0], np.cumsum(np.diff(self.table.time) < -0.5 * clock.DAY)])
        if days[-1] > 0.0:
            self.notes.append(
                f"the clock passes midnight {int(days[-1])} times" if days[-1] > 1 else "the clock passes midnight"
            )
            self._replace(self.table.time + days * clock.DAY)
        warm = self.table.warm
        if warm is not None:
            late = np.concatenate([[0.0], np.cumsum(np.diff(warm.time) < -0.5 * clock.DAY)])
            warm = dataclasses.replace(warm, time=warm.time + late * clock.DAY)
            self.table = dataclasses.replace(self.table, warm=warm)

    def zone(self) -> None:
        """Put a local clock on one scale; refuse the hour that it may have repeated or left out."""
        if not self.clocked or self.tz is not None:
            return
        if self.form.zone is not None:
            self.tz = zone_of(self.form.zone)
            if self.base and not isinstance(self.tz, dt.timezone):
                self._replace(_even_scale(self.table.time, self.base, self.tz))
            return
        steps = np.diff(self.table.time)
        usual = _usual(steps)
        near = max(3.0 * usual, 2.0)
        for sign, what in ((-1.0, "goes back by"), (1.0, "leaves out")):
            at = np.flatnonzero(np.abs(steps - sign * _HOUR) <= near)
            if len(at) and usual < _HOUR / 12.0 and self._may_change(int(at[0])):
                when = self._wall(int(at[0]) + 1)
                found = f"the clock {what} an hour at {when}: a change of summer time, or not"
                right = 'the place, zone = "Europe/Berlin", or zone = "+01:00" if the clock never changes'
                raise InputError(self.shown, "file.zone", found, right)

    def _may_change(self, row: int) -> bool:
        """Whether a step between these rows is at an hour of the night at which clocks are changed."""
        hour = self.table.time[row + 1] % clock.DAY / _HOUR
        return bool(hour < 5.0 or hour > 23.0)

    def strays(self) -> None:
        """Leave out single rows whose time lies before both or after both neighbours."""
        time = self.table.time
        back = np.flatnonzero(np.diff(time) < 0.0)
        breaks = set(self.table.breaks)
        stray = []
        for row in back[:100_000].tolist():
            if row + 1 in breaks:
                continue
            if row + 2 < len(time) and time[row + 2] >= time[row] and row + 2 not in breaks:
                stray.append(row + 1)
            elif row >= 1 and time[row + 1] >= time[row - 1] and row not in breaks:
                stray.append(row)
        if stray:
            self._without(np.array(sorted(set(stray))))
            self.table.dropped[STRAY] += len(set(stray))

    def done(self) -> Ordered:
        """The result, with seconds from the first row where the file shows a clock."""
        time = self.table.time
        start, first = None, float(time[0])
        if self.clocked:
            start = self._moment(first)
            warm = self.table.warm
            if warm is not None:
                self.table = dataclasses.replace(self.table, warm=dataclasses.replace(warm, time=warm.time - first))
            self._replace(time - first)
        cuts = sorted({*(np.flatnonzero(np.diff(time) < 0.0) + 1).tolist(), *self.table.breaks})
        edges = [0, *cuts, len(time)]
        segments = tuple((a, b - 1) for a, b in pairwise(edges) if b > a)
        dated = self.base != 0
        return Ordered(self.table, segments, start, dated, tuple(self.assumed), tuple(self.notes))

    def _moment(self, seconds: float) -> dt.datetime | None:
        """The clock at a time of the table."""
        base = dt.datetime.fromordinal(self.base or 1)
        try:
            at = base + dt.timedelta(seconds=seconds)
        except OverflowError:
            return None
        if self.tz is None:
            return at
        if self._local():
            return at.replace(tzinfo=self.tz)
        there = at.replace(tzinfo=dt.UTC).astimezone(self.tz)
        return there.replace(tzinfo=dt.timezone(there.utcoffset() or dt.timedelta(0)), fold=0)

    def _local(self) -> bool:
        """Whether the times are still those of the wall clock in the zone."""
        return isinstance(self.tz, dt.timezone) and self.tz is not dt.UTC

    def _wall(self, row: int) -> str:
        at = self._moment(float(self.table.time[row]))
        if at is None:
            return "one row"
        return at.strftime("%Y-%m-%d %H:%M:%S" if self.base else "%H:%M:%S")

    def _replace(self, time: FloatArray) -> None:
        self.table = dataclasses.replace(self.table, time=time)

    def _without(self, rows: np.ndarray) -> None:
        kept = np.ones(len(self.table.time), dtype=bool)
        kept[rows] = False
        table = self.table
        self.table = dataclasses.replace(
            table,
            time=table.time[kept],
            pressure=table.pressure[kept],
            temperature=None if table.temperature is None else table.temperature[kept],
            breaks=tuple(one - int((rows < one).sum()) for one in table.breaks),
        )


def _even_scale(time: FloatArray, base: int, zone: dt.tzinfo) -> FloatArray:
    """Local seconds as seconds in UTC; in a repeated hour the first pass lasts until the clock falls."""
    quarter = np.floor(time / 900.0).astype(np.int64)
    names, place = np.unique(quarter, return_inverse=True)
    start = dt.datetime.fromordinal(base)
    offsets = np.array([
        [_offset(start + dt.timedelta(seconds=900.0 * float(name)), zone, fold) for fold in (0, 1)] for name in names
    ])  # fmt: skip
    early, late = offsets[place, 0], offsets[place, 1]
    doubled = early > late
    fallen = np.concatenate([[False], np.diff(time) < -0.25 * _HOUR])
    second = np.cumsum(fallen & doubled) > 0
    return time - np.where(doubled & second, late, early)


def _offset(at: dt.datetime, zone: dt.tzinfo, fold: int) -> float:
    found = at.replace(tzinfo=zone, fold=fold).utcoffset()
    return found.total_seconds() if found is not None else 0.0


def _even(days: list[int]) -> bool:
    """Whether different days follow each other without a gap, one way or the other."""
    steps = np.diff(np.array(days))
    return bool(len(steps)) and bool((steps == 1).all() or (steps == -1).all())


def _usual(steps: FloatArray) -> float:
    rising = steps[steps > 0.0]
    return float(np.quantile(rising, 0.25, method="lower")) if len(rising) else 0.0
