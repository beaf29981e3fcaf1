"""What the dwell leaves at each point of an instrument: from a run of the LAB's own bench, kept, or as stated.

The bench is run with the instrument in the place of its device: range, tolerance and points are the instrument's,
place, lag and height those of the bench's device. Resolution and repeatability are no part of it: they are the
device's share.
"""

import dataclasses
import hashlib
import json
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcal import cache
from simcal.bench.bench import Bench
from simcal.bench.checks import faults_of
from simcal.bench.gauges import Accuracy, Device
from simcal.bench.lab import Instrument, Lab, LabBench
from simcal.errors import InputError
from simcal.run import run_many
from simcal.stats.uncertainty import standard

log = logging.getLogger("simcal")
Array = NDArray[np.float64]
Progress = Callable[[str, int, int], None]

KEPT = 4000
"""Runs kept in the cache."""
_ROOMS = ("analysis/settle", "bench")


@dataclass(frozen=True)
class Left:
    """Of one instrument: standard uncertainty [points] of what the dwell leaves, Pa; the bench and time of its run."""

    standard_Pa: Array
    held: NDArray[np.bool_]  # False where the bench's run does not reach the point
    bench: str | None = None
    run_s: float | None = None


def left_by_dwell(lab: Lab, workers: int | None = None, progress: Progress | None = None) -> dict[str, Left]:
    """Instrument -> what its dwell leaves; each different run is made once, on `workers` threads."""
    on = {name: bench_for(lab, one) for name, one in lab.instruments.items()}
    asked: dict[str, tuple[Bench, str, str]] = {}
    keys: dict[str, str] = {}
    for name, found in on.items():
        if found is not None:
            bench, sequence, device = _placed(lab.benches[found], lab.instruments[name])
            keys[name] = _key(bench, sequence, device)
            asked[keys[name]] = (bench, sequence, device)
    runs = _runs(asked, workers, progress)
    return {name: _of_run(lab, one, runs.get(keys.get(name, "")), on[name]) for name, one in lab.instruments.items()}


def bench_for(lab: Lab, one: Instrument) -> str | None:
    """The bench an instrument goes to: the one it names, else the first whose run can be asked for all its points."""
    for name in [one.bench] if one.bench else lab.benches:
        bench, sequence, _ = _placed(lab.benches[name], one)
        if not faults_of(dataclasses.replace(bench, sequences={sequence: bench.sequences[sequence]})):
            return name
    return None


def _placed(place: LabBench, one: Instrument) -> tuple[Bench, str, str]:
    """The bench with the instrument in the place of its device; its sequence and device by name."""
    bench = place.bench
    assert bench is not None and one.tolerance is not None
    sequence = place.sequence or next(iter(bench.sequences))
    way = bench.sequences[sequence]
    name = way.device or next(iter(bench.devices))
    tolerance = one.tolerance
    stood = bench.devices[name]
    device = Device(
        at=stood.at,
        range=one.range,
        accuracy=Accuracy(span=tolerance.span, reading=tolerance.reading, floor=tolerance.floor, is_="limits"),
        lag=stood.lag,
        height=stood.height,
    )
    way = dataclasses.replace(way, points=one.points, preloads=(), device=name, allowance=None, nearness=None)
    placed = dataclasses.replace(bench, devices={**bench.devices, name: device}, sequences={sequence: way})
    return placed, sequence, name


def _of_run(lab: Lab, one: Instrument, run: Mapping[str, Any] | None, bench: str | None) -> Left:
    """From a run, or from what is stated where there is none."""
    assert one.tolerance is not None
    zero = lab.room.barometer
    if run is None:
        limits = [one.limit_at(one.range.stated(p.absolute(one.range, zero), zero)) for p in one.points]
        sizes = standard([lab.comparison.dwell.of(limit) for limit in limits], "limits")
        return Left(sizes, np.ones(len(one.points), dtype=bool))
    error = standard(np.abs(run["error_Pa"]), "limits")
    held = np.array(run["reached"], dtype=bool)
    return Left(np.hypot(error, 0.5 * np.array(run["random_Pa"])), held, bench, run["total_s"])


def _runs(
    asked: Mapping[str, tuple[Bench, str, str]], workers: int | None, progress: Progress | None
) -> dict[str, Any]:
    """Key -> a run, from the cache where it is there."""
    folder = cache.subfolder("settled") if asked else None
    found = {key: _kept(folder, key, len(bench.sequences[way].points)) for key, (bench, way, _) in asked.items()}
    missing = [key for key, run in found.items() if run is None]
    tell = None if progress is None else lambda done, count: progress("runs of the bench", done, count)
    made = run_many(lambda i: _run(*asked[missing[i]]), len(missing), workers, tell)
    for key, run in zip(missing, made, strict=True):
        found[key] = run
        _keep(folder, key, run)
    return found


def _run(bench: Bench, sequence: str, device: str) -> dict[str, Any] | None:
    """What a run of `settle` leaves at each point; None where it cannot be asked."""
    from simcal.analysis.settle import settle

    try:
        result = settle(bench, device=device, sequence=sequence)
    except InputError as error:
        log.warning("no run of %s: %s", bench.file, error)
        return None
    by_number = {p.number: p.devices[device] for p in result.points if p.reached and device in p.devices}
    numbers = range(1, len(bench.sequences[sequence].points) + 1)
    return {
        "error_Pa": [(by_number[n].error_at_reading_Pa or 0.0) if n in by_number else 0.0 for n in numbers],
        "random_Pa": [by_number[n].random_Pa if n in by_number else 0.0 for n in numbers],
        "reached": [n in by_number for n in numbers],
        "total_s": result.total_s,
    }


def _key(bench: Bench, sequence: str, device: str) -> str:
    """What a run depends on, as a hash: sources, the bench's texts, the instrument in its place."""
    parts = [_sources(), sequence, device, repr(sorted(bench.hashes.items())), repr(bench.devices[device])]
    parts.append(repr(bench.sequences[sequence]))
    return hashlib.sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()


def _sources() -> str:
    """Hash of the sources a run goes through."""
    from simcal.jit import fingerprint

    here = Path(__file__).resolve().parents[2]
    whole = hashlib.sha256(fingerprint().encode("ascii"))
    for path in sorted(path for room in _ROOMS for path in (here / room).glob("*.py")):
        whole.update(path.read_bytes())
    return whole.hexdigest()


def _kept(folder: Path | None, key: str, points: int) -> Any:
    """A run of so many points that was kept; None where there is no whole one."""
    if folder is None:
        return None
    try:
        run = json.loads((folder / f"{key}.json").read_text(encoding="utf-8"))
        whole = all(len(run[name]) == points for name in ("error_Pa", "random_Pa", "reached")) and run["total_s"] >= 0.0
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return run if whole else None


def _keep(folder: Path | None, key: str, run: Any) -> None:
    """Keep a run; the oldest go when there are many."""
    if folder is None or run is None:
        return
    try:
        cache.write_whole(folder / f"{key}.json", json.dumps(run, allow_nan=False).encode("ascii"))
        others = sorted(folder.glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in others[: max(0, len(others) - KEPT)]:
            path.unlink(missing_ok=True)
    except (OSError, ValueError):
        return
