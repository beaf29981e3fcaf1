"""What a campaign leaves behind: counts, rates, seeds, versions, and the hash of the rooms it exercised."""

from __future__ import annotations

import hashlib
import json
import platform
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
PACKAGE = HERE.parents[1] / "simcal"
LIBRARIES = ("numpy", "scipy", "numba")


def rooms_hash(rooms: tuple[str, ...]) -> str:
    """Sixteen digits that change with any source or table of the named rooms."""
    digest = hashlib.sha256()
    for room in sorted(rooms):
        for path in sorted((PACKAGE / room).rglob("*")):
            if path.suffix in (".py", ".npz"):
                text = path.read_bytes() if path.suffix == ".npz" else path.read_text(encoding="utf-8").encode("utf-8")
                digest.update(path.relative_to(PACKAGE).as_posix().encode("utf-8") + b"\0" + text + b"\0")
    return digest.hexdigest()[:16]


def write(name: str, rooms: tuple[str, ...], found: dict[str, Any]) -> None:
    """Write tests/campaign/NAME.json, whole."""
    about = {
        "rooms": sorted(rooms),
        "hash": rooms_hash(rooms),
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
