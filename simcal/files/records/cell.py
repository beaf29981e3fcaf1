"""One cell: is it a number, a time, a text? And which mark is the decimal one?"""

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from simcal.bench.record import FloatArray
from simcal.files.records.words import Unit, unit_of

NUMBER, STAMP, BLANK, TEXT = "number", "stamp", "blank", "text"
MARKS = frozenset({
    "ol", "o.l", "o.l.", "overload", "over", "under", "ovfl", "overflow", "----", "---", "--", "-", "#n/a", "n/a", "na",
    "null", "none", "nan", "-nan", "inf", "-inf", "+inf", "infinity", "-infinity", "1.#qnan", "1.#inf", "-1.#ind",
    "open", "error", "err", "invalid", "bad", "fault", "#value!", "#div/0!", "#num!", "#ref!", "?", "*", "off",
})  # fmt: skip
"""Texts that stand where a number is missing."""
OUT_OF_RANGE = 9.9e36
"""From here on a number means overflow (9.9E+37 and its like)."""
_PLAIN = r"(?:\d+(?:[.,' ]\d+)*[.,]?|[.,]\d+)"
_NUMBER = re.compile(rf"([+-]?)\s?({_PLAIN})([eE][+-]?\d{{1,3}})?\s*(.*)", re.DOTALL)
_DIGITS = re.compile(r"[+-]?\d+(?:\.\d*)?(?:[eE][+-]?\d{1,3})?|[+-]?\.\d+(?:[eE][+-]?\d{1,3})?")
_DATE = re.compile(
    r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.](?:\d{4}|\d{2})(?!\d)"
    r"|\d{1,2}[-. ]{1,2}[^\W\d]{3,9}\.?[-. ,]{1,2}\d{2,4}|[^\W\d]{3,9}\.? \d{1,2},? \d{4}|\d{8}(?=[T ]\d)"
)
_CLOCK = re.compile(
    r"[+-]?(?:\d+ ?[d.] ?)?\d+:\d{1,2}(?::\d{1,2})?(?:[.,:]\d+)?\s*(?:[AaPp]\.?[Mm]\.?)?\s*(?:Z|UTC|[+-]\d\d:?\d\d)?"
)


@dataclass(frozen=True)
class Form:
    """How the numbers of a column are written: decimal mark, mark between groups of three ("" for none)."""

    decimal: str = "."
    thousands: str = ""


class Read(NamedTuple):
    """Numbers of cells (NaN where there is none), and the units written in the cells, if any."""

    values: FloatArray
    units: list[Unit | None] | None


def kind_of(cell: str) -> str:
    """What a cell looks like, under any decimal mark."""
    cell = cell.strip()
    if not cell:
        return BLANK
    if _DATE.fullmatch(cell):
        return STAMP
    if cell[-1].isdigit() or cell[0].isdigit() or cell[0] in "+-.,":
        found = _NUMBER.fullmatch(cell)
        if found and (not found.group(4) or unit_of(found.group(4))) and _groups_fit(found.group(2)):
            return NUMBER
    if is_stamp(cell):
        return STAMP
    return NUMBER if cell.lower() in ("nan", "inf", "-inf") else TEXT


def is_stamp(cell: str) -> bool:
    """Whether a cell is a date, a time of day or both."""
    if len(cell) > 60:
        return False
    date = _DATE.match(cell)
    if date is None:
        return _CLOCK.fullmatch(cell) is not None
    rest = cell[date.end() :].lstrip("T ,")
    return not rest or _CLOCK.fullmatch(rest) is not None or re.fullmatch(r"\d{4,6}(?:\.\d+)?Z?", rest) is not None


def _groups_fit(body: str) -> bool:
    """Whether blanks and apostrophes stand between groups of three digits only."""
    for mark in (" ", "'"):
        if mark in body:
            head, *groups = re.split(r"[.,]", body)[0].split(mark)
            if not 1 <= len(head) <= 3 or any(len(group) != 3 for group in groups):
                return False
    return True


