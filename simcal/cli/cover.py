"""`simcal cover`: which reference sensors serve the work of a laboratory."""

import json as jsonlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from simcal import errors
from simcal.cli import again, options, output
from simcal.cli.asked import usage

if TYPE_CHECKING:
    from simcal.analysis.cover import CoverResult
    from simcal.bench.lab import Lab

SCHEMA = "simcal/cover/1"
KINDS: again.Kinds = {"lab": again.TEXT, "instrument": again.OPTIONAL, "set": (list,)}


@dataclass(frozen=True)
class AskedCover:
    """The options that decide the answer, as the user wrote them."""

    lab: str
    instrument: str | None = None
    set: tuple[str, ...] = ()

    def arguments(self) -> dict[str, Any]:
        """For result.json: the same with the file's name alone."""
        return {**asdict(self), "lab": Path(self.lab).name, "set": list(self.set)}

    def load(self, texts: Mapping[str, str] | None = None) -> "Lab":
        """The checked laboratory; from `texts` (name -> text) when given, else from disk."""
        from simcal.files.faults import did_you_mean
        from simcal.files.lab_file import load_lab

        lab = load_lab(self.lab, self.set, texts=texts)
        if self.instrument is not None and self.instrument not in lab.instruments:
            raise usage(
                "--instrument", f'no instrument "{self.instrument}"', did_you_mean(self.instrument, lab.instruments)
            )
        return lab


def cover(
    lab: Annotated[
        str | None, typer.Argument(metavar="LAB", help="A LAB file, or the result.json of an earlier run.")
    ] = None,
    instrument: Annotated[
        str | None,
        typer.Option(
            "--instrument", metavar="NAME", help="Sensor of each point, switches and their time for this one."
        ),
    ] = None,
    method: Annotated[bool, typer.Option("--method", help="Print the formulas used and stop.")] = False,
    sets: options.LabSets = None,
    workers: options.Workers = None,
    json: options.Json = False,
    out: options.Out = None,
    force: options.Force = False,
    quiet: options.Quiet = False,
    debug: options.Debug = False,
    all_errors: options.AllErrors = False,
) -> int:
    """Say which reference sensors serve a laboratory's work, where the gaps are, and what one more buys.

    A LAB file states the rule and names two CSV tables, instruments and sensors; their columns are the keys below
    instrument.NAME and sensor.NAME of `simcal keys lab`. `simcal example quillmoor-lab` copies one here.

    Exit code 0: the set that is found covers every instrument (or the one asked about). 1: it does not.
    2: the input is not usable.
    """
    if method:
        return _print_method()
    if lab is None:
        raise usage("LAB", "no LAB file", "simcal cover FILE.toml; `simcal example` lists files to begin with")
    asked = AskedCover(lab, instrument, tuple(sets or ()))
    if lab.lower().endswith(".json"):
        again.refuse_options("LAB", out is not None or asked != AskedCover(lab))
        return _again(lab, workers, json, quiet)
    output.check_folder(out, force)
    loaded = asked.load()
    result, document = _answer(asked, loaded, workers, quiet)
    if out is not None:
        from simcal.show.cover_save import save_cover

        save_cover(result, loaded, document, out, force)
    output.say(jsonlib.dumps(document, allow_nan=False) + "\n" if json else _text(result, loaded, asked))
    return errors.GOOD if document["good"] else errors.BAD_NEWS


def _answer(asked: AskedCover, lab: "Lab", workers: int | None, quiet: bool) -> "tuple[CoverResult, dict[str, Any]]":
    """The answer and its document, with bars on a terminal while benches run."""
    from simcal.analysis.cover import cover as analyse
    from simcal.run import on_terminal
    from simcal.show.cover_json import cover_document

    with on_terminal(quiet) as progress:
        result = analyse(lab, workers, progress)
    return result, cover_document(result, lab, asked.arguments(), asked.instrument)


def _text(result: "CoverResult", lab: "Lab", asked: AskedCover) -> str:
    from simcal.show.cover_text import cover_text, instrument_text

    unicode = output.unicode_on_stdout()
    if asked.instrument is None:
        return cover_text(result, lab, unicode)
    one = next(one for one in result.instruments if one.name == asked.instrument)
    return instrument_text(result, one, lab, unicode)


def _again(path: str, workers: int | None, as_json: bool, quiet: bool) -> int:
    """Ask the question of a result.json again and compare."""
    before = again.read(path, SCHEMA)
    asked = AskedCover(**again.arguments_of(before, path, KINDS))
    now = _answer(asked, asked.load(again.texts_of(before, path)), workers, quiet)[1]
    return again.compare(before, now, as_json)


def _print_method() -> int:
    from simcal.analysis.cover.method import METHOD

    output.say(METHOD)
    return errors.GOOD
