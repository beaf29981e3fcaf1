"""The shipped files of the invented laboratory: what there is, and a copy of one."""

import os
import shutil
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simcal.bench.lab import SCHEMA as LAB
from simcal.errors import InputError
from simcal.files.faults import did_you_mean

CLASS, ANSWERS = "class", "class-answers"
"""The folders of records for a class and of the answers to them."""
CLASS_LINE = (
    "Six unlabelled records of holds to be judged blind, and their answers in a folder of their own: "
    "`simcal judge class/*.csv --answers class-answers`."
)


@dataclass(frozen=True)
class Example:
    """One shipped file: its name without ".toml", what kind of file it is, and its first line of comment.

    The class is a folder.
    """

    name: str
    kind: str
    line: str
    path: Path


def folder() -> Path:
    """Where the shipped files lie: inside an installed package, or beside the package in a checkout.

    Raises:
        InputError: when neither is there.
    """
    package = Path(__file__).resolve().parents[1]
    for place in (package / "_configs", package.parent / "configs"):
        if place.is_dir():
            return place
    raise InputError("", "", "the shipped files are not there", "install simcal-engine again")


def examples(place: Path | None = None) -> list[Example]:
    """Every shipped file that states what it is, by name, and the class last."""
    place = place or folder()
    found = [_example(path) for path in sorted(place.glob("*.toml"))]
    records = [Example(CLASS, CLASS, CLASS_LINE, place / CLASS)] if (place / CLASS).is_dir() else []
    return [*(one for one in found if one is not None), *records]


def copy_example(name: str, target: str | Path, place: Path | None = None) -> list[Path]:
    """Copy one shipped file with what it includes and the record it is about; all or none, never over a file.

    Raises:
        InputError: for a name that is not known, a target that is no folder, a file that is already there.
    """
    place = place or folder()
    known = {one.name: one for one in examples(place)}
    one = known.get(name.removesuffix(".toml"))
    if one is None:
        raise InputError("command line", "NAME", f'no example "{name}"', did_you_mean(name, known))
    target = Path(target)
    if not target.is_dir():
        raise InputError(str(target), "", "is no folder", "a folder that exists")
    sources = [one.path, place / ANSWERS] if one.kind == CLASS else _with_includes(one.path)
    for source in sources:
        if os.path.lexists(target / source.name):
            raise InputError(str(target / source.name), "", "is already there", "another folder, or move it away")
    return _copied(sources, target)


def _example(path: Path) -> Example | None:
    text = path.read_text(encoding="utf-8")
    schema = tomllib.loads(text).get("schema")
    if not isinstance(schema, str) or schema.count("/") != 2:
        return None
    first = next((line.lstrip("# ") for line in text.splitlines() if line.startswith("#")), "")
    return Example(path.stem, schema.split("/")[1], first, path)


def _with_includes(path: Path) -> list[Path]:
    """A file and what goes with it: what it includes, the tables and benches of a LAB, the record it is about."""
    found, todo = [path], [path]
    while todo:
        data = tomllib.loads(todo.pop().read_text(encoding="utf-8"))
        for name in [*data.get("include", []), *_benches(data)]:
            inner = path.parent / name
            if inner not in found:
                found.append(inner)
                todo.append(inner)
        tables = [path.parent / data[key] for key in ("workload", "candidates") if key in data]
        found += [table for table in tables if table not in found]
    record = path.with_suffix(".csv")
    return [*found, record] if record.is_file() else found


def _benches(data: dict[str, Any]) -> list[str]:
    """Bench files that a LAB names."""
    if data.get("schema") != LAB:
        return []
    seal = data.get("year", {}).get("exchange", {}).get("file")
    return [*(one["file"] for one in data.get("bench", {}).values()), *([seal] if seal else [])]


def _copied(sources: list[Path], target: Path) -> list[Path]:
    """Write all under temporary names, then give each its name; undone when one fails."""
    made: list[Path] = []
    try:
        with tempfile.TemporaryDirectory(dir=target, prefix=".simcal-") as room:
            for source in sources:
                whole = Path(room) / source.name
                if source.is_dir():
                    shutil.copytree(source, whole, copy_function=shutil.copyfile)
                else:
                    whole.write_bytes(source.read_bytes())
            for source in sources:
                final = target / source.name
                _move(Path(room) / source.name, final)
                made.append(final)
    except OSError as error:
        for path in made:
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
        what = error.strerror or str(error)
        raise InputError(str(target), "", f"cannot be written to ({what})", "another folder") from None
    return made


def _move(whole: Path, final: Path) -> None:
    """Give a complete file or folder its name; never over a file that appeared meanwhile."""
    if whole.is_dir():
        whole.rename(final)
        return
    try:
        os.link(whole, final)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        with final.open("xb") as file:
            file.write(whole.read_bytes())
