"""The answer of `cover` as a JSON document of schema simcal/cover/1."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from simcal.analysis.cover.gaps import gaps
from simcal.analysis.cover.result import CoverResult, InstrumentCover, OneMore, Plan
from simcal.bench.lab import Lab
from simcal.show.cautions import ESTIMATE
from simcal.show.cover_words import one_sentence, risk_basis, sentence
from simcal.show.jsonout import clean, hash_of

SCHEMA = "simcal/cover/1"


def cover_document(
    result: CoverResult, lab: Lab, arguments: Mapping[str, Any] | None = None, instrument: str | None = None
) -> dict[str, Any]:
    """The whole answer, or that for one instrument, ready for `json.dumps(..., allow_nan=False)`."""
    shown = [one for one in result.instruments if instrument in (None, one.name)]
    said = sentence(result, lab) if instrument is None else one_sentence(result, shown[0], lab)
    document = {
        "schema": SCHEMA,
        "version": result.version,
        "seed": None,
        "sentence": said,
        "lab": result.lab,
        "instrument": instrument,
        "good": result.good if instrument is None else shown[0].covered,
        "gas": lab.gas,
        "barometer_Pa": lab.room.barometer,
        "rule": {"kind": result.rule, "limit": result.limit, "uncertainty": result.uncertainty},
        "prior": None if result.prior is None else {"in_tolerance": result.in_tolerance, "of": result.prior},
        "risks": risk_basis(result),
        "places": result.places,
        "budget": result.budget,
        "currency": lab.currency,
        "kinds": result.kinds,
        "calibrations_per_year": result.count,
        "plan": _plan(result.plan),
        "owned": _plan(result.owned),
        "sensors": [asdict(one) for one in result.sensors],
        "instruments": [_instrument(one) for one in shown],
        "gaps": [_renamed(asdict(gap)) for gap in gaps(shown)],
        "crossovers": [asdict(one) for one in result.crossovers],
        "one_more": [_more(one) for one in result.one_more],
        "notes": list(result.notes),
        "assumed": [{"key": a.key, "value": str(a.value), "why": a.why} for a in result.assumed],
        "cautions": [ESTIMATE],
        "inputs": {name: {"sha256": hash_of(text), "text": text} for name, text in lab.texts.items()},
        "arguments": dict(arguments or {}),
    }
    reasons = {"seed": "nothing is drawn by chance"}
    if result.prior is None:
        reasons["prior"] = "none is stated: risks are the worst case"
    if result.budget is None:
        reasons["budget"] = "none is stated"
    _explain(shown, reasons)
    cleaned: dict[str, Any] = clean(document, "", reasons)
    cleaned["reasons"] = reasons
    return cleaned


def _renamed(fields: dict[str, Any]) -> dict[str, Any]:
    """`count` under the name it has in the JSON."""
    return {"calibrations_per_year" if key == "count" else key: value for key, value in fields.items()}


def _plan(plan: Plan) -> dict[str, Any]:
    return _renamed(asdict(plan))


def _more(one: OneMore) -> dict[str, Any]:
    return _renamed(asdict(one))


def _instrument(one: InstrumentCover) -> dict[str, Any]:
    return _renamed(asdict(one))


def _explain(shown: list[InstrumentCover], reasons: dict[str, str]) -> None:
    """Why numbers of a point are missing."""
    for i, one in enumerate(shown):
        if one.run_s is None:
            reasons[f"instruments.{i}.run_s"] = "no bench's run tells of it"
        for j, p in enumerate(one.points):
            place = f"instruments.{i}.points.{j}"
            if p.ratio is None:
                reasons[f"{place}.ratio"] = p.reason or "nothing is uncertain there"
            elif p.consumer_risk is None:
                reasons[f"{place}.consumer_risk"] = "the acceptance zone is shut, or the prior cannot be observed so"
