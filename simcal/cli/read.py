"""`simcal read`: what is understood of a logger's file."""

import json as jsonlib
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simcal import errors
from simcal.cli import options, output
from simcal.cli.asked import usage

if TYPE_CHECKING:
    from simcal.bench.about import About
    from simcal.bench.record import Record

WORST_FIRST = (errors.DEFECT, errors.UNUSABLE, errors.BAD_NEWS, errors.UNDECIDED, errors.GOOD)
"""Which code stands for several records."""


def read(
    records: Annotated[
        list[str] | None, typer.Argument(metavar="RECORD...", help="Files of a logger: text with columns.")
    ] = None,
    about: Annotated[
        str | None,
        typer.Option("--about", metavar="FILE", help="What is said about them; else NAME.toml beside NAME.csv."),
    ] = None,
    sets: options.AboutSets = None,
    json: options.JsonLines = False,
    quiet: options.Quiet = False,
    debug: options.Debug = False,
    all_errors: options.AllErrors = False,
) -> int:
    """Show what is understood of a logger's file, what was assumed, and how to state it.

    Exit code 0: every record was read. 2: one was not, or the about-file is not usable.
    """
    if not records:
        raise usage("RECORD", "no record", "simcal read FILE.csv")
    given = _about(about, sets)
    codes = [_one(path, given, sets, json, debug, all_errors) for path in records]
    return next(code for code in WORST_FIRST if code in codes)


def _about(path: str | None, sets: list[str] | None) -> "About | None":
    """The about-file that counts for all records, None when each has its own."""
    from simcal.files.about_file import load_about

    if path is not None:
        return load_about(path, tuple(sets or ()))
    return None


def _one(path: str, given: "About | None", sets: list[str] | None, json: bool, debug: bool, every: bool) -> int:
    """Read and show one record; its exit code."""
    from simcal.cli.guard import reported
    from simcal.files.records.reader import about_of, read_record

    def work() -> None:
        about = given or about_of(path, sets=tuple(sets or ()))
        _show(read_record(path, about), path, about, json)

    def unreadable(line: str) -> None:
        if json:
            output.say(jsonlib.dumps({"record": Path(path).name, "error": line}) + "\n")

    return reported(work, unreadable, debug=debug, every=every)


def _show(record: "Record", path: str, about: "About", json: bool) -> None:
    from simcal.show.record_json import record_document
    from simcal.show.record_text import record_text

    if json:
        output.say(jsonlib.dumps(record_document(record), allow_nan=False) + "\n")
        return
    name = about.file or f"{Path(path).stem}.toml"
    output.say(record_text(record, about, name, unicode=output.unicode_on_stdout()))
