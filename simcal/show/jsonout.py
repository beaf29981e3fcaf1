"""The answer as a JSON document: SI, pressures absolute, null with a reason instead of NaN."""

import hashlib
import math
from collections.abc import Mapping
from dataclasses import asdict
from itertools import zip_longest
from typing import Any, NamedTuple

from simcal.analysis.settle.result import DeviceResult, Groups, PointResult, SettleResult, Trials
from simcal.bench.bench import Bench
from simcal.show.cautions import cautions
from simcal.show.hazard import hazard
from simcal.show.missed import missed
from simcal.show.scales import Setting, scales
from simcal.show.sentence import sentence

SCHEMA = "simcal/settle/1"
TIMES = (
    "arrival_s",
    "dwell_s",
    "ready_s",
    "error_at_reading_Pa",
    "make_up_mol_per_s",
    "off_target_Pa",
    "limited_by",
)
"""Null in a point that was not reached."""


def settle_document(
    result: SettleResult, bench: Bench | None = None, arguments: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """The whole answer as one document of schema `SCHEMA`, ready for `json.dumps(..., allow_nan=False)`.

    Args:
        result: the answer.
        bench: where the inputs' texts, the gas and the barometer are taken from; without it they are missing.
        arguments: what the answer was asked with, file names without their folders; enough to ask again.
    """
    reasons: dict[str, str] = {}
    setting = Setting() if bench is None else Setting.of(bench, result.device)
    document = {
        "schema": SCHEMA,
        "version": result.version,
        "seed": result.seed,
        "sentence": sentence(result, scales(result, setting)),
        **_whole(result, setting),
        "points": [_point(p, f"points.{i}", reasons) for i, p in enumerate(result.points)],
        "preloads": [_point(p, f"preloads.{i}", reasons) for i, p in enumerate(result.preloads)],
        "groups": _groups(result.groups),
        "trials": _trials(result.trials),
        "assumed": [{"key": a.key, "value": str(a.value), "why": a.why} for a in result.assumed],
        "cautions": list(cautions(hazard(result, setting))),
        "inputs": inputs_of(bench),
        "arguments": dict(arguments or {}),
    }
    _explain(result, reasons)
    cleaned: dict[str, Any] = clean(document, "", reasons)
    cleaned["reasons"] = reasons
    return cleaned


def _whole(result: SettleResult, setting: Setting) -> dict[str, Any]:
    return {
        "bench": result.bench,
        "sequence": result.sequence,
        "device": result.device,
        "reference": result.reference,
        "gas": setting.gas or None,
        "barometer_Pa": setting.room_Pa,
        "levels": "gauge" if setting.gauge else "absolute",
        "good": result.good,
        "reached_end": result.reached_end,
        "violations": list(result.violations),
        "notes": list(result.notes),
        "total_s": result.total_s,
        "gas_used_kg": result.gas_used_kg,
        "stored_energy_J": result.stored_energy_J,
        "stored_energy_method": result.stored_energy_method,
        "highest_Pa": result.highest_Pa,
        "fixed_dwell_s": result.fixed_dwell_s,
        "self_check": asdict(result.self_check) if result.self_check else None,
    }


DWELL_BAND = ("dwell_low_s", "dwell_high_s")
ERROR_BAND = ("error_low_Pa", "error_high_Pa")

POINT = (
    "number",
    "percent",
    "device",
    "target_Pa",
    "direction",
    "mode",
    "reached",
    "reason",
    "void",
    "start_s",
    "arrival_s",
    "dwell_s",
    "ready_s",
    "latest_s",
    "shut_s",
    "shortest_soak_s",
    "window_s",
    "dwell_low_s",
    "dwell_high_s",
    "dwell_reached_share",
    "error_low_Pa",
    "error_high_Pa",
    "limited_by",
    "limited_words",
    "error_at_reading_Pa",
    "allowance_Pa",
    "nearness_Pa",
    "off_target_Pa",
    "step_Pa",
    "overshoot_Pa",
    "peak_Pa",
    "peak_rate_Pa_per_s",
    "device_effect_Pa",
    "head_Pa",
    "make_up_mol_per_s",
)
"""Fields of a point that are written as they are."""

DEVICE = (
    "error_at_reading_Pa",
    "random_Pa",
    "largest_Pa",
    "device_effect_Pa",
    "head_Pa",
    "allowance_Pa",
    "ready_s",
    "overshoot_Pa",
    "peak_Pa",
    "peak_rate_Pa_per_s",
    "limited_by",
    "void",
)


def _point(p: PointResult, place: str, reasons: dict[str, str]) -> dict[str, Any]:
    if not p.reached:
        for key in TIMES:
            if getattr(p, key) is None:
                reasons[f"{place}.{key}"] = f"{missed(p)}: {p.reason or 'no reason given'}"
    if p.margins is None:
        reasons[f"{place}.margins"] = "a vent has no loop" if p.mode == "vent" else "no linear loop at this point"
    return {
        **{key: getattr(p, key) for key in POINT},
        "error_parts_Pa": dict(p.error_parts_Pa),
        "devices": {name: _device(d) for name, d in p.devices.items()},
        "margins": asdict(p.margins) if p.margins is not None else None,
        "cycle": _fields(p.cycle),
        "authority": _fields(p.authority),
        "violations": list(p.violations),
        "notes": list(p.notes),
    }


def _device(d: DeviceResult) -> dict[str, Any]:
    parts = {"error_parts_Pa": dict(d.error_parts_Pa), "violations": list(d.violations)}
    return {**{key: getattr(d, key) for key in DEVICE}, **parts}


def _fields(part: Any) -> dict[str, Any] | None:
    return None if part is None else dict(vars(part))


def _groups(groups: Groups | None) -> dict[str, Any] | None:
    if groups is None:
        return None
    return {**vars(groups), "groups": [dict(vars(g)) for g in groups.groups]}


def _trials(trials: Trials | None) -> dict[str, Any] | None:
    if trials is None:
        return None
    return {
        "count": trials.count,
        "total_low_s": trials.total_low_s,
        "total_high_s": trials.total_high_s,
        "not_reached": trials.not_reached,
        "sensitivity": [dict(vars(i)) for i in trials.sensitivity],
    }


def inputs_of(bench: Bench | None) -> dict[str, Any]:
    """Every file read: its whole text and the SHA-256 of that text in UTF-8."""
    texts = {} if bench is None else bench.texts
    return {name: {"sha256": hash_of(text), "text": text} for name, text in texts.items()}


def hash_of(text: str) -> str:
    """SHA-256 of a text in UTF-8, in hexadecimal."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _explain(result: SettleResult, reasons: dict[str, str]) -> None:
    """Why keys that are null at every point are so."""
    if result.trials is None:
        for key in (*DWELL_BAND, *ERROR_BAND, "dwell_reached_share"):
            reasons[f"points.*.{key}"] = "no trials were asked for"
    else:
        _explain_bands(result, reasons)
    if not any(p.mode == "isolated" for p in result.points):
        reasons["points.*.latest_s"] = "only a point read with the valves shut has a latest start"
    if not any(p.shortest_soak_s is not None for p in result.points):
        reasons["points.*.shortest_soak_s"] = "looked for where an isolated point cannot be read with its soak"
    if not result.reached_end:
        reasons["total_s"] = "the run ended early; the time is that of what was run"


def _explain_bands(result: SettleResult, reasons: dict[str, str]) -> None:
    """Which band was asked for, and why an end of it is missing."""
    given = result.fixed_dwell_s is not None
    for key in DWELL_BAND if given else ERROR_BAND:
        reasons[f"points.*.{key}"] = "the dwell was given" if given else "the dwell was not given; see its own band"
    for i, p in enumerate(result.points):
        for key in ERROR_BAND if given else DWELL_BAND:
            if getattr(p, key) is None:
                reasons[f"points.{i}.{key}"] = "lies among trials in which the point was not reached"
    for key in ("total_low_s", "total_high_s"):
        if getattr(result.trials, key) is None:
            reasons[f"trials.{key}"] = "lies among trials in which a point was not reached"


def clean(value: Any, place: str, reasons: dict[str, str]) -> Any:
    """`value` of JSON's own types: numbers that are none become null with a reason, arrays become lists."""
    if isinstance(value, Mapping):
        return {str(k): clean(v, f"{place}.{k}".lstrip("."), reasons) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [clean(v, f"{place}.{i}".lstrip("."), reasons) for i, v in enumerate(value)]
    if hasattr(value, "tolist"):
        return clean(value.tolist(), place, reasons)
    if isinstance(value, float) and not math.isfinite(value):
        reasons.setdefault(place, f"not a finite number ({value})")
        return None
    return value


WITHIN_RELATIVE = 1e-9
WITHIN = (("_per_s", 1e-12), ("_Pa", 1e-6), ("_s", 1e-9))
"""Differences between two machines that count as equal: of the number, or in the key's own unit near zero."""


class Difference(NamedTuple):
    """Where two documents differ, and what stands there in each; None also where one of them has no such key."""

    key: str
    a: Any
    b: Any


def first_difference(a: Any, b: Any, place: str = "") -> Difference | None:
    """The first difference between two documents, in the order of `a`, with its dotted key; None when equal.

    Numbers are equal within `WITHIN_RELATIVE` of the larger, or within the small step of their unit in
    `WITHIN`; everything else must be the same.
    """
    if isinstance(a, Mapping) and isinstance(b, Mapping):
        for key in [*a, *(k for k in b if k not in a)]:
            inner = f"{place}.{key}".lstrip(".")
            if key not in a or key not in b:
                return Difference(inner, a.get(key), b.get(key))
            found = first_difference(a[key], b[key], inner)
            if found is not None:
                return found
        return None
    if isinstance(a, list) and isinstance(b, list):
        for i, (x, y) in enumerate(zip_longest(a, b)):
            inner = f"{place}.{i}".lstrip(".")
            found = first_difference(x, y, inner) if i < min(len(a), len(b)) else Difference(inner, x, y)
            if found is not None:
                return found
        return None
    return None if _equal(a, b, place) else Difference(place or ".", a, b)


def _equal(a: Any, b: Any, place: str) -> bool:
    numbers = all(isinstance(v, int | float) and not isinstance(v, bool) for v in (a, b))
    if not numbers:
        return type(a) is type(b) and bool(a == b)
    parts = [part for part in place.split(".") if part.endswith(tuple(ending for ending, _ in WITHIN))]
    step = next((size for ending, size in WITHIN if parts and parts[-1].endswith(ending)), 0.0)
    return math.isclose(a, b, rel_tol=WITHIN_RELATIVE, abs_tol=step)
