"""`simcal criterion`: what a procedure should say of a hold, and the risks of deciding by it."""

import json as jsonlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from simcal import errors
from simcal.cli import again, options, output
from simcal.cli.asked import checked_seed, leak_of, level_of, share_of, time_of, usage

if TYPE_CHECKING:
    from simcal.analysis.criterion import CriterionResult, Given
    from simcal.bench.about import About
    from simcal.bench.bench import Bench

DIRECTIONS = ("below", "above", "either", "both")
AUTO = "auto"
LAWS = ("hole", "laminar", "molecular")
LONGEST = 86400.0
"""s; of soak, wait and watch together"""
LEAST_BENCHES, MOST_BENCHES = 20, 10_000
"""fewer benches say nothing of 95 % of them"""
MOST_READINGS = 1000


@dataclass(frozen=True)
class AskedCriterion:
    """The options that decide the answer, as the user wrote them."""

    bench: str
    permitted_leak: str | None = None
    healthy_leak: str | None = None
    pressure: str | None = None
    false_alarm: str = "5 %"
    miss: str = "5 %"
    direction: str = "below"
    soak: str | None = None
    wait: str | None = None
    watch: str | None = None
    longest: str = "1 h"
    readings: int = 5
    every: str = "1 s"
    sensor: str | None = None
    leak_law: str = "hole"
    bad_share: str | None = None
    benches: int = 100
    explain: str | None = None
    seed: int = 1
    set: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        checked_seed(self.seed)
        if self.direction not in DIRECTIONS:
            raise usage("--from", f'"{self.direction}"', f"one of {', '.join(DIRECTIONS)}")
        if self.leak_law not in LAWS:
            raise usage("--leak-law", f'"{self.leak_law}"', f"one of {', '.join(LAWS)}")
        if not LEAST_BENCHES <= self.benches <= MOST_BENCHES:
            right = f"a whole number from {LEAST_BENCHES} to {MOST_BENCHES}; fewer say nothing of 95 % of them"
            raise usage("--benches", str(self.benches), right)
        if not 1 <= self.readings <= MOST_READINGS:
            raise usage("--readings", str(self.readings), f"a whole number from 1 to {MOST_READINGS}")
        if self.permitted_leak is None and self.explain is None:
            raise usage("--permitted-leak", "missing", "the leak that must be found, like 2e-8 mol/s, or auto")
        if self.explain is not None and (self.soak or self.wait or self.watch):
            raise usage("--explain", "together with --soak, --wait or --watch", "the file, which states the times")
        self.fields()

    def fields(self) -> dict[str, Any]:
        """The question in SI; permitted None where only a file may state it."""
        found = {
            "permitted": _permitted(self.permitted_leak),
            "healthy": None if self.healthy_leak is None else leak_of("--healthy-leak", self.healthy_leak, zero=True),
            "pressure": None if self.pressure is None else level_of("--pressure", self.pressure),
            "false_alarm": share_of("--false-alarm", self.false_alarm, 0.001, 0.4),
            "miss": share_of("--miss", self.miss, 0.001, 0.4),
            "direction": self.direction,
            "longest_s": _time("--longest", self.longest, 10.0),
            "readings": self.readings,
            "every_s": _time("--every", self.every, 1e-3),
            "sensor": self.sensor,
            "law": self.leak_law,
            "bad_share": None if self.bad_share is None else share_of("--bad-share", self.bad_share, 0.0, 1.0),
            "benches": self.benches,
            "seed": self.seed,
        }
        for name, text, least in (("soak", self.soak, 1.0), ("wait", self.wait, 0.0), ("watch", self.watch, 1.0)):
            found[f"{name}_s"] = None if text is None else _time(f"--{name}", text, least)
        return found

    def arguments(self) -> dict[str, Any]:
        """For result.json: the same with the files' names alone."""
        explain = None if self.explain is None else Path(self.explain).name
        return {**asdict(self), "bench": Path(self.bench).name, "explain": explain, "set": list(self.set)}

    def load(self, texts: Mapping[str, str] | None = None) -> "tuple[Bench, About | None]":
        """The checked bench and the about-file to explain; from `texts` (name -> text) when given, else from disk."""
        from simcal.files.about_file import load_about
        from simcal.files.bench_file import load_bench

        bench = load_bench(self.bench, self.set, texts=texts)
        return bench, None if self.explain is None else load_about(self.explain, texts=texts)


