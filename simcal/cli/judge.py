"""`simcal judge`: leak, tight or undecided, and why, for the record of an isolated hold."""

import json as jsonlib
import os
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from simcal import errors
from simcal.cli import again, options, output
from simcal.cli.asked import usage
from simcal.cli.following import CODES, follow
from simcal.cli.judging import AskedJudge, inputs_of, judged, rerun
from simcal.cli.read import WORST_FIRST

if TYPE_CHECKING:
    from simcal.bench.about import About
    from simcal.files.answers import Mark
    from simcal.show.judge_units import Judged

ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""Read by numpy's linear algebra when it is first imported: matrices here are small, and threads would only wait."""


def judge(
    records: Annotated[
        list[str] | None,
        typer.Argument(metavar="RECORD...", help="Logger files of holds, or one earlier result.json to run it again."),
    ] = None,
    about: Annotated[
        str | None,
        typer.Option("--about", metavar="FILE", help="What is said about them; else NAME.toml beside NAME.csv."),
    ] = None,
    together: Annotated[
        bool, typer.Option("--together", help="Judge records of one hold_set by one explanation.")
    ] = False,
    following: Annotated[
        bool,
        typer.Option("--follow", help="Look while a record grows, or comes as standard input (-), until decided."),
    ] = False,
    patience: Annotated[
        str | None,
        typer.Option(
            "--patience", metavar="TIME", help="With --follow: without a row for so long (30 s) it is finished."
        ),
    ] = None,
    answers: Annotated[
        str | None,
        typer.Option("--answers", metavar="DIR", help="Mark each verdict against DIR/NAME.json, a known answer."),
    ] = None,
    method: Annotated[bool, typer.Option("--method", help="Print the formulas used and stop.")] = False,
    sets: options.AboutSets = None,
    seed: options.Seed = 1,
    workers: options.Workers = None,
    json: options.JsonLines = False,
    out: options.Out = None,
    force: options.Force = False,
    quiet: options.Quiet = False,
    debug: options.Debug = False,
    all_errors: options.AllErrors = False,
) -> int:
    """Judge a recorded isolated hold: leak, tight or undecided, and why.

    Exit code 0: tight. 1: a leak. 3: undecided, or no limit or rate. 2: a file is not usable. Of several records
    70, else 2, else 1, else 3, else 0.
    """
    if method:
        return _print_method()
    if not records:
        raise usage("RECORD", "no record", "simcal judge FILE.csv")
    _one_thread()
    if records[0].lower().endswith(".json"):
        if len(records) > 1 or any((about, together, following, patience, answers, sets, out)):
            raise usage("RECORD", "an earlier result together with other options", "result.json alone, or with --json")
        return again.compare(*rerun(records[0]), json)
    if following and any((together, answers, out)):
        raise usage("--follow", "together with --together, --answers or --out", "--follow alone, or with --json")
    if patience is not None and not following:
        raise usage("--patience", "without --follow", "simcal judge FILE.csv --follow --patience 60s")
    output.check_folder(out, force)
    questions = _questions(records, about, sets, together, seed)
    if following:
        return follow(questions, patience, json, debug, all_errors)
    outcomes = _outcomes(questions, workers, quiet)
    shown = _Shown(answers, json, several=len(questions) > 1, keep=out is not None)
    codes = [shown.one(asked, outcome, debug, all_errors) for asked, outcome in zip(questions, outcomes, strict=True)]
    shown.finish(seed)
    if out is not None and shown.kept:
        from simcal.show.judge_save import save_judged

        save_judged(shown.kept, out, force)
    return next(code for code in WORST_FIRST if code in codes)


def _print_method() -> int:
    from simcal.analysis.judge.method import METHOD

    output.say(METHOD)
    return errors.GOOD


def _one_thread() -> None:
    if "numpy" not in sys.modules:
        for name in ONE_THREAD:
            os.environ.setdefault(name, "1")


