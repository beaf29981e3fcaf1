"""Which column holds the time, and how it is written."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simcal.files.records import clock, words
from simcal.files.records.cell import NUMBER, STAMP, TEXT, Form, numbers
from simcal.files.records.plan import CLOCKS, NUMBERS, SECONDS
from simcal.files.records.roles import Roles
from simcal.files.records.words import DATE, TIME

_NO_HEADER = 'columns = { time = 1, time_unit = "s", pressure = 2, unit = "bar" }'
_HALVES = {"am", "pm", "a.m.", "p.m."}
_ELAPSED_WORDS = {"elapsed", "laufzeit", "duration", "dauer", "runtime", "verstrichen", "relative"}
_EPOCH = {"unix s": (4e8, 5e9, 1.0), "unix ms": (4e11, 5e12, 1e-3), "unix us": (4e14, 5e15, 1e-6)}


@dataclass(frozen=True)
class Timing:
    """The columns of the time (joined by a blank), how they are read, their unit, and that in words."""

    columns: tuple[int, ...]
    kind: str
    unit: str = ""
    said: str = ""

    @property
    def numeric(self) -> bool:
        """Whether it is one column of plain numbers."""
        return self.kind == NUMBERS

    def with_values(self, roles: Roles, forms: dict[int, Form]) -> "Timing":
        """The same with its unit, which for numbers may depend on how large they are.

        Raises:
            InputError: the unit cannot be told.
        """
        if not self.numeric:
            return self
        column = self.columns[0]
        values = numbers(roles.cells(column), forms[column]).values
        unit = _number_unit(roles, column, values[np.isfinite(values)])
        said = "seconds of a clock" if unit in CLOCKS else "elapsed"
        return replace(self, unit=unit, said=f"{said}, {unit}")


def timing_of(roles: Roles) -> Timing:
    """The time of a record: as stated, else an elapsed time, else a clock.

    Raises:
        InputError: no column, or several, can be it.
    """
    columns = _stated(roles) or _found(roles)
    cells = joined([roles.cells(column) for column in columns])
    if len(columns) == 1 and roles.layout.kinds[columns[0]] == NUMBER and not roles.columns.date:
        return Timing(columns, NUMBERS)
    return _clock(roles, columns, [cell for cell in cells if cell])


def joined(parts: Sequence[Sequence[str]]) -> list[str]:
    """Cells of several columns as one."""
    if len(parts) == 1:
        return list(parts[0])
    return [" ".join(one).strip() for one in zip(*parts, strict=True)]


def _stated(roles: Roles) -> tuple[int, ...]:
    time, date = roles.stated("time", roles.columns.time), roles.stated("date", roles.columns.date)
    if time is None:
        return () if date is None else (date, *(n for n in _found(roles) if n != date))
    if date is not None:
        return date, *_with_half(roles, time)
    dates = [n for n in _stamps(roles) if n != time and _shape(roles, n) == DATE]
    if len(dates) == 1 and _shape(roles, time) == TIME:
        return dates[0], *_with_half(roles, time)
    return _with_half(roles, time)


def _found(roles: Roles) -> tuple[int, ...]:
    """Nobody named the time."""
    layout = roles.layout
    count = [n for n, kind in enumerate(layout.kinds) if kind == NUMBER and roles.role(n) in (TIME, DATE)]
    with_unit = [n for n in count if (unit := roles.unit(n)) is not None and unit.kind == TIME]
    stamps = _stamps(roles)
    if len(with_unit) == 1 or (not with_unit and len(count) == 1 and not stamps):
        found = (with_unit or count)[:1]
        roles.assume("columns.time", roles.key(found[0]), "its header names a time")
        return tuple(found)
    if with_unit or (count and not stamps):
        names = ", ".join(roles.name(n) for n in count[:6])
        raise roles.fault("columns.time", f"{len(count)} columns may be the time: {names}", "say which")
    return _of_stamps(roles, stamps)


def _of_stamps(roles: Roles, stamps: Sequence[int]) -> tuple[int, ...]:
    """The time out of columns that look like dates and times."""
    shapes = {n: _shape(roles, n) for n in stamps}
    both = [n for n in stamps if shapes[n] == STAMP]
    dates = [n for n in stamps if shapes[n] == DATE]
    times = [n for n in stamps if shapes[n] == TIME]
    if len(both) == 1:
        found: tuple[int, ...] = (both[0],)
    elif not both and len(times) == 1 and len(dates) <= 1:
        found = (*dates, *_with_half(roles, times[0]))
    elif not both and not times and len(dates) == 1:
        found = (dates[0],)
    elif not stamps:
        names = ", ".join(roles.name(n) for n in range(min(roles.layout.width, 8)))
        right = f"say which of {names}" if any(roles.names) else _NO_HEADER
        raise roles.fault("columns.time", "no column of times was found", right)
    else:
        names = ", ".join(roles.name(n) for n in stamps[:6])
        raise roles.fault("columns.time", f"{len(stamps)} columns may be the time: {names}", "say which")
    roles.assume("columns.time", roles.key(found[-1]), "it holds clock times")
    if len(found) > 1 and dates:
        roles.assume("columns.date", roles.key(found[0]), "it holds dates")
    return found


def _stamps(roles: Roles) -> list[int]:
    return [n for n, kind in enumerate(roles.layout.kinds) if kind == STAMP]


def _shape(roles: Roles, column: int) -> str:
    """Whether a column of stamps holds dates, times of day, or both."""
    cells = [cell for cell in roles.cells(column) if cell]
    split = [clock.split_date(cell) for cell in cells]
    with_date = sum(bool(date) for date, _ in split) * 2 > len(cells)
    with_time = sum(bool(rest) for _, rest in split) * 2 > len(cells)
    return STAMP if with_date and with_time else DATE if with_date else TIME


def _with_half(roles: Roles, time: int) -> tuple[int, ...]:
    """The time's column, and the one behind it where that says AM or PM."""
    after = time + 1
    if after < roles.layout.width and roles.layout.kinds[after] == TEXT:
        cells = [cell.lower() for cell in roles.cells(after) if cell]
        if cells and all(cell in _HALVES for cell in cells):
            return time, after
    return (time,)