KINDS: again.Kinds = {
    "bench": again.TEXT, "permitted_leak": again.OPTIONAL, "healthy_leak": again.OPTIONAL, "pressure": again.OPTIONAL,
    "false_alarm": again.TEXT, "miss": again.TEXT, "direction": again.TEXT, "soak": again.OPTIONAL,
    "wait": again.OPTIONAL, "watch": again.OPTIONAL, "longest": again.TEXT, "readings": (int,), "every": again.TEXT,
    "sensor": again.OPTIONAL, "leak_law": again.TEXT, "bad_share": again.OPTIONAL, "benches": (int,),
    "explain": again.OPTIONAL, "seed": (int,), "set": (list,),
}  # fmt: skip


def criterion(
    bench: Annotated[
        str | None, typer.Argument(metavar="BENCH", help="A bench file, or result.json of an earlier run.")
    ] = None,
    permitted_leak: Annotated[
        str | None,
        typer.Option("--permitted-leak", metavar="RATE|auto", help="To be found, or auto: what the device permits."),
    ] = None,
    healthy_leak: Annotated[
        str | None, typer.Option("--healthy-leak", metavar="RATE", help="The leak that must pass; else a tenth of it.")
    ] = None,
    pressure: Annotated[
        str | None, typer.Option("--pressure", metavar="LEVEL", help="Of the hold; else the only device's full scale.")
    ] = None,
    false_alarm: Annotated[
        str, typer.Option("--false-alarm", metavar="SHARE", help="Of healthy holds that may fail.")
    ] = "5 %",
    miss: Annotated[str, typer.Option("--miss", metavar="SHARE", help="Of leaking holds that may pass.")] = "5 %",
    direction: Annotated[
        str,
        typer.Option(
            "--from", metavar="below|above|either|both",
            help="The side the pressure comes from; either: unknown; both: two holds, their changes averaged.",
        ),
    ] = "below",
    soak: Annotated[str | None, typer.Option("--soak", metavar="TIME", help="Given, instead of found.")] = None,
    wait: Annotated[str | None, typer.Option("--wait", metavar="TIME", help="Given, instead of found.")] = None,
    watch: Annotated[str | None, typer.Option("--watch", metavar="TIME", help="Given, instead of found.")] = None,
    longest: Annotated[str, typer.Option("--longest", metavar="TIME", help="Soak, wait and watch at most.")] = "1 h",
    readings: Annotated[
        int, typer.Option("--readings", metavar="N", help="Whose mean is taken at both ends of the watch.")
    ] = 5,
    every: Annotated[str, typer.Option("--every", metavar="TIME", help="Between two readings.")] = "1 s",
    sensor: Annotated[
        str | None, typer.Option("--sensor", metavar="NAME", help="The sensor that is read; else the controller's.")
    ] = None,
    leak_law: Annotated[
        str, typer.Option("--leak-law", metavar="|".join(LAWS), help="How the tried leak goes with the pressure.")
    ] = "hole",
    bad_share: Annotated[
        str | None, typer.Option("--bad-share", metavar="SHARE", help="Of seals that are bad, for what a fail says.")
    ] = None,
    benches: Annotated[
        int, typer.Option("--benches", metavar="N", help="Drawn for the search, and as many to check; 1000 holds each.")
    ] = 100,
    explain: Annotated[
        str | None,
        typer.Option("--explain", metavar="FILE", help="An about-file with a criterion: what leak does it catch?"),
    ] = None,
    method: Annotated[bool, typer.Option("--method", help="Print the formulas used and stop.")] = False,
    sets: options.Sets = None,
    seed: options.Seed = 1,
    workers: options.Workers = None,
    resume: options.Resume = False,
    json: options.Json = False,
    out: options.Out = None,
    force: options.Force = False,
    quiet: options.Quiet = False,
    debug: options.Debug = False,
    all_errors: options.AllErrors = False,
) -> int:  # fmt: skip
    """Find the shortest soak, wait and watch that tell a leak, with limits and both risks.

    Exit code 0: there is a criterion, or the given one keeps its risks. 1: it does not, or there is none. 2: the
    input is not usable.
    """
    if method:
        return _print_method()
    if bench is None:
        raise usage("BENCH", "no bench file", "simcal criterion FILE.toml; `simcal example` lists files to begin with")
    words = (
        permitted_leak, healthy_leak, pressure, false_alarm, miss, direction, soak, wait, watch, longest,
        readings, every, sensor, leak_law, bad_share, benches, explain, seed, tuple(sets or ()),
    )  # fmt: skip
    if bench.lower().endswith(".json"):
        unasked = tuple(one.default for one in fields(AskedCriterion))[1:]
        again.refuse_options("BENCH", words != unasked or out is not None or resume)
        return _again(bench, workers, json, quiet)
    output.check_folder(out, force)
    asked = AskedCriterion(bench, *words)
    return _run(asked, out, force, workers, resume, json, quiet)


