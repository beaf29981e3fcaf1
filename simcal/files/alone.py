"""A file of another kind than the one wanted: said in one line instead of one fault for each thing that is off."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from simcal.bench import about, bench, lab
from simcal.bench.bench import Bench
from simcal.bench.meta import Key, keys_of
from simcal.errors import InputError
from simcal.files.source import LARGEST

_FEW = 3
"""A file without `schema` that lacks fewer of the required tables is a bench with faults, and gets them one by one."""
_MOST_FILES = 200
_KIND = {
    bench.SCHEMA: ("a bench file", "`simcal settle` and `simcal hold` take one"),
    about.SCHEMA: (
        "an about-file, what is said of a record",
        "it lies beside NAME.csv as NAME.toml or is named by --about",
    ),
    lab.SCHEMA: ("a LAB file, what a laboratory calibrates and with what", "`simcal cover` and `simcal year` take one"),
}


def refuse_other(data: Mapping[str, Any], shown: str, wanted: str) -> None:
    """Refuse a file whose `schema` says that it is another kind of file of ours.

    Args:
        data: the merged tables.
        shown: the file as the user wrote it.
        wanted: the schema that belongs here.

    Raises:
        InputError: naming the kind it is, where that goes, and the kind that is wanted.
    """
    stated = data.get("schema")
    if isinstance(stated, str) and stated != wanted and stated in _KIND:
        kind, goes = _KIND[stated]
        raise InputError(shown, "schema", f'"{stated}" is {kind}', f'{goes}; here "{wanted}" is wanted')


def refuse_part(data: Mapping[str, Any], path: Path, shown: str, on_disk: bool) -> None:
    """Refuse what is meant to be included by a bench and was given as one.

    Args:
        data: the merged tables.
        path: the file, beside which the bench that includes it is looked for when `on_disk`.
        shown: the file as the user wrote it.

    Raises:
        InputError: naming what the file lacks, what a bench needs, and who includes it.
    """
    needed = {name: _shown(name, meta) for name, (_, meta) in keys_of(Bench).items() if meta.required}
    lacking = [text for name, text in needed.items() if name not in data]
    if not data or "schema" in data or len(lacking) < _FEW:
        return
    owner = _including(path) if on_disk else ""
    meant = f"run {owner}, which includes it" if owner else "run a bench that includes it"
    found = f"is no bench by itself, it has no {', '.join(lacking)}"
    raise InputError(shown, "", found, f"{meant}; a bench has {', '.join(needed.values())}")


def _shown(name: str, meta: Key) -> str:
    return {"table": f"[{name}]", "tables": f"[{name}.NAME]"}.get(meta.kind, name)


def _including(path: Path) -> str:
    """The first file of the same folder that includes this one; "" when none does."""
    for other in sorted(path.parent.glob("*.toml"))[:_MOST_FILES]:
        try:
            if other.stat().st_size > LARGEST:
                continue
            included = tomllib.loads(other.read_text(encoding="utf-8")).get("include", [])
        except (OSError, ValueError, RecursionError):
            continue
        if isinstance(included, list) and path.name in included:
            return other.name
    return ""
