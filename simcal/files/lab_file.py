"""From a LAB file, its tables and its bench files to a checked `Lab`."""

import dataclasses
import posixpath
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from simcal.bench.bench import Bench
from simcal.bench.lab import CALIBRATION, DRIFT, HEIGHT_KNOWN, SCHEMA, Instrument, Lab, LabBench, Reference
from simcal.bench.values import Assumed
from simcal.errors import InputError
from simcal.files import lab_table
from simcal.files.alone import refuse_other
from simcal.files.bench_file import load_bench
from simcal.files.builder import build
from simcal.files.complete_lab import holds
from simcal.files.context import Context
from simcal.files.faults import Report, did_you_mean
from simcal.files.include import Gathered, gather
from simcal.units import clip

MOST_PAIRS = 4_000_000
"""Comparisons of one answer."""
_FEW = 4
TABLES = (("workload", "instruments", Instrument), ("candidates", "sensors", Reference))


def load_lab(path: str | Path, sets: Sequence[str] = (), *, texts: Mapping[str, str] | None = None) -> Lab:
    """Read, complete and check a LAB file with its CSV tables and bench files.

    Args:
        path: the file; its faults are reported under this name.
        sets: `--set` texts, "rule.ratio=3", applied after the includes.
        texts: the recorded texts of all files by name, to load without reading the disk.

    Raises:
        InputError: reads as the first fault; its `faults` hold all of them.
    """
    gathered = gather(path, sets, texts)
    refuse_other(gathered.data, str(path), SCHEMA)
    context = Context(gathered.report, gas=str(gathered.data.get("gas")))
    stated = isinstance(gathered.data.get("comparison"), dict) and "dwell" in gathered.data["comparison"]
    lab: Lab | None = build(Lab, gathered.data, "", context)
    gathered.report.finish()
    assert lab is not None
    folder = Path(path).parent
    lab = _with_tables(lab, folder, texts, gathered, context)
    lab = _with_benches(lab, folder, texts, gathered)
    lab = _with_seal(lab, folder, texts, gathered)
    gathered.report.finish()
    lab = dataclasses.replace(
        lab,
        file=Path(path).name,
        name=lab.name or Path(path).stem,
        spreads=context.spreads,
        texts=gathered.texts,
        hashes=gathered.hashes,
    )
    _check(lab, gathered.report)
    gathered.report.finish()
    return dataclasses.replace(lab, assumed=(*context.assumed, *_assumed(lab, stated)))


def _with_tables(lab: Lab, folder: Path, texts: Mapping[str, str] | None, gathered: Gathered, context: Context) -> Lab:
    """The LAB with the rows of its CSV tables behind its own instruments and sensors."""
    for key, attribute, cls in TABLES:
        name = getattr(lab, key)
        if not name:
            continue
        _refuse_whole_path(name, key, gathered)
        text = _text(name, folder, texts, f"{key} in {gathered.report.file_of(key)}")
        gathered.texts[posixpath.normpath(name)] = text
        shown = str(folder / name)
        rows = {
            one: dataclasses.replace(row, source=Path(name).name)
            for one, row in lab_table.objects(text, shown, cls, context).items()
        }
        own = getattr(lab, attribute)
        for twice in [one for one in rows if one in own]:
            gathered.report.faults.append(
                InputError(
                    shown, lab_table.NAME, f'"{twice}" is also a table of {gathered.report.file}', "names that differ"
                )
            )
        changed: dict[str, Any] = {attribute: {**own, **rows}}
        lab = dataclasses.replace(lab, **changed)
    return lab


def _refuse_whole_path(name: str, key: str, gathered: Gathered) -> None:
    """A LAB goes to another machine with its files beside it, and answers hold file names only."""
    if PurePosixPath(name).is_absolute() or PureWindowsPath(name).is_absolute():
        raise InputError(gathered.report.file_of(key), key, f"{clip(name)} is a whole path", "a name beside this file")


def _text(name: str, folder: Path, texts: Mapping[str, str] | None, named_by: str) -> str:
    if texts is None:
        return lab_table.table_text(folder / name, str(folder / name), named_by)
    recorded = posixpath.normpath(name)
    if recorded not in texts:
        raise InputError(name, "", "its text is not among the recorded inputs", "a complete result")
    return texts[recorded]


