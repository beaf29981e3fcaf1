"""Readers for what an about-file states: moments, leak limits, columns, units, zones."""

import datetime as dt
import re
from collections.abc import Callable
from typing import Any
from zoneinfo import ZoneInfo

from simcal import units
from simcal.bench.about import AMOUNT, PRESSURE_RATE, PermittedLeak
from simcal.bench.meta import Key
from simcal.bench.values import Moment
from simcal.files.context import Context
from simcal.files.faults import found_in
from simcal.units import UnitError, clip

LATEST = 1e9
"""Latest elapsed time, s."""
_LARGEST_LEAK = {AMOUNT: 1e3, PRESSURE_RATE: 1e9}
_OFFSET = re.compile(r"([+-])(\d{2}):?(\d{2})")
_MOMENT = '"30 s", or a clock time as "10:32:05" or "2026-03-14 10:32:05"'


def zone_of(text: str) -> dt.tzinfo:
    """The zone a text names.

    Raises:
        UnitError: it names none.
    """
    if text in ("Z", "UTC"):
        return dt.UTC
    offset = _OFFSET.fullmatch(text)
    if offset:
        sign, hours, minutes = offset.groups()
        size = dt.timedelta(hours=int(hours), minutes=int(minutes))
        if size < dt.timedelta(hours=24) and int(minutes) < 60:
            return dt.timezone(-size if sign == "-" else size)
    elif re.fullmatch(r"[A-Za-z0-9_+-]+(/[A-Za-z0-9_+-]+){0,2}", text):
        try:
            return ZoneInfo(text)
        except (KeyError, ValueError, OSError):
            pass
    raise UnitError(f"{clip(text)} is no zone", '"+01:00" where the clock never changes, else "Europe/Berlin"')


def _moment(value: Any, _meta: Key, _place: str, _context: Context) -> Moment:
    if isinstance(value, (dt.datetime, dt.time)):
        return value
    if not isinstance(value, str):
        raise UnitError(found_in(value), _MOMENT)
    clock = _clock(value.strip())
    if clock is not None:
        return clock
    try:
        parsed = units.parse(value, "time")
    except UnitError as error:
        raise UnitError(error.found, _MOMENT) from None
    if parsed.sd > 0.0:
        raise UnitError(f"{clip(value)}: this takes no spread", "leave out what follows +-")
    if not abs(parsed.value) <= LATEST:
        raise UnitError(f"{clip(value)} is outside -1e9 s..1e9 s", "a time of the record")
    return parsed.value


def _clock(text: str) -> dt.datetime | dt.time | None:
    """A clock time in ISO form, None for any other text."""
    if ":" not in text or len(text) > 40:
        return None
    for read in (dt.time.fromisoformat, dt.datetime.fromisoformat):
        try:
            return read(text)
        except ValueError:
            continue
    return None


def _leak(value: Any, meta: Key, _place: str, _context: Context) -> PermittedLeak:
    right = '"2e-7 mol/s", "1e-4 Pa m3/s", "0.2 sccm(0 degC)" or "50 Pa/min"'
    if not isinstance(value, str):
        raise UnitError(found_in(value), f"write it in quotes with its unit, {right}")
    try:
        parsed, form = units.parse(value, "flow_amount"), AMOUNT
    except UnitError as error:
        if "is in units of pressure rate" not in error.found:
            wanted = error.right if "sccm" in error.right or "slm" in error.right else right
            raise UnitError(error.found, wanted) from None
        parsed, form = units.parse(value, "rate_pressure"), PRESSURE_RATE
    if parsed.sd > 0.0:
        raise UnitError(f"{clip(value)}: a limit takes no spread", "leave out what follows +-")
    if not 0.0 < parsed.value <= _LARGEST_LEAK[form]:
        most = f"{_LARGEST_LEAK[form]:g} {'mol/s' if form == AMOUNT else 'Pa/s'}"
        raise UnitError(f"{clip(value)} is no {meta.help.partition(';')[0]}", f"above 0 and up to {most}, {right}")
    return PermittedLeak(parsed.value, form, parsed.unit)


def _column(value: Any, _meta: Key, _place: str, _context: Context) -> str | int:
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 10_000:
        return value
    if isinstance(value, str) and value.strip() and len(value) <= 200:
        return value.strip()
    raise UnitError(found_in(value), 'the header text, "pressure", or the number of the column from 1')


def _unit(value: Any, meta: Key, _place: str, _context: Context) -> str:
    kind = meta.choices[0]
    names = ", ".join(units.unit_names(kind))
    if not isinstance(value, str):
        raise UnitError(found_in(value), f"one of {names}, in quotes")
    try:
        return units.parse(f"1 {value}", kind).unit
    except UnitError as error:
        glued = re.search(r'write "(\S+) (abs|gauge)"', error.right)
        if glued is None:
            raise UnitError(f"{clip(value)} is no unit of this", f"one of {names}") from None
        reading = "gauge" if glued.group(2) == "gauge" else "absolute"
        raise UnitError(
            f"{clip(value)} says more than a unit", f'"{glued.group(1)}", and reading = "{reading}"'
        ) from None


def _zone(value: Any, _meta: Key, _place: str, _context: Context) -> str:
    if not isinstance(value, str):
        raise UnitError(found_in(value), '"+01:00" or "Europe/Berlin"')
    zone_of(value)
    return value


STATED: dict[str, Callable[[Any, Key, str, Context], Any]] = {
    "moment": _moment,
    "leak": _leak,
    "column": _column,
    "unit": _unit,
    "zone": _zone,
}
STATED_EXAMPLES = {
    "moment": '"30 s"',
    "leak": '"2e-7 mol/s"',
    "column": '"pressure"',
    "unit": '"kPa"',
    "zone": '"+01:00"',
}