def proofs(cells: Iterable[str]) -> Counter[str]:
    """What numbers prove about their marks: "decimal ,", "thousands .", or "either ." where both would do."""
    found: Counter[str] = Counter()
    for cell in cells:
        match = _NUMBER.fullmatch(cell.strip())
        if match and (not match.group(4) or unit_of(match.group(4))):
            _prove(match.group(2), bool(match.group(3)), found)
    return found


def _prove(body: str, exponent: bool, found: Counter[str]) -> None:
    for mark in (" ", "'"):
        if mark in body:
            found[f"thousands {mark}"] += 1
            body = body.replace(mark, "")
    last = max(body.rfind("."), body.rfind(","))
    if last < 0:
        return
    mark = body[last]
    other = "," if mark == "." else "."
    if other in body:
        found[f"decimal {mark}"] += 1
        found[f"thousands {other}"] += 1
    elif body.count(mark) > 1:
        found[f"thousands {mark}"] += 1
    elif len(body) - last - 1 != 3 or not 1 <= last <= 3 or exponent or (body[0] == "0" and body.strip("0.,")):
        found[f"decimal {mark}"] += 1
    elif body.strip("0.,"):
        found[f"either {mark}"] += 1
    else:
        found[f"zero {mark}"] += 1


def numbers(cells: Sequence[str], form: Form) -> Read:
    """The numbers of cells; a cell that is none under this form is NaN, and so is one that is not finite."""
    try:
        return Read(_quick(cells, form), None)
    except ValueError:
        same = _same_unit(cells, form)
    if same is not None:
        return same
    found = [number(cell, form) for cell in cells]
    units = [unit for _, unit in found]
    values = np.array([value for value, _ in found], dtype=np.float64)
    return Read(values, units if any(unit is not None for unit in units) else None)


def _same_unit(cells: Sequence[str], form: Form) -> Read | None:
    """The numbers when every cell ends in the same unit; None otherwise."""
    found = _NUMBER.fullmatch(cells[0].strip()) if cells else None
    unit = unit_of(found.group(4)) if found and found.group(4) else None
    if found is None or unit is None:
        return None
    tail = found.group(4)
    if not all(cell.endswith(tail) for cell in cells):
        return None
    try:
        return Read(_quick([cell[: -len(tail)].rstrip() for cell in cells], form), [unit] * len(cells))
    except ValueError:
        return None


def number(cell: str, form: Form) -> tuple[float, Unit | None]:
    """Number and unit of one cell, NaN when it is not a number under this form."""
    match = _NUMBER.fullmatch(cell.strip())
    if match is None or (not cell.isascii() and not match.group(4)):
        return math.nan, None
    sign, body, exponent, rest = match.groups()
    unit = unit_of(rest) if rest else None
    if rest and unit is None:
        return math.nan, None
    head, mark, tail = body.partition(form.decimal)
    if form.thousands and form.thousands in head:
        first, *groups = head.split(form.thousands)
        if not 1 <= len(first) <= 3 or any(len(group) != 3 for group in groups):
            return math.nan, None
        head = "".join((first, *groups))
    plain = f"{sign}{head}{'.' if mark else ''}{tail}{exponent or ''}"
    return (float(plain), unit) if _DIGITS.fullmatch(plain) else (math.nan, None)


def _quick(cells: Sequence[str], form: Form) -> FloatArray:
    """All cells at once; ValueError when any of them needs a closer look."""
    joined = "\n".join(cells)
    if form.thousands or not joined.isascii() or "_" in joined:
        raise ValueError
    if form.decimal == ",":
        if "." in joined:
            raise ValueError
        cells = joined.replace(",", ".").split("\n")
    values = np.array(list(map(float, cells)), dtype=np.float64)
    if not np.isfinite(values).all():
        raise ValueError
    return values
