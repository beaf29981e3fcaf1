"""`simcal judge --follow`: each record looked at as if it were still going on, up to the first look that decides."""

import json as jsonlib
from collections.abc import Sequence
from pathlib import Path

from simcal import errors
from simcal.cli import output
from simcal.cli.guard import reported
from simcal.cli.judging import AskedJudge, about_of
from simcal.cli.read import WORST_FIRST

CODES = {"leak": errors.BAD_NEWS, "tight": errors.GOOD}
"""Of a verdict; any other is undecided."""


def follow(questions: Sequence[AskedJudge], json: bool, debug: bool, every: bool) -> int:
    """Follow each record; the exit code of all."""
    codes = [_one(asked, json, debug, every) for asked in questions]
    return next(code for code in WORST_FIRST if code in codes)


def _one(asked: AskedJudge, json: bool, debug: bool, every: bool) -> int:
    verdicts: list[str] = []

    def work() -> None:
        verdicts.append(_shown(asked, json))

    def unreadable(line: str) -> None:
        if json:
            output.say(jsonlib.dumps({"record": Path(asked.records[0]).name, "error": line}) + "\n")

    code = reported(work, unreadable, debug=debug, every=every)
    return CODES.get(verdicts[0], errors.UNDECIDED) if verdicts else code


def _shown(asked: AskedJudge, json: bool) -> str:
    """Show the looks at one record; the verdict of the last."""
    from simcal.analysis.judge import follow
    from simcal.files.records.reader import read_record
    from simcal.show.follow_text import follow_document, follow_text

    about = about_of(asked)
    record = read_record(asked.records[0], about)
    looks = list(follow(record, about))
    if json:
        output.say(jsonlib.dumps(follow_document(record, looks, asked.seed), allow_nan=False) + "\n")
    else:
        output.say(follow_text(record, looks, asked.seed, unicode=output.unicode_on_stdout()))
    return looks[-1].verdict
