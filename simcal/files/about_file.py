"""From an about-file to a checked `About`."""

import dataclasses
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path

from simcal.bench.about import SCHEMA, About
from simcal.files.alone import refuse_other
from simcal.files.builder import build
from simcal.files.context import Context
from simcal.files.include import gather


def load_about(path: str | Path, sets: Sequence[str] = (), *, texts: Mapping[str, str] | None = None) -> About:
    """Read and check an about-file.

    Args:
        path: the file; its faults are reported under this name.
        sets: `--set` texts, "permitted_leak=2e-7 mol/s", applied after the includes.
        texts: the recorded texts of all files by name, to load without reading the disk.

    Raises:
        InputError: reads as the first fault; its `faults` hold all of them.
    """
    gathered = gather(path, sets, texts)
    refuse_other(gathered.data, str(path), SCHEMA)
    context = Context(gathered.report)
    about: About | None = build(About, gathered.data, "", context)
    if about is not None:
        if "capacity" not in context.spreads and re.search(r"\+-|±", str(gathered.data.get("capacity", ""))):
            context.spread("capacity", 0.0, "exact")  # stated as exact, which is not the same as bare
        about = dataclasses.replace(
            about,
            file=Path(path).name,
            spreads=context.spreads,
            assumed=tuple(context.assumed),
            texts=gathered.texts,
            hashes=gathered.hashes,
        )
        for place, found, right in faults_of(about):
            gathered.report.add(place, found, right)
    gathered.report.finish()
    assert about is not None
    return about


def faults_of(about: About) -> Iterator[tuple[str, str, str]]:
    """What no key can see alone: place, what was found, what would be right."""
    order = [(name, getattr(about, name)) for name in ("isolated_at", "watch_from", "watch_until")]
    stated = [(name, at) for name, at in order if isinstance(at, float)]
    for (early, first), (late, second) in pairwise(stated):
        if second < first or (late == "watch_until" and second == first):
            yield late, f"{second:g} s is not after {early}, {first:g} s", "a later time"
    if about.limit_at is not None and about.permitted_leak is None:
        yield "permitted_leak", "missing", 'limit_at belongs to one, permitted_leak = "2e-7 mol/s"'
    columns, form = about.columns, about.form
    if columns is not None and (columns.channel is None) != (columns.value is None):
        yield "columns", "channel and value come together", 'channel = "name", value = "value"'
    if form is None:
        return
    if form.decimal is not None and form.decimal == form.thousands:
        yield "file.thousands", f'"{form.thousands}" is the decimal mark too', "two different marks"
    rows = [(name, getattr(form, name)) for name in ("header_row", "first_row", "last_row")]
    lines = [(name, row) for name, row in rows if row is not None]
    for (early, before), (late, after) in pairwise(lines):
        if after < before or (early == "header_row" and after == before):
            yield f"file.{late}", f"line {after} is not after {early}, line {before}", "a later line"
