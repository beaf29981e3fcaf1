"""A record as one JSON document: the arrays, and all that was understood and assumed."""

from typing import Any

from simcal import cache
from simcal.bench.record import Record

SCHEMA = "simcal/read/1"


def record_document(record: Record) -> dict[str, Any]:
    """The document of a record, of schema `SCHEMA`; pressures as its `reference` says."""
    reasons = {}
    if record.temperature_K is None:
        reasons["temperature_K"] = "the record has no temperature that is known to be one"
    if record.reference is None:
        reasons["reference"] = "neither the record nor an about-file says gauge or absolute"
    if record.resolution_Pa is None:
        reasons["resolution_Pa"] = "the pressure never changes"
    if record.clock_start is None:
        reasons["clock_start"] = "the record shows elapsed time only"
    return {
        "schema": SCHEMA,
        "version": cache.version(),
        "record": record.name,
        "reference": record.reference,
        "resolution_Pa": record.resolution_Pa,
        "clock_start": _clock(record),
        "segments": [list(one) for one in record.segments],
        "columns": record.columns,
        "assumed": [{"key": one.key, "value": one.value, "why": one.why} for one in record.assumed],
        "notes": list(record.notes),
        "dropped": record.dropped,
        "marks": record.marks,
        "flags": [{"kind": one.kind, "first": one.first, "last": one.last} for one in record.flags],
        "reasons": reasons,
        "time_s": record.time_s.tolist(),
        "pressure_Pa": record.pressure_Pa.tolist(),
        "temperature_K": None if record.temperature_K is None else record.temperature_K.tolist(),
    }


def _clock(record: Record) -> str | None:
    if record.clock_start is None:
        return None
    return record.clock_start.isoformat() if record.dated else record.clock_start.time().isoformat()
