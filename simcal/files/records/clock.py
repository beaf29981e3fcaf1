"""Dates, times of day and elapsed times as loggers write them."""

import datetime as dt
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from simcal.bench.record import FloatArray

DAY = 86400.0
STAMPS, TIME_OF_DAY, ELAPSED, DATES = "stamps", "time of day", "elapsed", "dates"
_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan", "feb fév fev", "mar mär mrz", "apr avr abr", "may mai mei maj", "jun juin", "jul juil",
         "aug aoû aou ago", "sep", "oct okt", "nov", "dec dez déc dic"), start=1
    )
    for name in names.split()
}  # fmt: skip
_YEAR_FIRST = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})")
_DAY_NAME = re.compile(r"(\d{1,2})[-. ]{1,2}([^\W\d]{3,9})\.?[-. ,]{1,2}(\d{4}|\d{2})")
_NAME_DAY = re.compile(r"([^\W\d]{3,9})\.? (\d{1,2}),? (\d{4})")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_TIME = re.compile(
    r"(?P<sign>[+-]?)(?:(?P<day>\d+) ?[d.] ?)?(?P<hour>\d+):(?P<minute>\d{1,2})(?::(?P<second>\d{1,2}))?"
    r"(?:[.,:](?P<fraction>\d{1,9}))?\s*(?P<half>[AaPp])?(?(half)\.?[Mm]\.?)\s*(?P<zone>Z|UTC|[+-]\d\d:?\d\d)?"
)
_SHORT = re.compile(r"(?P<hour>\d\d)(?P<minute>\d\d)(?P<second>\d\d)?(?:\.(?P<fraction>\d+))?(?P<zone>Z)?")


@dataclass
class Stamps:
    """Reads cells with dates in them before the order of day and month is known.

    `tokens` are the different date texts, in the order in which they came; `zoned` and `naive` say whether cells
    with and without a zone were met.
    """

    tokens: dict[str, int] = field(default_factory=dict)
    zoned: bool = False
    naive: bool = False

    def read(self, cells: Sequence[str]) -> tuple[np.ndarray, FloatArray]:
        """For each cell the number of its date text and the seconds of its day (in UTC where it has a zone), or NaN."""
        quick = _quick_iso(cells)
        if quick is not None:
            days, seconds = quick
            names, inverse = np.unique(days, return_inverse=True)
            numbers = np.array([self._token(str(name)) for name in names])
            self.naive = True
            return numbers[inverse], seconds
        which, seconds = np.empty(len(cells), dtype=np.int64), np.empty(len(cells))
        for index, cell in enumerate(cells):
            which[index], seconds[index] = self._one(cell)
        return which, seconds

    def _token(self, text: str) -> int:
        return self.tokens.setdefault(text, len(self.tokens))

    def _one(self, cell: str) -> tuple[int, float]:
        date, rest = split_date(cell.strip())
        if not date:
            return -1, math.nan
        if not rest:
            return self._token(date), 0.0
        clock = time_of_day(rest)
        if clock is None:
            return -1, math.nan
        seconds, offset = clock
        if offset is None:
            self.naive = True
        else:
            self.zoned = True
        return self._token(date), seconds - (offset or 0.0)


def split_date(cell: str) -> tuple[str, str]:
    """The date at the start of a cell and what follows it; "" when there is none."""
    plain = cell[:10]
    if len(plain) == 10 and _YEAR_FIRST.fullmatch(plain):
        return plain, cell[10:].lstrip("T ,;")
    for pattern in (_YEAR_FIRST, _YEAR_LAST, _DAY_NAME, _NAME_DAY, _COMPACT):
        found = pattern.match(cell)
        if found:
            return found.group(), cell[found.end() :].lstrip("T ,;")
    return "", cell


def time_of_day(text: str) -> tuple[float, float | None] | None:
    """Seconds from midnight and the zone's offset in s; None for what is no time of day."""
    found = _TIME.fullmatch(text) or _SHORT.fullmatch(text)
    if found is None:
        return None
    part = found.groupdict()
    hour, minute, second = int(part["hour"]), int(part["minute"]), int(part["second"] or 0)
    if part.get("sign") or part.get("day") or minute > 59 or second > 60 or hour > 24:
        return None
    if part.get("half"):
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if part["half"] in "pP" else 0)
    if part["fraction"] and not part["second"]:
        return None
    seconds = hour * 3600.0 + minute * 60.0 + second + _fraction(part["fraction"])
    return (seconds, _offset(part.get("zone"))) if seconds <= DAY else None


