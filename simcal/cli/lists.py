"""`simcal example` and `simcal keys`: what is shipped, and what may stand in a file."""

import json as jsonlib
import textwrap
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from simcal import errors
from simcal.cli import options, output
from simcal.cli.asked import usage

if TYPE_CHECKING:
    from simcal.files.examples import Example
    from simcal.files.keys import Row

COLUMNS = 100
"""Where the list of keys is wrapped."""


def example(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="The example to copy here; without it all are listed.")
    ] = None,
    json: options.Json = False,
    quiet: options.Quiet = False,
    debug: options.Debug = False,
) -> int:
    """List the files that are shipped, or copy one here."""
    from simcal.files.examples import copy_example, examples

    if name is None:
        shipped = examples()
        rows = [{"name": one.name, "kind": one.kind, "about": one.line} for one in shipped]
        output.say(_document("example", examples=rows) if json else _shipped(shipped))
        return errors.GOOD
    copied = [path.name for path in copy_example(name, Path())]
    output.say(_document("example", copied=copied) if json else "".join(f"{one}\n" for one in copied))
    return errors.GOOD


def keys(
    kind: Annotated[
        str | None, typer.Argument(metavar="KIND", help="A kind of file, like bench, or one table of it, like volume.")
    ] = None,
    json: options.Json = False,
    quiet: options.Quiet = False,
    debug: options.Debug = False,
) -> int:
    """List the keys of every file, with unit, range and default."""
    found = _rows(kind)
    if json:
        listed = [{"file": file, **vars(row)} for file, rows in found.items() for row in rows]
        output.say(_document("keys", keys=listed))
    else:
        output.say("\n".join(_block(file, rows) for file, rows in found.items()))
    return errors.GOOD


def _rows(kind: str | None) -> "dict[str, list[Row]]":
    """Kind of file -> its keys; of one table only where `kind` names a table.

    Raises:
        InputError: there is neither such a kind of file nor such a table.
    """
    from simcal.files.keys import KINDS, rows

    every = {file: rows(file) for file in KINDS}
    if kind is None:
        return every
    if kind in every:
        return {kind: every[kind]}
    of_table = {file: [row for row in found if _table(row) == kind] for file, found in every.items()}
    if not any(of_table.values()):
        tables = dict.fromkeys(_table(row) for found in every.values() for row in found)
        known = ", ".join([*every, *(table for table in tables if table)])
        raise usage("KIND", f'"{kind}"', f"one of {known}")
    return {file: found for file, found in of_table.items() if found}


def _table(row: "Row") -> str:
    """The table a key stands in, "" when it stands in none."""
    table, dot, _ = row.key.partition(".")
    return table if dot else ""


def _document(command: str, **content: Any) -> str:
    return jsonlib.dumps({"schema": f"simcal/{command}/1", **content}, allow_nan=False) + "\n"


def _shipped(shipped: "Iterable[Example]") -> str:
    lines = [textwrap.fill(f"{one.name}: {one.line}", COLUMNS, subsequent_indent="    ") for one in shipped]
    return "\n".join([*lines, "", "`simcal example NAME` copies one here."]) + "\n"


def _block(file: str, rows: "list[Row]") -> str:
    return f"{file} file\n\n" + "".join(_entry(row) for row in rows)


def _entry(row: "Row") -> str:
    """A key with its meaning, and below it what may stand there."""
    kind = f"{row.kind} [{row.unit}]" if row.unit else row.kind
    said = row.default if row.default.startswith("required") else f"default {row.default}"
    default = "" if row.default in ("-", "") else said
    what = [f"{kind} {row.range}"] if row.kind == "one of" else [kind, row.range]
    parts = "; ".join(part for part in (*what, default) if part)
    wrapped = textwrap.fill(parts, COLUMNS, initial_indent="    ", subsequent_indent="    ", break_on_hyphens=False)
    return f"{row.key}: {row.help}\n{wrapped}\n"
