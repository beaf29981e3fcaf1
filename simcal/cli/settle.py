"""`simcal settle`: when each setpoint of a calibration may be read."""

import json as jsonlib
from typing import TYPE_CHECKING, Annotated, Any

import typer

from simcal import errors
from simcal.cli import again, options, output
from simcal.cli.answer import answer, document_of
from simcal.cli.asked import Asked, usage

if TYPE_CHECKING:
    from simcal.analysis.settle.result import SettleResult
    from simcal.bench.bench import Bench


def settle(
    bench: Annotated[
        str | None,
        typer.Argument(metavar="BENCH", help="A bench file, or the result.json of an earlier run to run it again."),
    ] = None,
    device: Annotated[str | None, typer.Option("--device", metavar="NAME", help="The device to calibrate.")] = None,
    sequence: Annotated[str | None, typer.Option("--sequence", metavar="NAME", help="The sequence to run.")] = None,
    trials: Annotated[
        int,
        typer.Option("--trials", metavar="N", help="Draw the stated spreads N times, 19 or more, for a 90 % band."),
    ] = 0,
    groups: Annotated[
        int | None,
        typer.Option("--groups", metavar="K", help="The same in at most K rounded-up dwells."),
    ] = None,
    dwell: Annotated[
        str | None,
        typer.Option("--dwell", metavar="TIME", help="The reverse question: the error left after, say, 30s."),
    ] = None,
    self_check: Annotated[
        bool, typer.Option("--self-check", help="Run again with the engine's error bounds halved; say what moves.")
    ] = False,
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
) -> int:
    """Say when each setpoint may be read, and what error is left.

    Exit code 0: every point can be read. 1: a point cannot, or is void. 2: the input is not usable.
    """
    if method:
        return _print_method()
    if bench is None:
        raise usage("BENCH", "no bench file", "simcal settle FILE.toml; `simcal example` lists files to begin with")
    if bench.lower().endswith(".json"):
        given = device, sequence, trials, groups, dwell, sets, out, self_check, resume
        again.refuse_options("BENCH", any(given))
        return again.settle(bench, workers, json, quiet)
    output.check_folder(out, force)
    asked = Asked(bench, device, sequence, trials, groups, dwell, seed, tuple(sets or ()), self_check)
    loaded = asked.load()
    result = answer(loaded, asked, workers, quiet, resume)
    document = document_of(result, loaded, asked)
    if out is not None:
        _save(result, document, out, force)
    output.say(jsonlib.dumps(document, allow_nan=False) + "\n" if json else _text(result, loaded))
    return errors.GOOD if result.good else errors.BAD_NEWS


def _text(result: "SettleResult", bench: "Bench") -> str:
    from simcal.show.scales import Setting
    from simcal.show.text import settle_text

    return settle_text(result, Setting.of(bench, result.device), unicode=output.unicode_on_stdout())


def _save(result: "SettleResult", document: dict[str, Any], directory: str, force: bool) -> None:
    """Write the answer's folder."""
    from simcal.show.save import save_settle

    save_settle(result, document, directory, force)


def _print_method() -> int:
    from simcal.analysis.settle.method import METHOD

    output.say(METHOD)
    return errors.GOOD
