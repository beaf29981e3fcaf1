"""Known answers to records: DIR/NAME.json for NAME.csv, as `simcal hold` writes its result, and marks against them."""

import json
import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from simcal.errors import InputError
from simcal.files.source import read_text

LARGEST = 64 * 2**20
LEAK, TIGHT = "leak", "tight"
RIGHT, WRONG, UNDECIDED, NONE = "right", "wrong", "undecided", "not judged"


@dataclass(frozen=True)
class Truth:
    """What is true of a record: net flow out and limit, mol/s, at the watch's mean pressure."""

    leak_mol_per_s: float
    permitted_mol_per_s: float

    @property
    def verdict(self) -> str:
        """What a perfect judge would say."""
        return LEAK if abs(self.leak_mol_per_s) > self.permitted_mol_per_s else TIGHT


@dataclass(frozen=True)
class Mark:
    """A verdict against the truth: right, wrong, undecided, or not judged; and whether the interval holds the rate."""

    mark: str
    verdict: str
    leak_mol_per_s: float
    permitted_mol_per_s: float
    inside: bool | None

    def document(self) -> dict[str, Any]:
        """The same for a JSON document."""
        return asdict(self)


def mark(truth: Truth, verdict: str | None, low: float | None, high: float | None) -> Mark:
    """Mark a verdict and its interval, mol/s."""
    said = NONE if verdict is None else RIGHT if verdict == truth.verdict else WRONG
    if verdict == "undecided":
        said = UNDECIDED
    inside = None if low is None or high is None else low <= truth.leak_mol_per_s <= high
    return Mark(said, truth.verdict, truth.leak_mol_per_s, truth.permitted_mol_per_s, inside)


def truth_of(folder: str | Path, record: str) -> Truth:
    """The known answer to a record.

    Raises:
        InputError: there is none, or it is no answer.
    """
    path = Path(folder) / f"{Path(record).stem}.json"
    shown = str(path)
    if not Path(folder).is_dir():
        raise InputError(str(folder), "", "is no folder", "a folder that holds NAME.json for each NAME.csv")
    if not path.is_file():
        raise InputError(shown, "", "no such answer", "a folder that holds NAME.json for each NAME.csv")
    try:
        document = json.loads(read_text(path, shown, LARGEST))
    except (ValueError, RecursionError) as error:
        raise InputError(shown, "", f"cannot be read ({error})", "JSON with a table `truth`") from None
    truth = document.get("truth") if isinstance(document, Mapping) else None
    if not isinstance(truth, Mapping):
        raise InputError(shown, "truth", "missing", 'truth = {"leak_mol_per_s": ..., "permitted_mol_per_s": ...}')
    return Truth(*(_number(truth, key, shown) for key in ("leak_mol_per_s", "permitted_mol_per_s")))


def _number(truth: Mapping[str, Any], key: str, shown: str) -> float:
    value = truth.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise InputError(shown, f"truth.{key}", repr(value)[:60], "a number in mol/s")
    return float(value)
