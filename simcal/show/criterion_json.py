"""The answer of `criterion` as a JSON document of schema simcal/criterion/1."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from simcal.analysis.criterion import CriterionResult
from simcal.analysis.criterion.verify import Risk
from simcal.bench.bench import Bench
from simcal.show.criterion_text import USUAL, about_block, criterion_cautions, criterion_sentence, procedure
from simcal.show.jsonout import clean, hash_of, inputs_of

SCHEMA = "simcal/criterion/1"
WITHOUT = "there is no criterion"


def criterion_document(
    result: CriterionResult, bench: Bench, arguments: Mapping[str, Any] | None = None, shop: str = USUAL,
    texts: Mapping[str, str] | None = None,
) -> dict[str, Any]:  # fmt: skip
    """The whole answer, ready for `json.dumps(..., allow_nan=False)`; texts: of further files that were read."""
    reasons: dict[str, str] = {}
    asked, there = result.asked, result.soak_s is not None
    new = there and not result.explained
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "version": result.version,
        "seed": asked.seed,
        "sentence": criterion_sentence(result, bench, shop),
        "bench": result.bench,
        "gas": bench.gas,
        "barometer_Pa": bench.room.barometer,
        "pressure_Pa": result.pressure_Pa,
        "came_from_Pa": result.came_from_Pa,
        "direction": asked.direction,
        "permitted_mol_per_s": result.permitted_mol_per_s,
        "healthy_mol_per_s": result.healthy_mol_per_s,
        "leak_law": result.law,
        "asked_false_alarm": asked.false_alarm,
        "asked_miss": asked.miss,
        "explained": result.explained,
        "feasible": result.feasible,
        "reason": result.reason or None,
        "soak_s": result.soak_s,
        "wait_s": result.wait_s,
        "watch_s": result.watch_s,
        "total_s": result.total_s,
        "allowed_drop_Pa": result.allowed_drop_Pa,
        "allowed_rise_Pa": result.allowed_rise_Pa,
        "compare": asdict(result.compare),
        **_risk("false_alarm", result.false_alarm),
        **_risk("miss", result.miss),
        "benches": asked.benches,
        "runs": asked.runs,
        "curve": [vars(one) for one in result.curve],
        "changes_Pa": dict(result.changes_Pa),
        "worst": None if result.worst is None else dict(vars(result.worst)),
        "valid_for": None if result.valid_for is None else dict(vars(result.valid_for)),
        "decision": None if result.decision is None else dict(vars(result.decision)),
        "catches": None if result.catches is None else dict(vars(result.catches)),
        "caught": [vars(one) for one in result.caught],
        "cures": [vars(one) for one in result.cures],
        "checked_Pa": result.checked_Pa,
        "procedure": procedure(result, bench) if new else None,
        "about": about_block(result) if new else None,
        "moved_in_s": result.moved_in_s,
        "highest_Pa": result.highest_Pa,
        "stored_energy_J": result.stored_energy_J,
        "stored_energy_method": result.stored_energy_method,
        "notes": list(result.notes),
        "assumed": [{"key": a.key, "value": str(a.value), "why": a.why} for a in result.assumed],
        "cautions": list(criterion_cautions(result, bench)),
        "inputs": {
            **inputs_of(bench), **{name: {"sha256": hash_of(t), "text": t} for name, t in (texts or {}).items()}
        },
        "arguments": dict(arguments or {}),
    }  # fmt: skip
    _explain(document, reasons, there)
    cleaned: dict[str, Any] = clean(document, "", reasons)
    cleaned["reasons"] = reasons
    return cleaned


def _risk(name: str, risk: Risk | None) -> dict[str, Any]:
    """A risk with its interval, and what 95 % of the benches keep to with its own."""
    if risk is None:
        return dict.fromkeys((name, f"{name}_between", f"{name}_95", f"{name}_95_between"))
    return {
        name: risk.mean,
        f"{name}_between": risk.between,
        f"{name}_95": risk.most,
        f"{name}_95_between": risk.most_between,
    }


def _explain(document: Mapping[str, Any], reasons: dict[str, str], there: bool) -> None:
    """Why keys are null where a reader would miss them."""
    for key in ("soak_s", "allowed_drop_Pa", "allowed_rise_Pa", "false_alarm", "miss", "valid_for", "procedure"):
        if document[key] is None:
            reasons[key] = (
                "the criterion was given without it, or without a leak to hold it against" if there else WITHOUT
            )
    if document["decision"] is None and there:
        reasons["decision"] = "no share of bad seals was stated"
