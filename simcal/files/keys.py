"""The key reference: every key of every kind of file, from the metadata that also reads them."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from simcal import units
from simcal.bench.about import About
from simcal.bench.bench import Bench
from simcal.bench.lab import Lab
from simcal.bench.meta import Key, keys_of
from simcal.errors import InputError
from simcal.files.faults import did_you_mean
from simcal.files.readers import usual_unit

KINDS: dict[str, type] = {"bench": Bench, "about": About, "lab": Lab}
"""Kind of file -> the class its table becomes."""
_WORDS = {
    "text": "text",
    "choice": "one of",
    "flag": "true or false",
    "integer": "whole number",
    "number": "plain number",
    "node": "name of a volume",
    "between": "two names",
    "level": "pressure level",
    "range": "pressure level or range",
    "portion": "pressure difference or %",
    "points": "list of % or pressure levels",
    "names": "list of texts",
    "weights": "list of numbers",
    "share": "share",
    "ratio": "plain number",
    "moment": "elapsed or clock time",
    "leak": "leak limit",
    "column": "header text or number from 1",
    "unit": "unit",
    "zone": "zone of a clock",
    "leak_rate": "amount, mass or pressure per time",
}


@dataclass(frozen=True)
class Row:
    """One key as a user reads it; `key` holds NAME where the user chooses a name."""

    key: str
    kind: str
    unit: str
    range: str
    default: str
    help: str


def rows(kind: str) -> list[Row]:
    """Every key of one kind of file, in the order of the file.

    Raises:
        InputError: for a kind that is not known.
    """
    if kind not in KINDS:
        raise InputError("command line", "KIND", f'"{kind}" is no kind of file', did_you_mean(kind, KINDS))
    return [
        Row("include", "list of file names", "", "", "", "files whose tables join this one"),
        *_rows(KINDS[kind], ""),
    ]


def _rows(cls: type, place: str) -> Iterator[Row]:
    for name, (_, meta) in keys_of(cls).items():
        key = f"{place}.{name}" if place else name
        if meta.kind in ("table", "tables"):
            assert meta.of is not None
            yield from _rows(meta.of, f"{key}.NAME" if meta.kind == "tables" else key)
            continue
        yield _row(key, meta)
        if meta.other:
            yield _row(f"{key[: -len(name)]}{meta.other}", replace(meta, other=name))


def _row(key: str, meta: Key) -> Row:
    words = _WORDS.get(meta.kind, meta.kind.replace("_", " "))
    if meta.kind in units.KINDS and meta.kind not in _WORDS:
        words = units.KINDS[meta.kind].dimension + (" level" if units.KINDS[meta.kind].level else "")
        words += " difference" if meta.kind.endswith("_difference") else ""
    range_ = _range(meta)
    default = meta.default or "-"
    if meta.required:
        default = f"required, or {meta.other}" if meta.other else "required"
    return Row(key, words, _unit(meta), range_, default, meta.help)


def _range(meta: Key) -> str:
    """What may stand there, where it is not any text."""
    if meta.kind == "choice":
        return ", ".join(meta.choices)
    if meta.kind == "unit":
        return ", ".join(units.unit_names(meta.choices[0]))
    if meta.kind == "level" and meta.choices:
        return f"or {', '.join(meta.choices)}"
    return meta.within


def _unit(meta: Key) -> str:
    """A unit one would write, with abs or gauge where it is a level."""
    if meta.kind in ("level", "range", "points"):
        return "bar abs or gauge"
    if meta.kind == "leak_rate":
        return "mol/s, g/a or Pa/min"
    if meta.kind == "portion":
        return "Pa or %"
    if meta.kind == "share":
        return "%, written with its sign"
    if meta.kind == "pressure":
        return "bar abs or gauge"
    return usual_unit(meta)
