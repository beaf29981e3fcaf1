"""A file with its includes and the user's `--set`, merged; each key knows where it came from."""

import hashlib
import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from simcal.errors import InputError
from simcal.files.faults import Report, did_you_mean
from simcal.files.source import parse_toml, read_toml_text
from simcal.units import clip

SETS = "--set"
"""The origin of what the command line set."""
_MOST_FILES = 20
_NAME = re.compile(r"[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*")


class Gathered:
    """The merged table of a file and its includes, the text and hash of each, and the faults."""

    def __init__(self, file: str) -> None:
        self.data: dict[str, Any] = {}
        self.texts: dict[str, str] = {}
        self.report = Report(file)

    @property
    def hashes(self) -> dict[str, str]:
        """SHA-256 of each text as UTF-8."""
        return {name: hashlib.sha256(text.encode("utf-8")).hexdigest() for name, text in self.texts.items()}


def gather(path: str | Path, sets: Sequence[str] = (), texts: Mapping[str, str] | None = None) -> Gathered:
    """Read a file, what it includes, and apply `KEY=VALUE` texts.

    Args:
        path: as the user wrote it; faults show it so.
        sets: `--set` texts, applied last.
        texts: name -> text; when given, nothing is read from disk.

    Raises:
        InputError: for what cannot be read at all; other faults stand in the report.
    """
    gathered = Gathered(str(path))
    _take(gathered, Path(path), str(path), Path(path).parent, (), texts)
    for one in sets:
        _apply(gathered, one)
    return gathered


def _take(
    gathered: Gathered,
    path: Path,
    shown: str,
    root: Path,
    above: tuple[str, ...],
    texts: Mapping[str, str] | None,
) -> None:
    name = _name(path, root)
    if name in gathered.texts:
        return
    if len(gathered.texts) >= _MOST_FILES:
        raise InputError(shown, "include", f"more than {_MOST_FILES} files", "fewer includes")
    text = read_toml_text(path, shown) if texts is None else _given(texts, name, shown)
    gathered.texts[name] = text
    data = parse_toml(text, shown)
    included = data.pop("include", [])
    if above and data.get("schema") == gathered.data.get("schema"):
        data.pop("schema", None)
    _merge(gathered, gathered.data, data, "", shown)
    for one in _list(gathered, included, shown):
        inner = path.parent / one
        way = (*above, name)
        if _name(inner, root) in way:
            loop = " -> ".join([*way, _name(inner, root)])
            raise InputError(shown, "include", f"{clip(one)} leads back to itself", f"leave out {loop}")
        _take(gathered, inner, str(inner), root, way, texts)


def _given(texts: Mapping[str, str], name: str, shown: str) -> str:
    if name not in texts:
        raise InputError(shown, "", "its text is not among the recorded inputs", "a complete result")
    return texts[name]


def _list(gathered: Gathered, included: Any, shown: str) -> list[str]:
    good = isinstance(included, list) and all(isinstance(one, str) and one for one in included)
    if good:
        return included
    gathered.report.faults.append(
        InputError(shown, "include", "is not a list of file names", 'include = ["devices.toml"]')
    )
    return []


def _name(path: Path, root: Path) -> str:
    """A file's name relative to the folder of the first file, with forward slashes."""
    try:
        return Path(os.path.relpath(path, root)).as_posix()
    except ValueError:  # another drive, or a path with a null character
        return path.name


def _merge(gathered: Gathered, into: dict[str, Any], data: dict[str, Any], place: str, shown: str) -> None:
    """Put `data` into `into`; tables merge, a key that stands in two files is a fault."""
    origin = gathered.report.origin
    for name, value in data.items():
        inner = f"{place}.{name}" if place else name
        if name not in into:
            into[name] = {} if isinstance(value, dict) else value
            origin[inner] = shown
        if isinstance(value, dict) and isinstance(into[name], dict):
            _merge(gathered, into[name], value, inner, shown)
        elif origin.get(inner, shown) != shown:
            gathered.report.faults.append(
                InputError(shown, inner, f"also in {origin[inner]}", "state it once, or override it with --set")
            )


def _apply(gathered: Gathered, text: str) -> None:
    """One `--set volume.port.capacity=50 cm3`."""
    dotted, mark, value = text.partition("=")
    dotted = dotted.strip()
    if not mark or not _NAME.fullmatch(dotted):
        right = "--set volume.port.capacity='50 cm3'"
        raise InputError("command line", SETS, f"{clip(text)} is not KEY=VALUE", right)
    *path, last = dotted.split(".")
    table: Any = gathered.data
    for depth, name in enumerate(path):
        if name not in table and depth == 1:
            right = (
                did_you_mean(name, table) if table else f"--set changes what a file has: add [{path[0]}.{name}] there"
            )
            raise InputError("command line", f"{SETS} {dotted}", f"there is no [{path[0]}.{name}]", right)
        table = table.setdefault(name, {})
        if not isinstance(table, dict):
            raise InputError("command line", f"{SETS} {dotted}", f"{name} is not a table", "a key of a table")
    table[last] = _toml_or_text(value.strip())
    gathered.report.origin[dotted] = SETS


def _toml_or_text(value: str) -> Any:
    """A TOML value if the text is one, else the text itself."""
    if "\n" in value or len(value) > 2000:
        return value
    try:
        data = tomllib.loads(f"x = {value}")
    except (tomllib.TOMLDecodeError, RecursionError, OverflowError, ValueError):
        return value
    return data["x"] if list(data) == ["x"] else value