def _questions(
    records: Sequence[str], about: str | None, sets: Sequence[str] | None, together: bool, seed: int
) -> list[AskedJudge]:
    """One question for each record, or one for all of them together."""
    groups = [tuple(records)] if together else [(one,) for one in records]
    return [AskedJudge(group, about, tuple(sets or ()), together, seed) for group in groups]


def _outcomes(questions: Sequence[AskedJudge], workers: int | None, quiet: bool) -> "list[Judged | Exception]":
    """The answer to each question, or what went wrong with it, in order."""
    from simcal.files.about_file import load_about
    from simcal.run import on_terminal, run_many

    first = questions[0]
    given: About | None = None if first.about is None else load_about(first.about, first.set)

    def outcome(number: int) -> "Judged | Exception":
        try:
            return judged(questions[number], given)
        except errors.Interrupted:
            raise
        except Exception as error:
            return error

    with on_terminal(quiet) as progress:
        return run_many(outcome, len(questions), workers, progress and partial(progress, "judging"))


class _Shown:
    """Shows one answer after the other, and counts."""

    def __init__(self, answers: str | None, json: bool, several: bool, keep: bool) -> None:
        self.answers, self.json, self.several, self.keep = answers, json, several, keep
        self.verdicts: Counter[str] = Counter()
        self.marks: Counter[str] = Counter()
        self.kept: list[tuple[Judged, dict[str, Any]]] = []
        self.last: Judged | None = None

    def one(self, asked: AskedJudge, outcome: "Judged | Exception", debug: bool, every: bool) -> int:
        """Show an answer or its fault; the exit code of it."""
        from simcal.cli.guard import reported

        verdict: list[str | None] = []

        def work() -> None:
            if isinstance(outcome, Exception):
                raise outcome
            self._answer(asked, outcome)
            verdict.append(outcome.found.verdict)

        code = reported(work, self._unreadable(asked), debug=debug, every=every)
        if not verdict:
            self.verdicts["not readable"] += 1
            return code
        self.verdicts[verdict[0] or "no verdict"] += 1
        return CODES.get(verdict[0] or "", errors.UNDECIDED)

    def _unreadable(self, asked: AskedJudge) -> Callable[[str], None]:
        def tell(line: str) -> None:
            if self.json:
                from simcal.show.judge_json import unreadable_document

                names = [Path(one).name for one in asked.records]
                output.say(jsonlib.dumps(unreadable_document(" + ".join(names), line)) + "\n")

        return tell

    def _answer(self, asked: AskedJudge, answer: "Judged") -> None:
        mark = self._mark(asked, answer)
        self.last = answer
        if self.json or self.keep:
            from simcal.show.judge_json import judge_document

            marked = None if mark is None else mark.document()
            document = judge_document(answer, inputs_of(asked, answer), asked.arguments(), marked)
            if self.keep:
                self.kept.append((answer, document))
        if self.json:
            output.say(jsonlib.dumps(document, allow_nan=False) + "\n")
        else:
            output.say(self._text(answer, mark))

    def _mark(self, asked: AskedJudge, answer: "Judged") -> "Mark | None":
        if self.answers is None:
            return None
        from simcal.files.answers import mark, truth_of

        found = answer.found
        truth = truth_of(self.answers, asked.records[0])
        marked = mark(truth, found.verdict, found.low_mol_per_s, found.high_mol_per_s)
        self.marks[marked.mark] += 1
        return marked

    def _text(self, answer: "Judged", mark: "Mark | None") -> str:
        from simcal.show.judge_text import judge_sentence, judge_text, marked_line

        unicode = output.unicode_on_stdout()
        marked = "" if mark is None else marked_line(answer, mark, unicode)
        if not self.several:
            return judge_text(answer, marked, unicode)
        return f"{judge_sentence(answer, unicode)}{'; ' if marked else ''}{marked}\n"

    def finish(self, seed: int) -> None:
        """What is said once below several lines of text."""
        if self.json or not self.several or self.last is None:
            return
        from simcal.show.judge_text import tally

        output.say(tally(self.verdicts, self.marks, self.last, seed, output.unicode_on_stdout()))