def _clock(roles: Roles, columns: tuple[int, ...], cells: Sequence[str]) -> Timing:
    """How clock times or elapsed times with colons are read."""
    if sum(bool(clock.split_date(cell)[0]) for cell in cells) * 2 > len(cells):
        return Timing(columns, clock.STAMPS, said="date and time of a clock")
    unit = roles.columns.time_unit or ""
    if unit and unit not in ("hh:mm:ss", "hh:mm", "mm:ss"):
        found = f"{roles.name(columns[-1])} holds times like {cells[0] if cells else ''}"
        raise roles.fault("columns.time_unit", found, '"hh:mm:ss" or "mm:ss"')
    colons = max((cell.count(":") for cell in cells), default=2)
    if not unit and colons < 2:
        said = words.header_unit(roles.names[columns[-1]])
        unit = said.name if said is not None and said.name in ("hh:mm", "mm:ss") else ""
        if not unit and all(re.search(r":\d\d[.,]\d", cell) for cell in cells):
            unit = "mm:ss"
        if not unit:
            found = f"{roles.name(columns[-1])} holds times like {cells[0]}"
            raise roles.fault("columns.time_unit", found, '"hh:mm" or "mm:ss"')
    if unit == "mm:ss" or _is_elapsed(roles, columns, cells):
        return Timing(columns, clock.ELAPSED, unit or "hh:mm:ss", f"elapsed, {unit or 'hh:mm:ss'}")
    return Timing(columns, clock.TIME_OF_DAY, said="time of day")


def _is_elapsed(roles: Roles, columns: tuple[int, ...], cells: Sequence[str]) -> bool:
    """Whether times with colons count from the start: beyond 24 h, from within a minute of zero, or said so."""
    if _ELAPSED_WORDS & set(words.tokens_of(roles.names[columns[-1]])):
        return True
    readable = [clock.time_of_day(cell) for cell in cells]
    late = any(one is None and np.isfinite(clock.elapsed([cell])[0]) for one, cell in zip(readable, cells, strict=True))
    first = next((one for one in readable if one is not None), None)
    halves = any(cell[-1:] in "mM." for cell in cells)
    return late or (first is not None and first[0] < 60.0 and not halves)


def _number_unit(roles: Roles, column: int, values: np.ndarray) -> str:
    """The unit of a time in plain numbers."""
    if roles.columns.time_unit is not None:
        if roles.columns.time_unit not in SECONDS:
            found = f"{roles.name(column)} holds plain numbers"
            raise roles.fault("columns.time_unit", found, '"s", "ms", "min", "h" or "d"')
        return roles.columns.time_unit
    said = roles.unit(column)
    unit = said.name if said is not None and said.kind == TIME else ""
    middle = float(np.median(values)) if len(values) else 0.0
    for name, (low, high, _) in _EPOCH.items():
        if low <= middle <= high and unit in ("", name[5:]):
            roles.assume("columns.time_unit", f'"{name}"', "as large as clock times since 1970")
            return name
    if unit in ("", "d") and 20_000.0 < middle < 80_000.0 and _steps(values) < 0.1:
        roles.assume("columns.time_unit", '"spreadsheet day"', "as large as day numbers of a spreadsheet")
        roles.notes.append("day numbers with seven decimals step by 9 ms")
        return "spreadsheet day"
    if unit in SECONDS:
        roles.assume("columns.time_unit", f'"{unit}"', f"header of {roles.name(column)}")
        return unit
    raise roles.fault("columns.time_unit", f"{roles.name(column)} names no unit", 'columns = { time_unit = "s" }')


def _steps(values: np.ndarray) -> float:
    """Usual step of values, inf where there is none."""
    steps = np.abs(np.diff(values))
    steps = steps[steps > 0.0]
    return float(np.median(steps)) if len(steps) else float("inf")
