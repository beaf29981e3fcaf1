"""Tables of an answer as CSV: SI, unit at the end of the heading, plain decimals with a point, UTF-8."""

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from simcal.analysis.settle.result import PARTS, Groups, PointResult, RunTrace, SettleResult, Trials
from simcal.show import words
from simcal.show.jsonout import DEVICE, POINT

MOST_NUMBERS = 2_000_000
"""A table of trials beyond this is not written: nobody opens it, and the seed draws it again."""

FORMULA = ("=", "+", "-", "@")
"""A text that begins so would be read as a formula by a spreadsheet."""


def settle_tables(result: SettleResult) -> dict[str, bytes]:
    """File name -> content of every table the result has data for."""
    tables = {"points.csv": points_table(result.points), "devices.csv": devices_table(result.points)}
    if result.assumed:
        rows = [[a.key, a.value, a.why] for a in result.assumed]
        tables["assumed.csv"] = csv_bytes(["key", "value", "why"], rows)
    if result.groups is not None:
        tables["groups.csv"] = groups_table(result.groups)
    if result.trace is not None:
        tables["run.csv"] = run_table(result.trace)
    if result.trials is not None:
        shares = [[i.key, i.share] for i in result.sensitivity]
        tables["sensitivity.csv"] = csv_bytes(["key", "share_of_variance"], shares)
        if 0 < result.trials.dwell_s.size <= MOST_NUMBERS:
            tables["trials.csv"] = trials_table(result.trials, result.points)
    return tables


def csv_bytes(head: Sequence[str], rows: Iterable[Sequence[Any]]) -> bytes:
    """One table; a value that is none or no number is an empty cell, a text cannot become a formula."""
    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\n")
    writer.writerow([cell(name) for name in head])
    writer.writerows([cell(value) for value in row] for row in rows)
    return made.getvalue().encode("utf-8")


def cell(value: Any) -> str:
    """One cell: numbers exactly, without a thousands mark; texts on one line."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return repr(float(value)) if math.isfinite(value) else ""
    text = words.plain(value)
    return f"'{text}" if text.startswith(FORMULA) else text


def points_table(points: Sequence[PointResult]) -> bytes:
    """One row a setpoint."""
    margins = ("gain", "phase_deg", "delay_s")
    parts = [f"error_part_{part}_Pa" for part in PARTS]
    head = [
        *POINT,
        *parts,
        *[f"margin_{m}" for m in margins],
        "cycle_amplitude_Pa",
        "cycle_period_s",
        "violations",
    ]
    rows = [
        [
            *[getattr(p, key) for key in POINT],
            *[p.error_parts_Pa.get(part) for part in PARTS],
            *[getattr(p.margins, m, None) for m in margins],
            getattr(p.cycle, "amplitude_Pa", None),
            getattr(p.cycle, "period_s", None),
            "; ".join(p.violations),
        ]
        for p in points
    ]
    return csv_bytes(head, rows)


def devices_table(points: Sequence[PointResult]) -> bytes:
    """One row a setpoint and device."""
    parts = [f"error_part_{part}_Pa" for part in PARTS]
    head = ["number", "target_Pa", "device", *DEVICE, *parts, "violations"]
    rows = [
        [
            p.number,
            p.target_Pa,
            name,
            *[getattr(d, key) for key in DEVICE],
            *[d.error_parts_Pa.get(part) for part in PARTS],
            "; ".join(d.violations),
        ]
        for p in points
        for name, d in p.devices.items()
    ]
    return csv_bytes(head, rows)


def groups_table(groups: Groups) -> bytes:
    """One row a shared dwell."""
    head = ["direction", "low_Pa", "high_Pa", "dwell_s", "points"]
    rows = [[g.direction, g.low_Pa, g.high_Pa, g.dwell_s, " ".join(map(str, g.points))] for g in groups.groups]
    return csv_bytes(head, rows)


def run_table(trace: RunTrace) -> bytes:
    """The thinned run, one row an instant."""
    columns: Mapping[str, np.ndarray] = {
        "time_s": trace.time_s,
        "setpoint_Pa": trace.setpoint_Pa,
        "reference_Pa": trace.reference_Pa,
        **{f"device_{name}_Pa": values for name, values in trace.device_Pa.items()},
        "drive": trace.drive,
    }
    return csv_bytes(list(columns), zip(*[np.asarray(v).tolist() for v in columns.values()], strict=True))


def trials_table(trials: Trials, points: Sequence[PointResult]) -> bytes:
    """Dwell of every trial and setpoint, s; empty where the point was not reached."""
    head = ["trial", *[f"dwell_{p.number}_s" for p in points]]
    return csv_bytes(head, ([i, *row[: len(points)]] for i, row in enumerate(trials.dwell_s.tolist())))
