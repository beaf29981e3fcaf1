"""What `simcal judge` was asked, and the work of it: read, judge, document; from disk or from an earlier result."""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from simcal.cli import again
from simcal.cli.asked import checked_seed, usage
from simcal.errors import InputError

if TYPE_CHECKING:
    from simcal.bench.about import About
    from simcal.bench.record import Record
    from simcal.show.judge_units import Judged

SCHEMA = "simcal/judge/1"
KINDS: again.Kinds = {
    "records": (list,),
    "about": again.OPTIONAL,
    "set": (list,),
    "together": (bool,),
    "seed": (int,),
}
SAME = ("hold_set", "gas", "capacity", "wall", "permitted_leak")
"""What holds that are judged together must agree on."""


@dataclass(frozen=True)
class AskedJudge:
    """One question: one record, or several judged together."""

    records: tuple[str, ...]
    about: str | None = None
    set: tuple[str, ...] = ()
    together: bool = False
    seed: int = 1

    def __post_init__(self) -> None:
        checked_seed(self.seed)

    def arguments(self) -> dict[str, Any]:
        """For result.json: the same with the files' names alone."""
        about = None if self.about is None else Path(self.about).name
        names = [Path(one).name for one in self.records]
        return {"records": names, "about": about, "set": list(self.set), "together": self.together, "seed": self.seed}


def judged(asked: AskedJudge, given: "About | None") -> "Judged":
    """The answer from the files on disk; `given` is the about-file of --about, already read.

    Raises:
        InputError: a file cannot be read or judged, or the files do not go together.
    """
    from simcal.files.records.reader import read_record

    abouts = [given or _beside(path, asked.set) for path in asked.records]
    holds = [(read_record(path, about), about) for path, about in zip(asked.records, abouts, strict=True)]
    return _judged(asked, holds)


def about_of(asked: AskedJudge) -> "About":
    """What is said of the first record asked about."""
    from simcal.files.about_file import load_about

    return _beside(asked.records[0], asked.set) if asked.about is None else load_about(asked.about, asked.set)


def _beside(path: str, sets: Sequence[str]) -> "About":
    """The about-file beside a record; where there is none, one that says nothing, under the name it would have."""
    from simcal.files.records.reader import about_of

    about = about_of(path, sets=tuple(sets))
    return about if about.file else dataclasses.replace(about, file=f"{Path(path).stem}.toml", texts={})


def _judged(asked: AskedJudge, holds: "Sequence[tuple[Record, About]]") -> "Judged":
    from simcal.analysis.judge import judge, judge_together
    from simcal.show.judge_units import Judged

    if asked.together:
        _check_one_set(holds)
    found = judge_together(holds) if asked.together else judge(*holds[0])
    return Judged(found, tuple(record for record, _ in holds), tuple(about for _, about in holds), asked.seed)


def _check_one_set(holds: "Sequence[tuple[Record, About]]") -> None:
    """Refuse holds that are not said to be of one vessel."""
    if len(holds) < 2:
        raise usage("--together", "one record", "two or more of one hold_set")
    names = [record.name for record, _ in holds]
    twice = [name for name in names if names.count(name) > 1]
    if twice:
        raise usage("RECORD", f"two records are called {twice[0]}", "names that differ")
    first_record, first = holds[0]
    if first.hold_set is None:
        right = f'hold_set = "A" in the about-file of each of {", ".join(names)}'
        raise InputError(first.file, "hold_set", "missing", right)
    for record, about in holds[1:]:
        for key in SAME:
            here, there = getattr(about, key), getattr(first, key)
            if here != there:
                found = f"{_said(here)} for {record.name}, but {_said(there)} for {first_record.name}"
                raise InputError(about.file, key, found, "holds of one vessel, or each record judged alone")


def _said(value: object) -> str:
    from simcal.bench.about import AMOUNT, PermittedLeak

    if isinstance(value, PermittedLeak):
        return f"{value.value:.6g} {'mol/s' if value.form == AMOUNT else 'Pa/s'}"
    return "not stated" if value is None else f'"{value}"' if isinstance(value, str) else f"{value}"


def inputs_of(asked: AskedJudge, answer: "Judged") -> dict[str, Any]:
    """Text and hash of every about-file and record that was read."""
    from simcal.files.records.kept import keep
    from simcal.show.jsonout import hash_of

    kept: dict[str, Any] = {}
    for about in answer.abouts:
        for name, text in about.texts.items():
            entry = {"sha256": hash_of(text), "text": text}
            if kept.setdefault(name, entry) != entry:
                raise usage("RECORD", f"two different files are called {name}", "names that differ")
    for path in asked.records:
        kept[Path(path).name] = keep(Path(path))
    return kept


def rerun(path: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """The document of an earlier result and the one that its inputs give now.

    Raises:
        InputError: the file is no complete result of `judge`.
    """
    from simcal.show.judge_json import judge_document

    before = {**again.read(path, SCHEMA), "answer": None}
    known = again.arguments_of(before, path, KINDS)
    names = known["records"]
    if not names or not all(isinstance(name, str) for name in names):
        raise InputError(path, "arguments.records", repr(names)[:80], "what simcal wrote there")
    asked = AskedJudge(**{**known, "records": tuple(names)})
    holds = [_hold_again(before, path, asked, name) for name in asked.records]
    return before, judge_document(_judged(asked, holds), before["inputs"], asked.arguments())


def _hold_again(before: dict[str, Any], path: str, asked: AskedJudge, name: str) -> "tuple[Record, About]":
    """A record and its about-file as they are kept in a result."""
    from simcal.files.about_file import load_about
    from simcal.files.records.kept import kept
    from simcal.files.records.reader import read_record

    inputs = before.get("inputs")
    if not isinstance(inputs, dict) or not isinstance(inputs.get(name), dict):
        raise InputError(path, f"inputs.{name}", "absent", "a complete result")
    abouts = {one: entry for one, entry in inputs.items() if one not in asked.records}
    texts = again.texts_of({"inputs": abouts}, path)
    file = asked.about or f"{Path(name).stem}.toml"
    about = load_about(file, asked.set, texts={file: "", **texts})
    if file not in texts:
        about = dataclasses.replace(about, texts={})
    return read_record(name, about, raw=kept(inputs[name], name, path, Path(path).parent)), about
