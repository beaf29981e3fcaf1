"""What a campaign leaves behind: counts, rates, seeds, versions, and the hash of the rooms it exercised."""

from __future__ import annotations

import hashlib
import json
import platform
import sys
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import grimp

HERE = Path(__file__).parent
PACKAGE = HERE.parents[1] / "simcal"
LIBRARIES = ("numpy", "scipy", "numba")


@cache
def exercised(entry: str) -> tuple[Path, ...]:
    """Sources of the package `entry` and of all it imports, however far down; gas tables too if it reads any."""
    graph = grimp.build_graph("simcal", cache_dir=None)
    modules = {entry} | graph.find_descendants(entry) | graph.find_upstream_modules(entry, as_package=True)
    found = set()
    for module in modules:
        place = PACKAGE.parent.joinpath(*module.split("."))
        found.add(place / "__init__.py" if place.is_dir() else place.with_suffix(".py"))
    if "simcal.tables.gas" in modules:
        found.update((PACKAGE / "tables").rglob("*.npz"))
    return tuple(sorted(found))


def rooms_hash(entry: str) -> str:
    """Sixteen digits that change with any source or table that the package `entry` exercises."""
    digest = hashlib.sha256()
    for path in exercised(entry):
        text = path.read_bytes() if path.suffix == ".npz" else path.read_text(encoding="utf-8").encode("utf-8")
        digest.update(path.relative_to(PACKAGE).as_posix().encode("utf-8") + b"\0" + text + b"\0")
    return digest.hexdigest()[:16]


def write(name: str, entry: str, found: dict[str, Any]) -> None:
    """Write tests/campaign/NAME.json, whole."""
    about = {
        "exercised": entry,
        "rooms": sorted({path.relative_to(PACKAGE).parts[0] for path in exercised(entry)}),
        "hash": rooms_hash(entry),
        "python": platform.python_version(),
        "libraries": {library: version(library) for library in LIBRARIES},
        "system": sys.platform,
    }
    path = HERE / f"{name}.json"
    part = path.with_suffix(".part")
    part.write_text(json.dumps({**about, **found}, indent=1) + "\n", encoding="utf-8")
    part.replace(path)


def read(name: str) -> dict[str, Any]:
    """What the last full campaign of that name left."""
    found: dict[str, Any] = json.loads((HERE / f"{name}.json").read_text(encoding="utf-8"))
    return found
