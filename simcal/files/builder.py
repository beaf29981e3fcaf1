"""The one builder: a TOML table in, a frozen object of a class with `meta.Key` fields out."""

import re
from typing import Any

from simcal import units
from simcal.bench.meta import Key, keys_of
from simcal.bench.parts import BOUNDARIES
from simcal.files.complete import COMPLETE, UNSAID
from simcal.files.context import Context
from simcal.files.faults import did_you_mean, near
from simcal.files.readers import example, read
from simcal.units import clip

_NAME = re.compile(r"[A-Za-z0-9_-]{1,40}")
_MOST_NAMED = 256


def build(cls: type, table: Any, place: str, context: Context) -> Any | None:
    """The object of a table, or None when it has faults, which then stand in the report."""
    if not isinstance(table, dict):
        context.report.add(place, "is not a table", f"[{place}] with keys {', '.join(list(keys_of(cls))[:4])} ...")
        return None
    before = len(context.report.faults)
    known = keys_of(cls)
    _refuse_unknown(table, cls, place, context)
    values: dict[str, Any] = {}
    for name, (field, meta) in known.items():
        value = _value(table, name, meta, _join(place, name), context)
        if value is not None:
            values[field.name] = value
    if len(context.report.faults) > before:
        return None
    silent = UNSAID[cls](values) if cls in UNSAID else ()
    for name, (field, meta) in known.items():
        if field.name not in values and meta.why and not meta.derived and name not in silent:
            context.assume(_join(place, name), meta.default, meta.why)
    if cls in COMPLETE:
        COMPLETE[cls](values, place, context)
    return cls(**values) if len(context.report.faults) == before else None


def _value(table: dict[str, Any], name: str, meta: Key, place: str, context: Context) -> Any:
    """The value of one key, None when it is absent, faulty or left unknown."""
    if meta.other and meta.other in table:
        if name in table:
            context.report.add(place, f"{name} and {meta.other} are both given", "one of them")
            return None
        name, place = meta.other, place[: -len(name)] + meta.other
    if name not in table:
        if meta.required:
            context.report.add(place, "missing", _add(place, name, meta))
        return None
    value = table[name]
    if meta.kind == "table":
        assert meta.of is not None
        return build(meta.of, value, place, context)
    if meta.kind == "tables":
        return _named(value, meta, place, context)
    if _is_unknown(value, meta):
        if not meta.why:
            context.report.add(place, '"unknown"', "this must be stated, or the key left out")
        return None
    try:
        return read(value, meta, place, context)
    except units.UnitError as error:
        context.report.add(place, error.found, error.right)
        return None


def _is_unknown(value: Any, meta: Key) -> bool:
    """Whether an optional quantity or choice is left open in so many words."""
    open_kinds = not meta.required and meta.kind not in ("text", "names", "node")
    return open_kinds and isinstance(value, str) and value.strip().lower() == "unknown"


def _named(table: Any, meta: Key, place: str, context: Context) -> dict[str, Any] | None:
    """A table of named tables, `[volume.port]`; those with faults are left out."""
    assert meta.of is not None
    keys = list(keys_of(meta.of))
    if not isinstance(table, dict) or not all(isinstance(one, dict) for one in table.values()):
        context.report.add(
            place, "is not a table of named tables", f"[{place}.NAME] with keys {', '.join(keys[:3])} ..."
        )
        return None
    if len(table) > _MOST_NAMED or (meta.required and not table):
        context.report.add(place, f"{len(table)} entries", f"1 to {_MOST_NAMED}")
        return None
    found = {}
    for name, inner in table.items():
        if not _NAME.fullmatch(name) or (place == "volume" and name in BOUNDARIES):
            right = "letters, digits, _ and -, at most 40, and not supply, exhaust or room"
            context.report.add(f"{place}.{name}", f"{clip(name)} cannot be a name", right)
            continue
        one = build(meta.of, inner, f"{place}.{name}", context)
        if one is not None:
            found[name] = one
    return found


def _refuse_unknown(table: dict[str, Any], cls: type, place: str, context: Context) -> None:
    known = keys_of(cls)
    spelled = [*known, *(meta.other for _, meta in known.values() if meta.other)]
    for name in table:
        if name not in spelled:
            context.report.add(
                _join(place, name), "unknown key", _home(name, cls, place) or did_you_mean(name, spelled)
            )


def _home(name: str, cls: type, place: str) -> str:
    """Where an unknown key would belong: a table inside this one that has it."""
    for inner, (_, meta) in keys_of(cls).items():
        if meta.kind == "table" and meta.of is not None and name in keys_of(meta.of) and not near(name, keys_of(cls)):
            return f"it belongs to {_join(place, inner)}"
    return ""


def _add(place: str, name: str, meta: Key) -> str:
    if meta.kind == "table":
        return f"add a table [{place}]"
    if meta.kind == "tables":
        return f"add at least one table [{place}.NAME]"
    other = f", or {meta.other}" if meta.other else ""
    return f"add {name} = {example(meta)}{other}"


def _join(place: str, name: str) -> str:
    return f"{place}.{name}" if place else name
