"""All rows of a record: blocks of lines into arrays, and the count of every line that is no row."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from simcal.bench.about import FileForm
from simcal.bench.record import FloatArray
from simcal.errors import InputError
from simcal.files.records import clock, words
from simcal.files.records.cell import MARKS, OUT_OF_RANGE, Form, Read, number, numbers
from simcal.files.records.layout import COMMENTS, split
from simcal.files.records.plan import NUMBERS, Plan
from simcal.files.records.source import WIDEST, Source, tidy
from simcal.files.records.times import joined
from simcal.files.records.words import PRESSURE, TEMPERATURE, Unit
from simcal.units import TABLE, clip

MOST_ROWS = 10_000_000
"""Lines of the longest record, rows or not."""
LARGEST = 1e9
"""Largest pressure taken for one, Pa."""
LATEST = 1e17
"""Largest number taken for a time, in its unit."""
_MOST_REASONS = 30
AFTER, UNTERMINATED, HEADER = "line after the last row", "last line without its end", "repeated header"
BROKEN, NO_TIME = "broken by zero bytes", "time is not readable"
NO_NUMBER = "pressure is no number of its column"
FEWER, MORE = "fewer columns than other rows", "more columns than other rows"


@dataclass
class Table:
    """The rows of a record, as the file has them.

    `time` is elapsed seconds or seconds of a clock's day, `which` the number of the row's date text (None without
    dates), `pressure` in Pa, `temperature` in K with NaN where it is missing (None without one). `breaks` are the
    rows before which a header stood again. In long form `warm` holds the temperature's own rows.
    """

    time: FloatArray
    which: np.ndarray | None
    pressure: FloatArray
    temperature: FloatArray | None
    breaks: tuple[int, ...]
    dropped: Counter[str]
    stamps: clock.Stamps
    units: dict[Unit, int]
    warm: "Table | None" = None


@dataclass
class _Rows:
    """Arrays of one kind of rows, block by block."""

    time: list[FloatArray] = field(default_factory=list)
    which: list[np.ndarray] = field(default_factory=list)
    value: list[FloatArray] = field(default_factory=list)
    second: list[FloatArray] = field(default_factory=list)

    def add(self, time: FloatArray, which: np.ndarray | None, value: FloatArray, second: FloatArray | None) -> None:
        self.time.append(time)
        self.value.append(value)
        if which is not None:
            self.which.append(which)
        if second is not None:
            self.second.append(second)


class Body:
    """Reads the rows of one record by its plan."""

    def __init__(self, source: Source, plan: Plan, form: FileForm, careful: bool = False) -> None:
        self.source, self.plan, self.form, self.careful = source, plan, form, careful
        self.stamps = clock.Stamps()
        self.rows, self.warm = _Rows(), _Rows()
        self.count, self.lines = 0, 0
        self.early: list[tuple[int, str]] = []
        self.breaks: list[int] = []
        self.dropped: Counter[str] = Counter()
        self.tail: Counter[str] = Counter()
        self.units: dict[Unit, int] = {}
        self.last_kind = plan.layout.kinds[-1]

    def read(self) -> Table:
        """All rows.

        Raises:
            InputError: not even half are readable, or there are too many.
        """
        first, last = self.plan.layout.first, self.form.last_row
        ended = self.source.terminated()
        line, held = first, list[str]()
        for block in self.source.blocks(first):
            self._block([*held, *block[:-1]], line - len(held), last)
            line += len(block)
            held = block[-1:]
        self._end(held, line - len(held), last, ended)
        for reason in (NO_TIME, FEWER, MORE):
            self.tail[AFTER] += self.tail.pop(reason, 0)
        self._settle_tail()
        if self.dropped[NO_NUMBER] + self.dropped[NO_TIME] >= self.count:
            self._refuse()
        return self._table()

    def _end(self, held: list[str], line: int, last: int | None, ended: bool) -> None:
        """The last line, which counts only when it has its end."""
        if held and not ended and tidy(held[0]).strip("\0 \r\n") and (last is None or line < last):
            self.tail[UNTERMINATED] += 1
        elif held:
            self._block(held, line, last)

    def _block(self, lines: list[str], line: int, last: int | None) -> None:
        if last is not None and line + len(lines) > last:
            rest = [one for one in lines[max(0, last - line) :] if one.strip()]
            if rest:
                self.dropped["after file.last_row"] += len(rest)
            lines = lines[: max(0, last - line)]
        self.lines += len(lines)
        if not lines:
            return
        if self.careful or not self._quick(lines):
            self._slow(lines)
        if self.lines > MOST_ROWS:
            right = "a part of it, with file.first_row and file.last_row"
            raise InputError(self.source.shown, "", f"more than {MOST_ROWS} lines", right)

    def _quick(self, lines: list[str]) -> bool:
        """A block in which every line is a whole row of plain cells; False when it is not that."""
        plan, separator, width = self.plan, self.plan.layout.separator, self.plan.layout.width
        text = "".join(lines)
        if plan.long is not None or separator == " " or '"' in text or "\0" in text or not text.isascii():
            return False
        if any(line.count(separator) != width - 1 for line in lines) or not text.endswith("\n"):
            return False
        flat = text.replace("\n", separator).split(separator)
        columns = {column: flat[column:-1:width] for column in plan.needed}
        try:
            time, which = self._times(joined([columns[n] for n in plan.time]))
        except ValueError:
            return False
        pressure = numbers(columns[plan.pressure], plan.forms[plan.pressure])
        warm = self._second(columns)
        if pressure.units is not None or plan.unit is None or not np.isfinite(time).all():
            return False
        pascal = self._pascal(pressure, ())
        if not np.isfinite(pascal).all():
            return False
        self._settle_tail()
        self.rows.add(time, which, pascal, warm)
        self.count += len(time)
        return True

    def _slow(self, lines: list[str]) -> None:
        """A block line by line."""
        kept: list[list[str]] = []
        starts: list[int] = []
        for one in lines:
            fields = self._fields(one, len(kept))
            if fields is None:
                continue
            if fields:
                kept.append(fields)
            else:
                starts.append(len(kept))
        if kept and self.plan.long is not None:
            self._long(kept)
        elif kept:
            self._wide(kept, starts)
        elif starts:
            self.breaks.append(self.count)
        for _, reason in self.early:
            self._bad(reason)
        self.early.clear()

    def _fields(self, raw: str, at: int) -> list[str] | None:
        """The fields of one line; None when it is no row, empty when it is the header again.

        What is no row is noted with `at`, the number of rows of its block before it.
        """
        line = tidy(raw).strip("\r\n")
        if "\0" in line:
            line = line.lstrip("\0")
            if "\0" in line or not line:
                self.early.append((at, BROKEN if line.strip("\0 ") else "line of zero bytes"))
                return None
        text = line.strip()
        if not text:
            return None
        if text.startswith(COMMENTS):
            self.early.append((at, "comment"))
            return None
        if text == self.plan.layout.header_text:
            self.dropped[HEADER] += 1
            return []
        if len(line) > WIDEST:
            self.early.append((at, f"line longer than {WIDEST} characters"))
            return None
        fields = split(line, self.plan.layout.separator)
        return fields if len(fields) == self.plan.layout.width else self._repaired(fields, at)

    def _repaired(self, fields: list[str], at: int) -> list[str] | None:
        """A row with more or fewer fields than usual, where the needed ones are still certain."""
        layout, needed = self.plan.layout, self.plan.needed
        surplus = len(fields) - layout.width
        if surplus > 0:
            if not any(field.strip() for field in fields[layout.width :]) or self.last_kind == "text":
                return fields[: layout.width]
            texts = [n for n, kind in enumerate(layout.kinds) if kind == "text" and n not in needed]
            if len(texts) == 1:
                return fields[: texts[0] + 1] + fields[texts[0] + 1 + surplus :]
            self.early.append((at, MORE))
            return None
        if len(fields) > needed[-1] and all(kind in ("text", "blank") for kind in layout.kinds[len(fields) :]):
            return fields + [""] * -surplus
        self.early.append((at, FEWER))
        return None

    def _wide(self, rows: list[list[str]], starts: Sequence[int]) -> None:
        """Rows with a column for each quantity."""
        plan = self.plan
        columns = {column: [fields[column].strip() for fields in rows] for column in plan.needed}
        time, which = self._times(joined([columns[n] for n in plan.time]), strict=False)
        read = numbers(columns[plan.pressure], plan.forms[plan.pressure])
        pressure = self._pascal(read, columns[plan.pressure])
        good = np.isfinite(time) & np.isfinite(pressure)
        self._explain(good, time, columns[plan.pressure])
        second = self._second(columns)
        self.breaks += [self.count + int(good[:start].sum()) for start in starts]
        self.rows.add(
            time[good],
            None if which is None else which[good],
            pressure[good],
            None if second is None else second[good],
        )
        self.count += int(good.sum())

    def _long(self, rows: list[list[str]]) -> None:
        """Rows with one channel each."""
        long = self.plan.long
        assert long is not None
        names = [fields[long.channel].strip() for fields in rows]
        for name, count in Counter(names).items():
            if name not in (long.pressure, long.temperature):
                self._bad(f"channel {clip(name, 40)}", count)
        for wanted, into in ((long.pressure, self.rows), (long.temperature, self.warm)):
            mine = [fields for fields, name in zip(rows, names, strict=True) if name == wanted]
            if mine:
                self._channel(mine, into, PRESSURE if wanted == long.pressure else TEMPERATURE)

    def _channel(self, rows: list[list[str]], into: _Rows, kind: str) -> None:
        plan, long = self.plan, self.plan.long
        assert long is not None
        cells = [fields[plan.pressure].strip() for fields in rows]
        time, which = self._times(joined([[fields[n].strip() for fields in rows] for n in plan.time]), strict=False)
        read = numbers(cells, plan.forms[plan.pressure])
        units = [words.unit_of(fields[long.unit]) for fields in rows] if long.unit is not None else read.units
        values = self._pascal(Read(read.values, units), cells) if kind == PRESSURE else _kelvins(read, units, plan)
        good = np.isfinite(time) & np.isfinite(values)
        if kind == PRESSURE:
            self._explain(good, time, cells)
            self.count += int(good.sum())
        elif not good.all():
            self._bad("temperature is not readable", int((~good).sum()))
        into.add(time[good], None if which is None else which[good], values[good], None)

    def _times(self, cells: Sequence[str], strict: bool = True) -> tuple[FloatArray, np.ndarray | None]:
        """Seconds of cells and, with dates, the numbers of their date texts; NaN where unreadable."""
        plan = self.plan
        if plan.time_kind == NUMBERS:
            read = numbers(cells, plan.forms[plan.time[0]])
            read.values[np.abs(read.values) > LATEST] = math.nan
            if read.units is not None:
                if strict:
                    raise ValueError
                factors = [plan.seconds if u is None else _of(u, words.TIME, "time") for u in read.units]
                return read.values * np.array(factors), None
            return read.values * plan.seconds, None
        if plan.time_kind == clock.STAMPS:
            which, seconds = self.stamps.read(cells)
            return seconds, which
        if plan.time_kind == clock.ELAPSED:
            return clock.elapsed(cells, plan.time_unit), None
        return clock.times_of_day(cells), None

    def _second(self, columns: dict[int, list[str]]) -> FloatArray | None:
        """Temperatures in K, NaN where there is none."""
        plan = self.plan
        if plan.temperature is None or plan.temperature_unit is None:
            return None
        read = numbers(columns[plan.temperature], plan.forms[plan.temperature])
        return _kelvins(read, read.units, plan)

    def _pascal(self, read: Read, cells: Sequence[str]) -> FloatArray:
        """Pressures in Pa; NaN where there is no number, no unit, or one that no pressure has."""
        default = math.nan if self.plan.unit is None else TABLE[PRESSURE][self.plan.unit.name]
        values = np.where(np.abs(read.values) < OUT_OF_RANGE, read.values, math.nan)
        factors: float | FloatArray = default
        if read.units is not None:
            factors = np.array([default if unit is None else _of(unit, PRESSURE, "pressure") for unit in read.units])
            for index, unit in enumerate(read.units):
                if unit is not None and unit not in self.units and len(self.units) < 10 and cells[index]:
                    self.units[unit] = self.count + index
        pascal = values * factors
        return np.where(np.abs(pascal) <= LARGEST, pascal, math.nan)

    def _explain(self, good: np.ndarray, time: FloatArray, cells: Sequence[str]) -> None:
        """Count each row that is not taken, with the reason."""
        if good.any():
            last = len(good) - int(np.argmax(good[::-1])) - 1
            self._settle_tail()
        else:
            last = -1
        for at, reason in self.early:
            self._count(self.dropped if at <= last else self.tail, reason, 1)
        self.early.clear()
        for index in np.flatnonzero(~good).tolist():
            reason = _why(cells[index]) if math.isfinite(time[index]) else NO_TIME
            if index < last:
                self._count(self.dropped, reason, 1)
            else:
                self._count(self.tail, reason, 1)

    def _bad(self, reason: str, count: int = 1) -> None:
        self._count(self.tail, reason, count)

    def _count(self, into: Counter[str], reason: str, count: int) -> None:
        known = reason in into or len(into) < _MOST_REASONS
        into[reason if known else "other reasons"] += count

    def _settle_tail(self) -> None:
        """Lines that were no rows and are followed by rows."""
        for reason, count in self.tail.items():
            if count:
                self._count(self.dropped, reason, count)
        self.tail.clear()

    def _refuse(self) -> None:
        shown = "; ".join(f"{count} x {reason}" for reason, count in self.dropped.most_common(3) if count)
        found = f"{self.count} readable rows ({shown})" if self.count else f"no readable row ({shown})"
        raise InputError(self.source.shown, "", found, "columns and file as the record has them")

    def _table(self) -> Table:
        return Table(
            **_joined(self.rows),
            breaks=tuple(dict.fromkeys(one for one in self.breaks if 0 < one < self.count)),
            dropped=+self.dropped,
            stamps=self.stamps,
            units=self.units,
            warm=None
            if not self.warm.time
            else Table(**_joined(self.warm), breaks=(), dropped=Counter(), stamps=self.stamps, units={}),
        )


def _joined(rows: _Rows) -> dict[str, Any]:
    return {
        "time": np.concatenate(rows.time),
        "which": np.concatenate(rows.which) if rows.which else None,
        "pressure": np.concatenate(rows.value),
        "temperature": np.concatenate(rows.second) if rows.second else None,
    }


def _kelvins(read: Read, units: Sequence[Unit | None] | None, plan: Plan) -> FloatArray:
    """Temperatures in K."""
    values = np.where(np.abs(read.values) < OUT_OF_RANGE, read.values, math.nan)
    default = plan.temperature_unit
    every = [default] * len(values) if units is None else [unit or default for unit in units]
    kelvins = np.full(len(values), math.nan)
    for unit in set(every):
        if unit is not None and unit.kind == TEMPERATURE:
            mine = np.array([one == unit for one in every]) if units is not None else slice(None)
            kelvins[mine] = words.kelvin(values[mine], unit.name)
    return kelvins


def _of(unit: Unit, kind: str, dimension: str) -> float:
    """SI size of a unit, NaN for one of another kind."""
    return TABLE[dimension].get(unit.name, math.nan) if unit.kind == kind else math.nan


def _why(cell: str) -> str:
    """Why a cell is no pressure."""
    if not cell:
        return "no pressure"
    if cell.lower() in MARKS:
        return f"pressure reads {clip(cell, 20)}"
    if abs(number(cell.replace(",", "."), Form())[0]) >= LARGEST:
        return f"pressure reads {clip(cell, 20)}"
    return NO_NUMBER