def _with_benches(lab: Lab, folder: Path, texts: Mapping[str, str] | None, gathered: Gathered) -> Lab:
    """The LAB with the benches of its bench files."""
    loaded: dict[str, LabBench] = {}
    for name, one in lab.benches.items():
        bench = _bench(one.file, f"bench.{name}.file", folder, texts, gathered)
        if one.sequence and one.sequence not in bench.sequences:
            gathered.report.add(
                f"bench.{name}.sequence", f'no sequence "{one.sequence}"', did_you_mean(one.sequence, bench.sequences)
            )
        if len(bench.sequences) > 1 and not one.sequence:
            gathered.report.add(f"bench.{name}.sequence", "missing", f"one of {', '.join(bench.sequences)}")
        if not bench.sequences:
            gathered.report.add(f"bench.{name}.file", f"{one.file} has no sequence", "a bench with a [sequence.NAME]")
        if bench.gas != lab.gas:
            gathered.report.add(f"bench.{name}.file", f"{one.file} is filled with {bench.gas}", f'gas = "{bench.gas}"')
        loaded[name] = dataclasses.replace(one, bench=bench)
    return dataclasses.replace(lab, benches=loaded)


def _bench(name: str, key: str, folder: Path, texts: Mapping[str, str] | None, gathered: Gathered) -> Bench:
    """The bench of a file that stands under a key, its texts noted."""
    _refuse_whole_path(name, key, gathered)
    place = posixpath.dirname(posixpath.normpath(name))
    if texts is None:
        bench = load_bench(folder / name)
    else:
        bench = load_bench(posixpath.basename(name), texts=_below(texts, place))
    for file, text in bench.texts.items():
        gathered.texts[posixpath.normpath(posixpath.join(place, file))] = text
    return bench


def _with_seal(lab: Lab, folder: Path, texts: Mapping[str, str] | None, gathered: Gathered) -> Lab:
    """The LAB with the bench whose seal is opened at an exchange."""
    if lab.year is None or not lab.year.exchange.file:
        return lab
    one, place = lab.year.exchange, "year.exchange"
    bench = _bench(one.file, f"{place}.file", folder, texts, gathered)
    name = one.seal or next(iter(bench.seals), "")
    if name not in bench.seals:
        found = f'no seal "{name}"' if name else f"{one.file} has no seal"
        gathered.report.add(f"{place}.seal", found, did_you_mean(name, bench.seals) or "a bench with a [seal.NAME]")
    elif len(bench.seals) > 1 and not one.seal:
        gathered.report.add(f"{place}.seal", "missing", f"one of {', '.join(bench.seals)}")
    elif bench.seals[name].torque is None:
        gathered.report.add(f"{place}.seal", f'"{name}" has no torque', "a seal that a torque closes")
    exchange = dataclasses.replace(one, bench=bench, seal=name)
    return dataclasses.replace(lab, year=dataclasses.replace(lab.year, exchange=exchange))


def _below(texts: Mapping[str, str], place: str) -> dict[str, str]:
    """Recorded texts by their names relative to the folder `place`."""
    return {posixpath.relpath(name, place or "."): text for name, text in texts.items()}


def _check(lab: Lab, report: Report) -> None:
    """What no key can see alone."""
    if not lab.instruments:
        report.add("instrument", "no instruments", 'workload = "FILE.csv", or [instrument.NAME]')
    if not lab.sensors:
        report.add("sensor", "no sensors", 'candidates = "FILE.csv", or [sensor.NAME]')
    pairs = len(lab.sensors) * sum(len(one.points) for one in lab.instruments.values())
    if pairs > MOST_PAIRS:
        report.add("instrument", f"{pairs} pairs of point and sensor", f"at most {MOST_PAIRS}, in several LAB files")
    for name, one in lab.instruments.items():
        if one.bench and one.bench not in lab.benches:
            place = f"instrument.{name}.bench" if not one.source else name
            found, right = f"there is no [bench.{one.bench}]", did_you_mean(one.bench, lab.benches)
            if one.source:
                report.faults.append(InputError(one.source, place, found, right))
            else:
                report.add(place, found, right)


def _assumed(lab: Lab, dwell_stated: bool) -> Iterable[Assumed]:
    """What nobody said of sensors, points and the comparison."""
    for name in (DRIFT, CALIBRATION):
        without = [
            one for one, s in lab.sensors.items() if getattr(s, name) is None and not holds(s.accuracy.contains, name)
        ]
        if without:
            why = f"neither stated nor contained in the accuracy of {_listed(without)}: their ratios are too good"
            yield Assumed(f"sensor.*.{name}", "0 Pa", why)
    if "comparison.height" not in lab.spreads:
        yield Assumed("comparison.height", f"+- {HEIGHT_KNOWN * 1e3:g} mm", "levels set by eye")
    if lab.comparison.line is None:
        yield Assumed("comparison.line", "0 Pa", "a difference along the line counts in what the dwell leaves")
    if not dwell_stated:
        yield Assumed("comparison.dwell", "10 % of tolerance", "what `settle` waits for, where no bench's run says it")


def _listed(names: Sequence[Any]) -> str:
    few = ", ".join(map(str, names[:_FEW]))
    return few if len(names) <= _FEW else f"{few} and {len(names) - _FEW} more"
