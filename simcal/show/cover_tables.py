"""Tables of `cover` as CSV: SI, unit at the end of the heading."""

from collections.abc import Sequence
from dataclasses import asdict, fields
from typing import Any

from simcal.analysis.cover.gaps import gaps
from simcal.analysis.cover.result import PARTS, CoverResult, InstrumentCover
from simcal.show.rows import csv_bytes

POINT = (
    "number", "stated_Pa", "pressure_Pa", "tolerance_Pa", "mode", "sensor", "ratio", "ratio_with_device",
    "consumer_risk", "producer_risk", "specific_risk", "acceptance_Pa", "limit_for_risk_Pa", "reason", "nearest",
)  # fmt: skip
INSTRUMENT = (
    "name", "count", "gauge", "low_Pa", "high_Pa", "covered", "possible", "switches", "switch_s", "bench", "run_s",
)  # fmt: skip


def cover_tables(result: CoverResult, shown: tuple[InstrumentCover, ...]) -> dict[str, bytes]:
    """File name -> content of every table; `shown`: the instruments that were asked about."""
    points = [
        [
            one.name,
            *[getattr(p, key) for key in POINT],
            "; ".join(p.able),
            *[p.uncertainty_Pa.get(part) for part in PARTS],
        ]
        for one in shown
        for p in one.points
    ]
    tables = {
        "instruments.csv": csv_bytes(INSTRUMENT, [[getattr(one, key) for key in INSTRUMENT] for one in shown]),
        "points.csv": csv_bytes(["instrument", *POINT, "able", *[f"uncertainty_{part}_Pa" for part in PARTS]], points),
        "sensors.csv": _of(result.sensors),
        "crossovers.csv": _of(result.crossovers),
        "one_more.csv": _of(result.one_more),
        "assumed.csv": csv_bytes(["key", "value", "why"], [[a.key, a.value, a.why] for a in result.assumed]),
    }
    rows = [
        [
            g.instrument,
            g.count,
            g.possible,
            " ".join(map(str, g.points)),
            g.low_Pa,
            g.high_Pa,
            g.ratio,
            "; ".join(g.reasons),
        ]
        for g in gaps(shown)
    ]
    heads = ["instrument", "count", "possible", "points", "low_Pa", "high_Pa", "ratio", "reasons"]
    return {**tables, "gaps.csv": csv_bytes(heads, rows)}


def _of(rows: Sequence[Any]) -> bytes:
    """One row a dataclass; nothing but an empty table where there is none."""
    if not rows:
        return csv_bytes(["none"], [])
    heads = [field.name for field in fields(rows[0])]
    return csv_bytes(heads, [list(asdict(row).values()) for row in rows])
