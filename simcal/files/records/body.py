"""All rows of a record: blocks of lines into arrays, and the count of every line that is no row."""

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np

from simcal.bench.about import FileForm
from simcal.bench.record import FloatArray
from simcal.errors import InputError
from simcal.files.records import clock, words
from simcal.files.records.cell import MARKS, Form, Read, number, numbers
from simcal.files.records.lines import FEWER, HEADER, MORE, fields_of
from simcal.files.records.measured import LARGEST, kelvins, pascals, second, times
from simcal.files.records.plan import Plan
from simcal.files.records.source import Source, tidy
from simcal.files.records.table import Rows, Table, joined_rows
from simcal.files.records.times import joined
from simcal.files.records.words import PRESSURE, TEMPERATURE, Unit
from simcal.units import clip

MOST_ROWS = 10_000_000
"""Lines of the longest record, rows or not."""
_MOST_REASONS = 30
AFTER, UNTERMINATED, NO_TIME = "line after the last row", "last line without its end", "time is not readable"
NO_NUMBER = "pressure is no number of its column"


class Body:
    """Reads the rows of one record by its plan."""

    def __init__(self, source: Source, plan: Plan, form: FileForm, careful: bool = False) -> None:
        self.source, self.plan, self.form, self.careful = source, plan, form, careful
        self.stamps = clock.Stamps()
        self.rows, self.warm = Rows(), Rows()
        self.count, self.lines = 0, 0
        self.early: list[tuple[int, str]] = []
        self.breaks: list[int] = []
        self.dropped: Counter[str] = Counter()
        self.tail: Counter[str] = Counter()
        self.units: dict[Unit, int] = {}

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
            time, which = times(joined([columns[n] for n in plan.time]), plan, self.stamps)
        except ValueError:
            return False
        pressure = numbers(columns[plan.pressure], plan.forms[plan.pressure])
        warm = second(columns, plan)
        if pressure.units is not None or plan.unit is None or not np.isfinite(time).all():
            return False
        pascal = pascals(pressure, plan)
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
            fields = fields_of(one, self.plan)
            if isinstance(fields, str):
                if fields == HEADER:
                    self.dropped[HEADER] += 1
                    starts.append(len(kept))
                else:
                    self.early.append((len(kept), fields))
            elif fields:
                kept.append(fields)
        if kept and self.plan.long is not None:
            self._long(kept)
        elif kept:
            self._wide(kept, starts)
        elif starts:
            self.breaks.append(self.count)
        for _, reason in self.early:
            self._bad(reason)
        self.early.clear()

    def _wide(self, rows: list[list[str]], starts: Sequence[int]) -> None:
        """Rows with a column for each quantity."""
        plan = self.plan
        columns = {column: [fields[column].strip() for fields in rows] for column in plan.needed}
        time, which = times(joined([columns[n] for n in plan.time]), plan, self.stamps, strict=False)
        read = numbers(columns[plan.pressure], plan.forms[plan.pressure])
        pressure = self._pressures(read, columns[plan.pressure])
        good = np.isfinite(time) & np.isfinite(pressure)
        self._explain(good, time, columns[plan.pressure])
        warm = second(columns, plan)
        self.breaks += [self.count + int(good[:start].sum()) for start in starts]
        self.rows.add(
            time[good],
            None if which is None else which[good],
            pressure[good],
            None if warm is None else warm[good],
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

    def _channel(self, rows: list[list[str]], into: Rows, kind: str) -> None:
        plan, long = self.plan, self.plan.long
        assert long is not None
        cells = [fields[plan.pressure].strip() for fields in rows]
        time, which = times(
            joined([[fields[n].strip() for fields in rows] for n in plan.time]), plan, self.stamps, strict=False
        )
        read = numbers(cells, plan.forms[plan.pressure])
        units = [words.unit_of(fields[long.unit]) for fields in rows] if long.unit is not None else read.units
        values = self._pressures(Read(read.values, units), cells) if kind == PRESSURE else kelvins(read, units, plan)
        good = np.isfinite(time) & np.isfinite(values)
        if kind == PRESSURE:
            self._explain(good, time, cells)
            self.count += int(good.sum())
        elif not good.all():
            self._bad("temperature is not readable", int((~good).sum()))
        into.add(time[good], None if which is None else which[good], values[good], None)

    def _pressures(self, read: Read, cells: Sequence[str]) -> FloatArray:
        """Pressures in Pa; the units met in the cells are noted with the row where each came first."""
        for index, unit in enumerate(read.units or ()):
            if unit is not None and unit not in self.units and len(self.units) < 10 and cells[index]:
                self.units[unit] = self.count + index
        return pascals(read, self.plan)

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
            **joined_rows(self.rows),
            breaks=tuple(dict.fromkeys(one for one in self.breaks if 0 < one < self.count)),
            dropped=+self.dropped,
            stamps=self.stamps,
            units=self.units,
            warm=None
            if not self.warm.time
            else Table(**joined_rows(self.warm), breaks=(), dropped=Counter(), stamps=self.stamps, units={}),
        )


def _why(cell: str) -> str:
    """Why a cell is no pressure."""
    if not cell:
        return "no pressure"
    if cell.lower() in MARKS:
        return f"pressure reads {clip(cell, 20)}"
    if abs(number(cell.replace(",", "."), Form())[0]) >= LARGEST:
        return f"pressure reads {clip(cell, 20)}"
    return NO_NUMBER
