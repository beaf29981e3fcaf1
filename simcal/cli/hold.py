"""`simcal hold`: an isolated hold as a logger would record it, with the truth beside it."""

import json as jsonlib
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from simcal import errors
from simcal.cli import again, options, output
from simcal.cli.asked import checked_seed, leak_of, level_of, time_of, usage

if TYPE_CHECKING:
    from simcal.analysis.hold import HoldResult
    from simcal.bench.bench import Bench
    from simcal.bench.values import Level

ABOVE, BELOW = "above", "below"
LONGEST = 7.0 * 86400.0
"""s; of a soak, a wait or a watch"""
MOST_ROWS = 1_000_000
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,59}")
TABLES = ("parts", "drawn")


@dataclass(frozen=True)
class AskedHold:
    """The options that decide the hold, as the user wrote them."""

    bench: str
    pressure: str | None = None
    soak: str = "60 s"
    wait: str = "0 s"
    watch: str = "300 s"
    direction: str = BELOW
    every: str | None = None
    sensor: str | None = None
    permitted_leak: str | None = None
    seed: int = 1
    set: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        checked_seed(self.seed)
        if self.direction not in (ABOVE, BELOW):
            raise usage("--from", f'"{self.direction}"', f"{BELOW} or {ABOVE}")
        for option, text, least in self._times():
            if not least <= time_of(option, text) <= LONGEST:
                raise usage(option, repr(text), f"a time from {least:g} s to {LONGEST / 86400.0:g} d")
        if self.every is not None and self.rows() > MOST_ROWS:
            raise usage("--every", repr(self.every), f"a time that leaves at most {MOST_ROWS} rows")
        self.level()
        self.permitted()

    def _times(self) -> list[tuple[str, str, float]]:
        found = [("--soak", self.soak, 0.0), ("--wait", self.wait, 0.0), ("--watch", self.watch, 1.0)]
        return [*found, ("--every", self.every, 1e-4)] if self.every is not None else found

    def rows(self) -> float:
        """Rows of the record when `every` is given, about."""
        span = time_of("--wait", self.wait) + time_of("--watch", self.watch)
        return span / time_of("--every", self.every or "1 s")

    def level(self) -> "Level | None":
        """The pressure of the hold as stated; None where it was not."""
        return None if self.pressure is None else level_of("--pressure", self.pressure)

    def permitted(self) -> "tuple[float, str] | None":
        """The leak limit as stated; None where there was none."""
        return None if self.permitted_leak is None else leak_of("--permitted-leak", self.permitted_leak)

    def arguments(self) -> dict[str, Any]:
        """For result.json: the same with the file's name alone."""
        return {**asdict(self), "bench": Path(self.bench).name, "set": list(self.set)}

    def load(self, texts: Mapping[str, str] | None = None) -> "Bench":
        """The checked bench; from `texts` (name -> text) when given, else from disk."""
        from simcal.files.bench_file import load_bench

        return load_bench(self.bench, self.set, texts=texts)


KINDS: again.Kinds = {
    "bench": again.TEXT,
    "pressure": again.OPTIONAL,
    "soak": again.TEXT,
    "wait": again.TEXT,
    "watch": again.TEXT,
    "direction": again.TEXT,
    "every": again.OPTIONAL,
    "sensor": again.OPTIONAL,
    "permitted_leak": again.OPTIONAL,
    "seed": (int,),
    "set": (list,),
}


