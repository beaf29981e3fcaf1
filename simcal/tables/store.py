"""Files of gas tables: node values with derivatives, their source, and a hash that shows damage."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
import zlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcal.errors import SimcalError

DATA = Path(__file__).parent / "data"
NAMES = ("nitrogen", "air", "helium", "argon")
SCHEMA = "simcal/gas/1"


@dataclass(frozen=True)
class GasFile:
    """What a table file holds: node values with derivatives and where they come from.

    meta: gas, library, library_version, fluid, source and notes; nodes [n_rho, n_s, 5, 4] = f, f_rho, f_s,
    f_rho_s. Units as in GasTable.
    """

    molar_mass: float
    gamma0: float
    rho_max: float
    T_min: float
    T_max: float
    p_max: float
    nodes: NDArray[np.float64]
    meta: dict[str, Any] = field(default_factory=dict)


_NUMBERS = ("molar_mass", "gamma0", "rho_max", "T_min", "T_max", "p_max")


def _digest(nodes: NDArray[np.float64], numbers: NDArray[np.float64]) -> str:
    return hashlib.sha256(nodes.astype("<f8").tobytes() + numbers.astype("<f8").tobytes()).hexdigest()


def write_table(file: GasFile) -> bytes:
    """The bytes of a table file (.npz) with its schema and the hash of its numbers."""
    numbers = np.array([getattr(file, name) for name in _NUMBERS])
    meta = {**file.meta, "schema": SCHEMA, "sha256": _digest(file.nodes, numbers)}
    text = np.frombuffer(json.dumps(meta).encode("utf-8"), dtype=np.uint8)
    out = io.BytesIO()
    np.savez_compressed(out, nodes=file.nodes, numbers=numbers, meta=text)
    return out.getvalue()


def read_table(path: Path) -> GasFile:
    """Read a table file; raises SimcalError when it is damaged or of another kind."""
    try:
        with np.load(path, allow_pickle=False) as data:
            nodes, numbers = data["nodes"], data["numbers"]
            meta = json.loads(data["meta"].tobytes().decode("utf-8"))
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error) as fault:
        kind = type(fault).__name__
        raise SimcalError(f"{path.name}: gas table cannot be read ({kind}); reinstall simcal") from fault
    if meta.get("schema") != SCHEMA or meta.get("sha256") != _digest(nodes, numbers):
        raise SimcalError(f"{path.name}: gas table is damaged or of another version; reinstall simcal")
    return GasFile(meta=meta, nodes=nodes, **dict(zip(_NUMBERS, numbers.tolist(), strict=True)))
