"""`simcal judge --follow`: a record looked at while it grows, one line a look, up to the first look that decides.

A file is finished, and is gone through without waiting, when its rows reach `watch_until` or nothing has come for the
time of --patience, which for a file at rest counts from its last change. Input is finished when it is closed, too.
"""

import json as jsonlib
import logging
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from simcal import errors
from simcal.cli import output
from simcal.cli.asked import time_of, usage
from simcal.cli.guard import reported
from simcal.cli.judging import AskedJudge, about_of
from simcal.cli.read import WORST_FIRST
from simcal.errors import InputError

if TYPE_CHECKING:
    from simcal.analysis.judge import Following, Look
    from simcal.bench.about import About
    from simcal.bench.record import Record
    from simcal.files.records.growing import Growing
    from simcal.show.follow_text import Shown

CODES = {"leak": errors.BAD_NEWS, "tight": errors.GOOD}
"""Of a verdict; any other is undecided."""
INPUT, INPUT_NAME = "-", "standard input"
PATIENCE_S, PATIENCE_ROWS = 30.0, 5.0
"""Where nobody said: after so long, or so many of the record's own steps, without a row it is finished."""
POLL_S, IDLE = 0.2, 4.0
"""Pause between two looks at a file's size; and pause over the time that reading it took, so that it stays cheap."""
SURE = 50
"""Lines from which on a fault in reading is one, and not the beginning of a file."""
DECIDED, WATCHED, STOPPED, CLOSED, INTERRUPTED = "decided", "watch_until", "no more rows", "end of input", "interrupted"
log = logging.getLogger("simcal")


def follow(questions: Sequence[AskedJudge], patience: str | None, json: bool, debug: bool, every: bool) -> int:
    """Follow one record after the other; the exit code of all."""
    patience_s = None if patience is None else time_of("--patience", patience)
    names = [name for asked in questions for name in asked.records]
    if INPUT in names and len(names) > 1:
        raise usage("RECORD", "standard input together with other records", "- alone")
    codes = [_One(asked, patience_s, json).code(debug, every) for asked in questions]
    return next(code for code in WORST_FIRST if code in codes)


@dataclass
class _One:
    """One record that is followed."""

    asked: AskedJudge
    patience_s: float | None
    json: bool

    def __post_init__(self) -> None:
        self.looks: list[Look] = []
        self.ended = STOPPED
        self.rows_s = 0.0  # the record's own step
        self.path = self.asked.records[0]
        self.name = INPUT_NAME if self.path == INPUT else self.path

    def code(self, debug: bool, every: bool) -> int:
        """Follow it; its exit code."""
        code = reported(self._work, self._unreadable, debug=debug, every=every)
        return CODES.get(self.looks[-1].verdict, errors.UNDECIDED) if code == errors.GOOD else code

    def _unreadable(self, line: str) -> None:
        if self.json:
            output.say(jsonlib.dumps({"record": Path(self.name).name, "error": line}) + "\n")

    def _work(self) -> None:
        from simcal.analysis.judge import Following
        from simcal.show.follow_text import Shown

        about = self._about()
        try:
            following = Following(about)
        except InputError:
            if self.path != INPUT and not Path(self.path).exists():  # a name mistyped has no about-file either
                raise InputError(self.path, "", "no such file", "the name of a logger's file") from None
            raise
        shown = Shown(Path(self.name).name, self.asked.seed, output.unicode_on_stdout())
        try:
            self._follow(self._source(), following, about, shown)
        except KeyboardInterrupt:
            self.ended = INTERRUPTED
            if self.looks:
                self._finish(shown)
            raise
        self._finish(shown)

    def _about(self) -> "About":
        if self.path == INPUT and self.asked.about is None:
            raise usage("--about", "missing", "what is said of the rows that come: --about ABOUT.toml")
        return about_of(self.asked)

    def _source(self) -> "Growing":
        from simcal.files.records.growing import GrowingFile, GrowingInput

        if self.path != INPUT:
            return GrowingFile(Path(self.path), self.path)
        try:
            return GrowingInput(sys.stdin.fileno(), self.name)
        except (AttributeError, OSError, ValueError):
            raise InputError(self.name, "", "is closed", "rows that come through it") from None

    def _follow(self, source: "Growing", following: "Following", about: "About", shown: "Shown") -> None:
        """Look whenever rows allow one, until something ends it."""
        wait, told = 0.0, False
        while True:
            came = source.take(wait)
            over = source.closed or source.quiet_s() >= self._patience()
            wait = POLL_S
            if came or over:
                began = time.monotonic()
                record = self._record(source, about, over)
                wait = max(POLL_S, IDLE * (time.monotonic() - began))
                if record is not None and self._looked(following, record, shown, over):
                    return
            if over:
                self.ended = CLOSED if source.closed else STOPPED
                return
            if not told and self.path != INPUT:
                told = True
                log.warning("%s", self._waiting(bool(source.raw)))

    def _patience(self) -> float:
        if self.patience_s is not None:
            return self.patience_s
        return max(PATIENCE_S, PATIENCE_ROWS * self.rows_s)

    def _waiting(self, there: bool) -> str:
        what = "more rows of" if there else "rows of"
        return f"waiting for {what} {self.name}, {self._patience():g} s at most; --patience 0s takes it as it is"

    def _record(self, source: "Growing", about: "About", over: bool) -> "Record | None":
        """The record as far as its whole lines go; None where they make none as yet."""
        from simcal.files.records.growing import whole_lines
        from simcal.files.records.reader import read_record

        if over and not source.raw and self.path != INPUT:
            return read_record(self.path, about)  # says that there is none, or what it is
        encoding = about.form.encoding if about.form is not None else None
        raw = bytes(source.raw) if over else whole_lines(source.raw, encoding)
        try:
            record = read_record(self.name, about, raw=raw)
        except InputError:
            if over or raw.count(b"\n") >= SURE:
                raise
            return None
        self.rows_s = float(record.time_s[-1] - record.time_s[0]) / max(len(record.time_s) - 1, 1)
        return record

    def _looked(self, following: "Following", record: "Record", shown: "Shown", over: bool) -> bool:
        """Take and show the looks that are due; whether that ends it."""
        for found in following.more(record, finished=over):
            self.looks.append(found)
            read = output.say(shown.update(self.looks, self.json))
            if found.verdict in CODES:
                self.ended = DECIDED
                return True
            if not read:
                return True
        if following.ended(record):
            self.ended = WATCHED
            return True
        return False

    def _finish(self, shown: "Shown") -> None:
        output.say(shown.end(self.looks, self.ended, self.json))