def hold(
    bench: Annotated[
        str | None, typer.Argument(metavar="BENCH", help="A bench file, or result.json of an earlier hold.")
    ] = None,
    pressure: Annotated[
        str | None, typer.Option("--pressure", metavar="LEVEL", help="Of the hold; else the only device's full scale.")
    ] = None,
    soak: Annotated[str, typer.Option("--soak", metavar="TIME", help="At pressure with the controller on.")] = "60 s",
    wait: Annotated[str, typer.Option("--wait", metavar="TIME", help="Valves shut, not counted.")] = "0 s",
    watch: Annotated[str, typer.Option("--watch", metavar="TIME", help="Valves shut, counted.")] = "300 s",
    direction: Annotated[
        str, typer.Option("--from", metavar="below|above", help="The side from which the pressure is reached.")
    ] = BELOW,
    every: Annotated[
        str | None, typer.Option("--every", metavar="TIME", help="Between two rows; else about 600 rows.")
    ] = None,
    sensor: Annotated[
        str | None, typer.Option("--sensor", metavar="NAME", help="The sensor that is logged; else the controller's.")
    ] = None,
    permitted_leak: Annotated[
        str | None, typer.Option("--permitted-leak", metavar="RATE", help="For the about-file, at this pressure.")
    ] = None,
    hold_set: Annotated[
        str | None,
        typer.Option("--hold-set", metavar="SET", help="For the about-file; --name is then below or above, as --from."),
    ] = None,
    name: Annotated[
        str | None,
        typer.Option("--name", metavar="NAME", help="Save as DIR/NAME/NAME.csv, so that several holds share DIR."),
    ] = None,
    method: Annotated[bool, typer.Option("--method", help="Print the formulas used and stop.")] = False,
    sets: options.Sets = None,
    seed: options.Seed = 1,
    json: options.Json = False,
    out: options.Out = None,
    force: options.Force = False,
    quiet: options.Quiet = False,
    debug: options.Debug = False,
    all_errors: options.AllErrors = False,
) -> int:
    """Simulate an isolated hold; write its record as a logger would, and what is true of it.

    Every spread of the bench is drawn by the seed: the hold is that of one bench, as a real one is.

    Two holds judged by one explanation, saved in one folder:

    \b
      simcal hold BENCH --permitted-leak RATE --hold-set A --out pair
      simcal hold BENCH --permitted-leak RATE --hold-set A --out pair --from above
      simcal judge --together pair/below/below.csv pair/above/above.csv
    """
    if method:
        return _print_method()
    if bench is None:
        raise usage("BENCH", "no bench file", "simcal hold FILE.toml; `simcal example` lists files to begin with")
    asked = AskedHold(
        bench, pressure, soak, wait, watch, direction, every, sensor, permitted_leak, seed, tuple(sets or ())
    )
    if bench.lower().endswith(".json"):
        other = asked != AskedHold(bench) or any(one is not None for one in (out, name, hold_set))
        again.refuse_options("BENCH", other, "result.json alone, or with --json; it holds what was asked")
        return _again(bench, json)
    named = _named(name, hold_set, direction, out)
    output.check_folder(str(Path(out) / named) if out and named and Path(out).is_dir() else out, force)
    loaded = asked.load()
    result, document = _answer(asked, loaded)
    if out is not None:
        from simcal.show.hold_save import Told, save_hold

        save_hold(result, loaded, document, out, force, Told(named or "", asked.permitted_leak, hold_set))
    output.say(jsonlib.dumps(document, allow_nan=False) + "\n" if json else _text(result, loaded))
    return errors.GOOD


def _named(name: str | None, hold_set: str | None, direction: str, out: str | None) -> str | None:
    """The name of the record, checked; None where neither it nor a set was given."""
    for option, text in (("--name", name), ("--hold-set", hold_set)):
        if text is None:
            continue
        if out is None:
            raise usage(option, "nothing is saved", f"{option} together with --out DIR")
        if not NAME.fullmatch(text):
            raise usage(option, repr(text[:80]), "up to 60 letters, digits, - and _, beginning with a letter or digit")
    if name in TABLES:
        raise usage("--name", repr(name), "a name other than those of the tables beside it")
    return name if name is not None or hold_set is None else direction


def _answer(asked: AskedHold, bench: "Bench") -> "tuple[HoldResult, dict[str, Any]]":
    """The hold and its document."""
    from simcal.analysis.hold import hold as simulate
    from simcal.show.hold_json import hold_document

    result = simulate(
        bench,
        pressure=asked.level(),
        soak_s=time_of("--soak", asked.soak),
        wait_s=time_of("--wait", asked.wait),
        watch_s=time_of("--watch", asked.watch),
        direction=asked.direction,
        every_s=None if asked.every is None else time_of("--every", asked.every),
        sensor=asked.sensor,
        permitted=asked.permitted(),
        seed=asked.seed,
    )
    return result, hold_document(result, bench, asked.arguments())


def _text(result: "HoldResult", bench: "Bench") -> str:
    from simcal.show.hold_text import hold_text

    return hold_text(result, bench, unicode=output.unicode_on_stdout())


def _again(path: str, as_json: bool) -> int:
    """Run the hold of a result.json again and compare."""
    before = again.read(path, "simcal/hold/1")
    asked = AskedHold(**again.arguments_of(before, path, KINDS))
    return again.compare(before, _answer(asked, asked.load(again.texts_of(before, path)))[1], as_json)


def _print_method() -> int:
    from simcal.analysis.hold.method import METHOD

    output.say(METHOD)
    return errors.GOOD
