"""The answer of `hold` as a JSON document of schema simcal/hold/1."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from simcal.analysis.hold.result import HoldResult
from simcal.bench.bench import Bench
from simcal.show.hold_text import hold_cautions, hold_sentence
from simcal.show.jsonout import clean, inputs_of

SCHEMA = "simcal/hold/1"


def hold_document(result: HoldResult, bench: Bench, arguments: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """The whole answer, ready for `json.dumps(..., allow_nan=False)`; arguments: what it was asked with."""
    reasons: dict[str, str] = {}
    if result.truth.permitted_mol_per_s is None:
        reasons["truth.permitted_mol_per_s"] = "no permitted leak was given"
    plan = asdict(result.plan)
    document = {
        "schema": SCHEMA,
        "version": result.version,
        "seed": result.seed,
        "sentence": hold_sentence(result, bench),
        "bench": result.bench,
        "gas": bench.gas,
        "barometer_Pa": bench.room.barometer,
        "came_from_Pa": plan.pop("start_Pa"),
        **plan,
        "reading": result.reading,
        "moved_in_s": result.moved_in_s,
        "isolated_at_s": result.isolated_at_s,
        "watch_from_s": result.watch_from_s,
        "watch_until_s": result.watch_until_s,
        "highest_Pa": result.highest_Pa,
        "stored_energy_J": result.stored_energy_J,
        "stored_energy_method": result.stored_energy_method,
        "truth": dict(vars(result.truth)),
        "notes": list(result.notes),
        "assumed": [{"key": a.key, "value": str(a.value), "why": a.why} for a in result.assumed],
        "cautions": list(hold_cautions(result, bench)),
        "inputs": inputs_of(bench),
        "arguments": dict(arguments or {}),
    }
    cleaned: dict[str, Any] = clean(document, "", reasons)
    cleaned["reasons"] = reasons
    return cleaned
