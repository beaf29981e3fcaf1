"""From a bench file to a checked `Bench`."""

import dataclasses
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from simcal.bench.bench import SCHEMA, Bench
from simcal.bench.checks import faults_of
from simcal.errors import InputError
from simcal.files.alone import refuse_other, refuse_part
from simcal.files.builder import build
from simcal.files.context import Context
from simcal.files.include import gather


def load_bench(
    path: str | Path,
    sets: Sequence[str] = (),
    *,
    device: str | None = None,
    texts: Mapping[str, str] | None = None,
) -> Bench:
    """Read, complete and check a bench file.

    Args:
        path: the file; its faults are reported under this name.
        sets: `--set` texts, "volume.port.capacity=50 cm3", applied after the includes.
        device: the device that % means in sequences that name none.
        texts: the recorded texts of all files by name, to load without reading the disk.

    Raises:
        InputError: reads as the first fault; its `faults` hold all of them.
    """
    gathered = gather(path, sets, texts)
    refuse_other(gathered.data, str(path), SCHEMA)
    refuse_part(gathered.data, Path(path), str(path), on_disk=texts is None)
    report = gathered.report
    context = Context(report, nodes=_names(gathered.data.get("volume")), gas=str(gathered.data.get("gas")))
    bench: Bench | None = build(Bench, gathered.data, "", context)
    if device is not None and bench is not None and device not in bench.devices:
        known = ", ".join(bench.devices)
        report.faults.append(InputError("command line", "--device", f'no device "{device}"', f"known are: {known}"))
        bench = None
    if bench is not None:
        bench = dataclasses.replace(
            bench,
            file=Path(path).name,
            name=bench.name or Path(path).stem,
            sequences=_with_devices(bench, device),
            spreads=context.spreads,
            assumed=tuple(context.assumed),
            texts=gathered.texts,
            hashes=gathered.hashes,
        )
        for place, found, right in faults_of(bench):
            report.add(place, found, right)
    report.finish()
    assert bench is not None
    return bench


def _names(table: Any) -> tuple[str, ...]:
    return tuple(table) if isinstance(table, dict) else ()


def _with_devices(bench: Bench, device: str | None) -> dict[str, Any]:
    """The sequences, each with the device that % means where that is clear."""
    only = device or (next(iter(bench.devices)) if len(bench.devices) == 1 else "")
    return {
        name: dataclasses.replace(one, device=one.device or only, reference=one.reference or bench.controller.reads)
        for name, one in bench.sequences.items()
    }
