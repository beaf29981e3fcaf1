"""The answer of `year` as a JSON document of schema simcal/year/1."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from simcal.analysis.year.result import Estimate, YearResult
from simcal.bench.lab import Lab
from simcal.show.cautions import ESTIMATE
from simcal.show.jsonout import clean, hash_of
from simcal.show.year_words import sentence

SCHEMA = "simcal/year/1"


def year_document(result: YearResult, lab: Lab, arguments: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """The whole answer, ready for `json.dumps(..., allow_nan=False)`."""
    document = {
        "schema": SCHEMA,
        "version": result.version,
        "seed": result.seed,
        "sentence": sentence(result, lab),
        "lab": result.lab,
        "good": result.met,
        "target": result.target,
        "years": result.years,
        "replications": result.replications,
        "width": result.width,
        "benches": lab.year.benches if lab.year else 1,
        "currency": lab.currency,
        "numbers": _all(result.numbers),
        "ranges": [asdict(one) for one in result.ranges],
        "time": _all(result.spent),
        "cost": _all(result.cost),
        "sensors": [asdict(one) for one in result.sensors],
        "bad_seals": result.bad_seals,
        "little": result.little,
        "compared": result.compared,
        "variants": [asdict(one) for one in result.variants],
        "exposed": _exposed(result),
        "notes": list(result.notes),
        "assumed": [{"key": a.key, "value": str(a.value), "why": a.why} for a in result.assumed],
        "cautions": [ESTIMATE],
        "inputs": {name: {"sha256": hash_of(text), "text": text} for name, text in lab.texts.items()},
        "arguments": dict(arguments or {}),
    }
    reasons: dict[str, str] = {}
    if result.target is None:
        reasons["target"] = "none is stated"
    elif result.met is None:
        reasons["good"] = "the target lies inside the 95 % interval of the uptime"
    if result.width is None:
        reasons["width"] = "none was asked for"
    if result.compared is None:
        reasons["compared"] = "nothing was to be compared"
    if result.numbers["uptime"].year_low is None:
        reasons["*.year_low"] = reasons["*.year_high"] = "fewer than 20 replications make no 90 % band"
    cleaned: dict[str, Any] = clean(document, "", reasons)
    cleaned["reasons"] = reasons
    return cleaned


def _all(estimates: Mapping[str, Estimate]) -> dict[str, Any]:
    return {name: asdict(one) for name, one in estimates.items()}


def _exposed(result: YearResult) -> list[dict[str, Any]]:
    """Sensors found out of tolerance in the first replication; the jobs and points are a table of --out."""
    found = result.shown.exposures
    listed = []
    for trip in found.events:
        points = [one for one in found.points if one.trip is trip]
        listed.append({
            "sensor": result.sensors[trip.sensor].name, "since_s": trip.since, "left_s": trip.left,
            "back_s": trip.back, "error_over_limit": trip.size, "jobs": len({one.job.number for one in points}),
            "beyond_margin": len({one.job.number for one in points if one.exceeds}),
        })  # fmt: skip
    return listed
