"""The command `simcal` itself and what every command goes through."""

import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from simcal import cache
from simcal.cli import cover, criterion, hold, judge, lists, output, read, settle, year
from simcal.cli.guard import guarded

app = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
app.command("settle")(settle.settle)
app.command("hold")(hold.hold)
app.command("read")(read.read)
app.command("judge")(judge.judge)
app.command("criterion")(criterion.criterion)
app.command("cover")(cover.cover)
app.command("year")(year.year)
app.command("example")(lists.example)
app.command("keys")(lists.keys)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; its exit code. `arguments` are what stands after `simcal`, None takes the process's."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    return guarded(lambda: _invoke(words), words)


def _invoke(words: list[str]) -> int:
    command = typer.main.get_command(app)
    with command.make_context("simcal", words) as context:
        return int(command.invoke(context) or 0)


def _say_version(wanted: bool) -> None:
    if wanted:
        output.say(f"simcal {cache.version()}\n")
        raise typer.Exit


@app.callback()
def simcal(
    version: Annotated[
        bool, typer.Option("--version", callback=_say_version, is_eager=True, help="Show the version and stop.")
    ] = False,
) -> None:
    """Simulate a gas-pressure calibration bench, described in a text file.

    Begin with `simcal example`, which lists the files that are shipped and copies one here. No answer replaces
    the rules for work with compressed gas that hold where you are.
    """
