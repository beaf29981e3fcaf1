"""From a logger's file to a `Record`."""

import dataclasses
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from simcal.bench.about import About, Columns, FileForm
from simcal.bench.record import Record
from simcal.bench.values import Assumed
from simcal.errors import InputError
from simcal.files.about_file import load_about
from simcal.files.records.body import Body
from simcal.files.records.layout import find_layout
from simcal.files.records.marks import flags_of, placeholders, resolution_of
from simcal.files.records.order import Ordered, in_order
from simcal.files.records.plan import Plan
from simcal.files.records.planning import plan_of
from simcal.files.records.source import Source, open_source
from simcal.files.records.table import Table
from simcal.files.records.warmth import temperatures
from simcal.files.records.words import PRESSURE, Unit, reference_of
from simcal.units import TABLE


def read(*paths: str | Path, about: str | Path | About | None = None) -> tuple[Record, ...]:
    """Read records, each with the about-file beside it (NAME.toml beside NAME.csv) unless one is given for all.

    Raises:
        InputError: the first record that cannot be read.
    """
    return tuple(read_record(path, about_of(path, about)) for path in paths)


def about_of(path: str | Path, about: str | Path | About | None = None, sets: Sequence[str] = ()) -> About:
    """The about-file of a record: as given, else the one beside it, else nothing said but `sets`.

    Raises:
        InputError: it cannot be read.
    """
    if isinstance(about, About):
        return about
    if about is not None:
        return load_about(about, sets)
    beside = Path(path).parent / f"{Path(path).stem}.toml"  # with_suffix has no answer for "." and ""
    try:
        found = beside.is_file() and beside != Path(path)
    except (OSError, ValueError):
        found = False
    if found:
        return load_about(beside, sets)
    return dataclasses.replace(load_about("about", sets, texts={"about": ""}), file="") if sets else About()


def read_record(
    path: str | Path, about: About | None = None, *, raw: bytes | None = None, careful: bool = False
) -> Record:
    """Read one record.

    Args:
        path: as the user wrote it; faults show it so.
        about: what is known of the record; nothing by default.
        raw: its bytes, to read without the disk.
        careful: look at every line by itself, as is done where a quick look finds something odd.

    Raises:
        InputError: one line that says where, what was found, and which key of the about-file would settle it.
    """
    about = about or About()
    try:
        return _read(path, about, raw, careful)
    except InputError as error:
        if error.place.partition(".")[0] not in ("columns", "file", "reading"):
            raise
        where = about.file or f"{Path(path).stem}.toml beside it"
        raise InputError(error.file, error.place, error.found, f"{error.right}; stated in {where}") from error


def _read(path: str | Path, about: About, raw: bytes | None, careful: bool) -> Record:
    columns, form = about.columns or Columns(), about.form or FileForm()
    if about.temperature is not None and about.temperature.column is not None and columns.temperature is None:
        columns = dataclasses.replace(columns, temperature=about.temperature.column)
    source = open_source(Path(path), str(path), form.encoding, raw)
    plan = plan_of(source.shown, find_layout(source, form), columns, form)
    table = _without_placeholders(Body(source, plan, form, careful).read(), plan)
    ordered = in_order(source.shown, table, plan, form)
    return _record(Path(path), source, plan, about, ordered)


def _record(path: Path, source: Source, plan: Plan, about: About, ordered: Ordered) -> Record:
    table = ordered.table
    notes = [*plan.notes, *ordered.notes]
    unit = plan.unit or next(iter(table.units), None)
    written = _last_digit(plan, unit)
    resolution = resolution_of(table.pressure, written)
    temperature = temperatures(table, plan, source.shown, notes)
    stated = about.sensor.resolution if about.sensor is not None else None
    step = resolution if stated is None or resolution is None else max(stated, resolution)
    flags, marks, remarks = flags_of(table.time, table.pressure, ordered.segments, step)
    if len(table.units) > 1:
        names = ", ".join(f"{one.name} from row {row + 1}" for one, row in table.units.items())
        notes.append(f"the unit changes: {names}")
    reference, why = _reference(source.shown, plan, about, table)
    encoding = Assumed("file.encoding", f'"{source.encoding.removesuffix("-sig")}"', source.why)
    assumed = [*([encoding] if source.why else []), *plan.assumed]
    assumed += [Assumed(*one) for one in ordered.assumed]
    if why:
        assumed.append(Assumed("reading", f'"{reference}"', why))
    return Record(
        name=path.name,
        time_s=np.ascontiguousarray(table.time),
        pressure_Pa=np.ascontiguousarray(table.pressure),
        temperature_K=temperature,
        reference=reference,
        resolution_Pa=resolution,
        segments=ordered.segments,
        assumed=tuple(assumed),
        notes=(*notes, *remarks),
        dropped=dict(table.dropped),
        flags=flags,
        marks=marks,
        columns=plan.shown,
        clock_start=ordered.clock_start,
        dated=ordered.dated,
    )


def _without_placeholders(table: Table, plan: Plan) -> Table:
    """The table without rows in which a customary number says that there is no value."""
    unit = plan.unit or next(iter(table.units), None)
    if unit is None:
        return table
    factor = TABLE[PRESSURE][unit.name]
    bad = placeholders(np.round(table.pressure / factor, 6))
    if not bad.any():
        return table
    for value in np.unique(np.round(table.pressure[bad] / factor, 6)):
        table.dropped[f"pressure reads {value:.10g}"] += int((np.round(table.pressure[bad] / factor, 6) == value).sum())
    kept = ~bad
    return dataclasses.replace(
        table,
        time=table.time[kept],
        which=None if table.which is None else table.which[kept],
        pressure=table.pressure[kept],
        temperature=None if table.temperature is None else table.temperature[kept],
        breaks=tuple(int(kept[:one].sum()) for one in table.breaks),
    )


def _reference(shown: str, plan: Plan, about: About, table: Table) -> tuple[str | None, str]:
    """Gauge or absolute, and why when the user did not say it; None where nobody says it."""
    said = plan.unit.reference if plan.unit is not None else None
    for unit in table.units:
        said = said or unit.reference
    if said is None and plan.layout.header:
        said = reference_of(plan.layout.header[plan.pressure])
    if said is None and plan.long is not None:
        said = reference_of(plan.long.pressure)
    if about.reading is None:
        return said, "the header or the unit says so" if said else ""
    stated_unit = about.columns is not None and about.columns.unit is not None
    if said is not None and said != about.reading and not stated_unit:
        right = 'one of the two; columns = { unit = "..." } where the header is wrong'
        raise InputError(shown, "reading", f"{about.reading}, but the record says {said}", right)
    return about.reading, ""


def _last_digit(plan: Plan, unit: Unit | None) -> float:
    """What the last digit of a pressure is worth as the file writes it, Pa; 0 where no two agree on it."""
    if unit is None:
        return 0.0
    form = plan.forms[plan.pressure]
    digits = _decimals([fields[plan.pressure] for fields in plan.layout.rows], form.decimal)
    return 0.0 if digits is None else TABLE[PRESSURE][unit.name] / 10.0**digits


def _decimals(cells: Sequence[str], decimal: str) -> int | None:
    found = []
    for cell in cells:
        match = re.match(r"[^0-9]*([0-9.,' ]*[0-9])(?![0-9eE])", cell)
        if match is None:
            continue
        _, _, tail = match.group(1).partition(decimal)
        found.append(len(tail))
    return max(found) if found and max(found) <= 9 else None
