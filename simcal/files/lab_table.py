"""Tables of a LAB file: a CSV row is what a TOML table of the same keys would be, `tolerance.span` a column of it."""

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from simcal.bench.meta import Key, keys_of
from simcal.errors import InputError
from simcal.files.builder import build
from simcal.files.context import Context
from simcal.files.faults import MOST, Report, did_you_mean
from simcal.files.source import read_text
from simcal.units import clip

LARGEST = 8 * 2**20
"""Largest table read, bytes."""
MOST_ROWS = 5000
WIDEST = 4000
"""Longest line, characters."""
NAME = "name"
BETWEEN = "|"
"""Between the members of a list in one cell."""
FLAGS = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}
LONGEST_NAME = 60


def table_text(path: Path, shown: str, named_by: str) -> str:
    """The text of a table that a LAB names under the key `named_by`.

    Raises:
        InputError: there is no such file, or it cannot be read as text.
    """
    if not path.is_file():
        raise InputError(shown, "", "no such file", f"the CSV table that {named_by} names")
    return read_text(path, shown, LARGEST)


def objects(text: str, shown: str, cls: type, context: Context) -> dict[str, Any]:
    """Name -> object of class `cls` for every row; rows with faults are left out, their faults stand in the report.

    Raises:
        InputError: the table has no usable heading.
    """
    lines = ["" if line.startswith("#") else line for line in text.splitlines()]
    for number, line in enumerate(lines, start=1):
        if len(line) > WIDEST:
            raise InputError(shown, f"line {number}", f"{len(line)} characters", "a table with one row a line")
    rows = _rows(lines, shown)
    head = next(rows, None)
    if head is None:
        raise InputError(shown, "", "is empty", f"a heading like {NAME},full_scale,... and a row for each")
    metas = _columns(head[1], head[0], shown, cls)
    found: dict[str, Any] = {}
    first: dict[str, int] = {}
    for number, cells in rows:
        if len(first) >= MOST_ROWS:
            raise InputError(shown, f"line {number}", f"more than {MOST_ROWS} rows", "several LAB files")
        name = cells[head[1].index(NAME)].strip() if len(cells) > head[1].index(NAME) else ""
        fault = _fault_of(name, cells, head[1], first)
        first.setdefault(name, number)
        if fault is not None:
            _note(context, InputError(shown, f"line {number}", *fault))
            continue
        one = _object(dict(zip(head[1], cells, strict=True)), metas, cls, f"line {number}", shown, context)
        if one is not None:
            found[name] = one
    return found


def _rows(lines: list[str], shown: str) -> Iterator[tuple[int, list[str]]]:
    """(line, cells) of every row that is not blank; the heading's most frequent separator counts."""
    first = next((line for line in lines if line.strip()), "")
    separator = max(",;\t", key=first.count)
    reader = csv.reader(lines, delimiter=separator, strict=True)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, [cell.strip() for cell in cells]
    except csv.Error as error:
        raise InputError(shown, f"line {reader.line_num}", f"cannot be read ({error})", "cells in plain CSV") from None


def _columns(names: list[str], line: int, shown: str, cls: type) -> dict[str, Key]:
    """Column -> what it says; the name's column is not among them."""
    known = _known(cls)
    if NAME not in names:
        raise InputError(
            shown, f"line {line}", f"no column {NAME}", f"a heading with {NAME}, {', '.join(list(known)[:3])}"
        )
    for one in names:
        if names.count(one) > 1:
            raise InputError(shown, f"line {line}", f"two columns are called {clip(one)}", "one of each")
        if one != NAME and one not in known:
            raise InputError(shown, f"line {line}", f"unknown column {clip(one)}", did_you_mean(one, [NAME, *known]))
    return {one: known[one] for one in names if one != NAME}


def _known(cls: type, start: str = "") -> dict[str, Key]:
    """Every column a table of this class may have."""
    found: dict[str, Key] = {}
    for name, (_, meta) in keys_of(cls).items():
        if meta.kind == "table" and meta.of is not None:
            found |= _known(meta.of, f"{start}{name}.")
            continue
        found[f"{start}{name}"] = meta
        if meta.other:
            found[f"{start}{meta.other}"] = meta
    return found


def _fault_of(name: str, cells: list[str], head: list[str], first: dict[str, int]) -> tuple[str, str] | None:
    """Found and right for a row that cannot be taken at all."""
    if len(cells) != len(head):
        return (
            f"{len(cells)} cells below {len(head)} columns",
            "as many; a cell that holds the separator stands in quotes",
        )
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        return f"{clip(name)} cannot be a name", f"a name of at most {LONGEST_NAME} letters"
    if name in first:
        return f"{clip(name)} stands in line {first[name]} already", "names that differ"
    return None


def _object(cells: dict[str, str], metas: dict[str, Key], cls: type, line: str, shown: str, context: Context) -> Any:
    """The object of one row, None when it has faults."""
    table: dict[str, Any] = {}
    for column, meta in metas.items():
        if cells[column]:
            *path, last = column.split(".")
            inner = table
            for part in path:
                inner = inner.setdefault(part, {})
            inner[last] = _value(cells[column], meta)
    own = Context(Report(shown), barometer=context.barometer, room_temperature=context.room_temperature)
    one = build(cls, table, line, own)
    for fault in own.report.faults:
        column = fault.place.removeprefix(line).lstrip(".")
        right = f"cells below {column}.*" if fault.right.startswith("add a table") else fault.right
        _note(context, InputError(shown, f"{line}, {column}" if column else line, fault.found, right))
    return one


def _value(cell: str, meta: Key) -> Any:
    """A cell as the TOML value it stands for."""
    if meta.kind in ("points", "names"):
        return [part.strip() for part in cell.split(BETWEEN)]
    if meta.kind == "flag":
        return FLAGS.get(cell.lower(), cell)
    return cell


def _note(context: Context, fault: InputError) -> None:
    if len(context.report.faults) < MOST:
        context.report.faults.append(fault)