def elapsed(cells: Sequence[str], unit: str = "hh:mm:ss") -> FloatArray:
    """Elapsed seconds of cells like 26:00:05.2 (or 12:34.5 where the unit is mm:ss); NaN where there is none."""
    return np.array([_elapsed(cell.strip(), unit) for cell in cells], dtype=np.float64)


def _elapsed(text: str, unit: str) -> float:
    found = _TIME.fullmatch(text)
    if found is None or found["half"] or found["zone"]:
        return math.nan
    first, second, third = int(found["hour"]), int(found["minute"]), found["second"]
    if second > 59 or (third is not None and int(third) > 59):
        return math.nan
    if third is None:
        whole = first * 60.0 + second if unit == "mm:ss" else first * 3600.0 + second * 60.0
        if found["fraction"] and unit != "mm:ss":
            return math.nan
    else:
        whole = first * 3600.0 + second * 60.0 + int(third)
    whole += DAY * int(found["day"] or 0) + _fraction(found["fraction"])
    return -whole if found["sign"] == "-" else whole


def times_of_day(cells: Sequence[str]) -> FloatArray:
    """Seconds from midnight of cells; NaN where there is none."""
    found = (time_of_day(cell.strip()) for cell in cells)
    return np.array([one[0] if one is not None else math.nan for one in found], dtype=np.float64)


def orders_of(tokens: Sequence[str]) -> dict[str, list[int]]:
    """Order of day and month that fits every date text -> the day numbers of the texts under it."""
    found = {}
    for order in ("ymd", "dmy", "mdy"):
        days = [_day(token, order) for token in tokens]
        if all(day is not None for day in days):
            found[order] = [day for day in days if day is not None]
    return found


def dotted(tokens: Sequence[str]) -> bool:
    """Whether dates are written with points and the year last."""
    return all("." in token and _YEAR_LAST.fullmatch(token) for token in tokens)


def _day(token: str, order: str) -> int | None:
    """Day number of one date text under an order; None when it cannot be one."""
    for pattern in (_YEAR_FIRST, _COMPACT):
        found = pattern.fullmatch(token)
        if found:
            parts = [int(part) for part in found.groups() if part.isdigit()]
            return _ordinal(parts[0], parts[1], parts[2])
    found = _DAY_NAME.fullmatch(token)
    if found:
        return _named(found[3], found[2], found[1])
    found = _NAME_DAY.fullmatch(token)
    if found:
        return _named(found[3], found[1], found[2])
    found = _YEAR_LAST.fullmatch(token)
    if found is None:
        return None
    one, two, three = found[1], found[3], found[4]
    if order == "ymd":
        return _ordinal(_year(one), int(two), int(three)) if len(three) == 2 and len(one) == 2 else None
    day, month = (one, two) if order == "dmy" else (two, one)
    return _ordinal(_year(three), int(month), int(day))


def _named(year: str, month: str, day: str) -> int | None:
    number = _MONTHS.get(month.lower()[:4]) or _MONTHS.get(month.lower()[:3])
    return _ordinal(_year(year), number, int(day)) if number else None


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) == 2 else 0)


def _ordinal(year: int, month: int, day: int) -> int | None:
    try:
        return dt.date(year, month, day).toordinal()
    except ValueError:
        return None


def _fraction(text: str | None) -> float:
    return int(text) / 10 ** len(text) if text else 0.0


def _offset(text: str | None) -> float | None:
    if not text:
        return None
    if text in ("Z", "UTC"):
        return 0.0
    sign = -1.0 if text[0] == "-" else 1.0
    return sign * (int(text[1:3]) * 3600.0 + int(text[-2:]) * 60.0)


def _quick_iso(cells: Sequence[str]) -> tuple[np.ndarray, FloatArray] | None:
    """Dates and seconds of day when every cell is 2026-03-14 10:00:00[.5] without a zone; None otherwise."""
    count = len(cells)
    joined = "\n".join(cells)
    whole = joined.isascii() and joined.count(":") == 2 * count and joined.count("-") == 2 * count
    if not whole or min(map(len, cells)) < 19 or max(map(len, cells)) > 29:
        return None
    if any(mark in joined for mark in ("Z", "+", "N", ",")):
        return None
    try:
        stamps = np.array(cells, dtype="datetime64[ns]")
    except ValueError:
        return None
    days = stamps.astype("datetime64[D]")
    return days, (stamps - days).astype(np.float64) * 1e-9
