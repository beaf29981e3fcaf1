"""The answer of `judge` as a JSON document of schema simcal/judge/1."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from simcal import cache
from simcal.bench.record import FROZEN, Record
from simcal.show.jsonout import clean
from simcal.show.judge_text import assumed, judge_cautions, judge_sentence
from simcal.show.judge_units import Judged

SCHEMA = "simcal/judge/1"
RATES = ("leak", "low", "high", "permitted")
PLAIN = ("change_Pa", "pressure_Pa", "watch_from_s", "watch_until_s", "fits", "misfit")


def judge_document(
    judged: Judged,
    inputs: Mapping[str, Any] | None = None,
    arguments: Mapping[str, Any] | None = None,
    answer: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """The whole answer, ready for `json.dumps(..., allow_nan=False)`.

    Args:
        judged: the answer.
        inputs: name -> text (null where it is too long to keep) and sha256 of every file read.
        arguments: what it was asked with, file names without their folders.
        answer: how it compares with a known answer, see `Mark.document`; None where none is known.
    """
    found = judged.found
    reasons = dict(found.reasons)
    rates = {
        f"{name}_{unit}": getattr(found, f"{name}_{unit}") for unit in ("mol_per_s", "Pa_m3_per_s") for name in RATES
    }
    for key, value in rates.items():
        if value is None:
            reasons.setdefault(key, reasons.get(_told_for(key), "needs gas, capacity and permitted_leak"))
    document = {
        "schema": SCHEMA,
        "version": cache.version(),
        "seed": judged.seed,
        "sentence": judge_sentence(judged),
        "record": found.record,
        "records": list(found.records),
        "verdict": found.verdict,
        **rates,
        **{key: getattr(found, key) for key in PLAIN},
        "change_parts_Pa": dict(found.change_parts_Pa),
        "causes": dict(found.causes),
        "widened_by": dict(found.widened_by),
        "next_action": asdict(found.next_action),
        "criterion": None if found.criterion is None else asdict(found.criterion),
        "statements": list(found.statements),
        "gas": judged.about.gas,
        "capacity_m3": judged.about.capacity,
        "barometer_Pa": judged.about.barometer,
        "levels": "gauge" if judged.gauge else "absolute",
        "dropped": {record.name: _dropped(record) for record in judged.records},
        "assumed": [{"key": a.key, "value": str(a.value), "why": a.why} for a in assumed(judged)],
        "cautions": list(judge_cautions(judged)),
        "answer": None if answer is None else dict(answer),
        "inputs": dict(inputs or {}),
        "arguments": dict(arguments or {}),
    }
    cleaned: dict[str, Any] = clean(document, "", reasons)
    cleaned["reasons"] = reasons
    return cleaned


def _dropped(record: Record) -> dict[str, int]:
    """What the reader left out, lines by reason, and the rows that repeat a value because the logger hung."""
    hung = int(record.hung().sum())
    return dict(record.dropped) | ({FROZEN: hung} if hung else {})


def _told_for(key: str) -> str:
    """The key whose reason holds for a rate: that of the limit, or of the leak."""
    return "permitted_mol_per_s" if key.startswith("permitted") else "leak_mol_per_s"


def unreadable_document(record: str, line: str) -> dict[str, Any]:
    """What stands for a record that gave no answer."""
    return {"record": record, "error": line}
