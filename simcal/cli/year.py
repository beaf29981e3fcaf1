"""`simcal year`: how a laboratory fares over a year, and what a spare, another plan or other intervals would change."""

import json as jsonlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from simcal import errors
from simcal.cli import again, options, output
from simcal.cli.asked import checked_seed, share_of, usage

if TYPE_CHECKING:
    from simcal.analysis.year import YearResult
    from simcal.bench.lab import Lab

SCHEMA = "simcal/year/1"
KINDS: again.Kinds = {
    "lab": again.TEXT,
    "years": (int,),
    "replications": (int,),
    "width": again.OPTIONAL,
    "compare": again.OPTIONAL,
    "seed": (int,),
    "set": (list,),
}
COMPARE = ("spares", "plans", "intervals")
MOST_YEARS, MOST_REPLICATIONS = 100, 100_000


@dataclass(frozen=True)
class AskedYear:
    """The options that decide the answer, as the user wrote them."""

    lab: str
    years: int = 1
    replications: int = 40
    width: str | None = None
    compare: str | None = None
    seed: int = 1
    set: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for option, value, low, high in (
            ("--years", self.years, 1, MOST_YEARS),
            ("--replications", self.replications, 2, MOST_REPLICATIONS),
        ):
            if not low <= value <= high:
                raise usage(option, str(value), f"a whole number from {low} to {high}")
        checked_seed(self.seed)
        if self.compare is not None and self.compare not in COMPARE:
            raise usage("--compare", repr(self.compare), f"one of {', '.join(COMPARE)}")
        self.half_width()

    def half_width(self) -> float | None:
        """What `--width` asks for, as a share; None when it was not asked.

        Raises:
            InputError: it is no share from 0.01 % to 50 %.
        """
        if self.width is None:
            return None
        return share_of("--width", self.width, 1e-4, 0.5)

    def arguments(self) -> dict[str, Any]:
        """For result.json: the same with the file's name alone."""
        return {**asdict(self), "lab": Path(self.lab).name, "set": list(self.set)}

    def load(self, texts: Mapping[str, str] | None = None) -> "Lab":
        """The checked laboratory; from `texts` (name -> text) when given, else from disk."""
        from simcal.files.lab_file import load_lab

        return load_lab(self.lab, self.set, texts=texts)


def year(
    lab: Annotated[
        str | None, typer.Argument(metavar="LAB", help="A LAB file, or the result.json of an earlier run.")
    ] = None,
    years: Annotated[int, typer.Option("--years", metavar="N", help="Years that each replication counts.")] = 1,
    replications: Annotated[
        int, typer.Option("--replications", metavar="N", help="Independent replications; 20 or more for bands.")
    ] = 40,
    width: Annotated[
        str | None,
        typer.Option(
            "--width", metavar="SHARE", help="Add replications until the uptime is known to +- SHARE (95 %), like 1%."
        ),
    ] = None,
    compare: Annotated[
        str | None,
        typer.Option(
            "--compare",
            metavar="WHAT",
            help="The same with `spares` (one sensor more, two, ..., or a bench), other `plans` of sending sensors "
            "out, or other `intervals`.",
        ),
    ] = None,
    method: Annotated[bool, typer.Option("--method", help="Print how it is simulated and stop.")] = False,
    sets: options.LabSets = None,
    seed: options.Seed = 1,
    workers: options.Processes = None,
    resume: options.Resume = False,
    json: options.Json = False,
    out: options.Out = None,
    force: options.Force = False,
    quiet: options.Quiet = False,
    debug: options.Debug = False,
    all_errors: options.AllErrors = False,
) -> int:
    """Simulate a laboratory's year: uptime, waiting, lateness, exposure and cost while sensors come and go.

    The LAB file is that of `cover` with a table [year], see `simcal keys year`. How long a run takes, which sensor
    reads which point and how often a seal leaks come from its bench files. `simcal example quillmoor-lab` copies one.

    Exit code 0: the stated target of uptime is met, or none is stated. 1: it is missed. 3: the replications do not
    tell, ask for a smaller --width. 2: the input is not usable.
    """
    if method:
        from simcal.analysis.year.method import METHOD

        output.say(METHOD)
        return errors.GOOD
    if lab is None:
        raise usage("LAB", "no LAB file", "simcal year FILE.toml; `simcal example` lists files to begin with")
    asked = AskedYear(lab, years, replications, width, compare, seed, tuple(sets or ()))
    if lab.lower().endswith(".json"):
        again.refuse_options("LAB", out is not None or resume or asked != AskedYear(lab))
        return _again(lab, workers, json, quiet)
    output.check_folder(out, force)
    loaded = asked.load()
    result, document = _answer(asked, loaded, workers, quiet, resume)
    if out is not None:
        from simcal.show.year_save import save_year

        save_year(result, loaded, document, out, force)
    if json:
        output.say(jsonlib.dumps(document, allow_nan=False) + "\n")
    else:
        from simcal.show.year_text import year_text

        output.say(year_text(result, loaded, output.unicode_on_stdout()))
    return {True: errors.GOOD, False: errors.BAD_NEWS, None: errors.UNDECIDED}[result.met]


def _answer(
    asked: AskedYear, lab: "Lab", workers: int | None, quiet: bool, resume: bool = False
) -> "tuple[YearResult, dict[str, Any]]":
    """The answer and its document, with bars on a terminal."""
    from simcal.analysis.year import year as analyse
    from simcal.run import on_terminal
    from simcal.show.year_json import year_document

    with on_terminal(quiet) as progress:
        result = analyse(
            lab, years=asked.years, replications=asked.replications, width=asked.half_width(), compare=asked.compare,
            seed=asked.seed, workers=workers, progress=progress, resume=resume,
        )  # fmt: skip
    return result, year_document(result, lab, asked.arguments())


def _again(path: str, workers: int | None, as_json: bool, quiet: bool) -> int:
    """Ask the question of a result.json again and compare."""
    before = again.read(path, SCHEMA)
    asked = AskedYear(**again.arguments_of(before, path, KINDS))
    now = _answer(asked, asked.load(again.texts_of(before, path)), workers, quiet)[1]
    return again.compare(before, now, as_json)