def _run(
    asked: AskedCriterion, out: str | None, force: bool, workers: int | None, resume: bool, as_json: bool, quiet: bool
) -> int:
    """Answer, save, print; the exit code."""
    bench, about = asked.load()
    result = _answer(asked, bench, about, workers, quiet, resume)
    document = _document(asked, result, bench, about)
    if out is not None:
        from simcal.show.criterion_save import save_criterion

        save_criterion(result, bench, document, out, force, _shop(asked))
    output.say(jsonlib.dumps(document, allow_nan=False) + "\n" if as_json else _text(asked, result, bench))
    return errors.GOOD if result.feasible else errors.BAD_NEWS


def _answer(
    asked: AskedCriterion, bench: "Bench", about: "About | None", workers: int | None, quiet: bool, resume: bool = False
) -> "CriterionResult":
    """The analysis, with bars on a terminal while it runs."""
    from simcal.analysis.criterion import criterion as analyse
    from simcal.run import on_terminal

    fields = asked.fields()
    given = None
    if about is not None:
        given = _given(about)
        stated = about.permitted_leak
        if fields["permitted"] is None and stated is not None and about.limit_at is None:
            fields["permitted"] = (stated.value, stated.form)
    with on_terminal(quiet) as progress:
        return analyse(bench, given=given, workers=workers, progress=progress, resume=resume, **fields)


def _given(about: "About") -> "Given":
    """The criterion of an about-file.

    Raises:
        InputError: it states none, or no watch, or no limit.
    """
    from simcal.analysis.criterion import Given
    from simcal.analysis.criterion.question import USUAL_SOAK

    stated = about.criterion
    if stated is None or stated.watch is None or (stated.allowed_drop is None and stated.allowed_rise is None):
        right = 'criterion = { wait = "60 s", watch = "60 s", allowed_drop = "50 Pa" }'
        raise errors.InputError(about.file, "criterion", "no watch, or no limit" if stated else "missing", right)
    soak = USUAL_SOAK if about.soak is None else about.soak
    return Given(soak, stated.wait or 0.0, stated.watch, stated.allowed_drop, stated.allowed_rise)


def _shop(asked: AskedCriterion) -> str:
    """The unit of rates beside mol/s: the limit's own where it is one of amounts."""
    from simcal import units
    from simcal.show.criterion_text import USUAL

    if asked.permitted_leak in (None, AUTO):
        return USUAL
    try:
        unit = units.parse(asked.permitted_leak, "flow_amount").unit
    except units.UnitError:
        return USUAL
    return USUAL if unit.endswith("mol/s") else unit


def _document(
    asked: AskedCriterion, result: "CriterionResult", bench: "Bench", about: "About | None"
) -> dict[str, Any]:
    from simcal.show.criterion_json import criterion_document

    return criterion_document(result, bench, asked.arguments(), _shop(asked), None if about is None else about.texts)


def _text(asked: AskedCriterion, result: "CriterionResult", bench: "Bench") -> str:
    from simcal.show.criterion_text import criterion_text

    return criterion_text(result, bench, _shop(asked), unicode=output.unicode_on_stdout())


def _permitted(text: str | None) -> "tuple[float, str] | str | None":
    return text if text in (None, AUTO) else leak_of("--permitted-leak", text)


def _time(option: str, text: str, least: float) -> float:
    found = time_of(option, text)
    if not least <= found <= LONGEST:
        raise usage(option, repr(text), f"a time from {least:g} s to {LONGEST / 3600.0:g} h")
    return found


def _again(path: str, workers: int | None, as_json: bool, quiet: bool) -> int:
    """Run the question of a result.json again and compare."""
    before = again.read(path, "simcal/criterion/1")
    asked = AskedCriterion(**again.arguments_of(before, path, KINDS))
    bench, about = asked.load(again.texts_of(before, path))
    result = _answer(asked, bench, about, workers, quiet)
    return again.compare(before, _document(asked, result, bench, about), as_json)


def _print_method() -> int:
    from simcal.analysis.criterion.method import METHOD

    output.say(METHOD)
    return errors.GOOD
