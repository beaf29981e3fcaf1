"""What a field of a bench object says about itself: kind, range, unit, default, help."""

import dataclasses
from dataclasses import dataclass
from typing import Any

from simcal import units

REQUIRED = dataclasses.MISSING


@dataclass(frozen=True)
class Key:
    """The metadata of one key of a file.

    `kind` is one of `units.KINDS` or: "text", "choice", "flag", "integer", "number", "node" (name of a
    volume), "between" (two of them), "level" (a pressure kept as stated), "range", "portion" (a pressure
    difference or a share), "points", "names", "weights", "leak_rate" (`files.leak_rate`), "table", "tables".
    `within` is the range a value must lie in, as text.
    `default` is taken when the key is absent, as text ("" when it is required or simply absent),
    `derived` when that follows from other values; `why` is the reason that then stands in `assumed`
    ("unknown" is allowed exactly where there is one). `signless` marks a size whose sign is unknown (value
    0, standard deviation half the size), `spread` whether `+-` is allowed, `of` the class of a table,
    `other` a second spelling of the same key.
    """

    kind: str
    help: str
    within: str = ""
    default: str = ""
    required: bool = False
    why: str = ""
    choices: tuple[str, ...] = ()
    name: str = ""
    other: str = ""
    signless: bool = False
    spread: bool = True
    of: type | None = None
    derived: bool = False


def key(kind: str, help: str, *, default: Any = REQUIRED, derived: str = "", **more: Any) -> Any:
    """A dataclass field with its `Key`.

    A default of a quantity is written as text ("10 ms") and becomes its SI number; other defaults are taken
    as they are. Without a default the key is required. `derived` says in words how a default follows from
    other values; the number given here then only holds the place.
    """
    required = default is REQUIRED
    shown = derived or ("" if required or default is None else _shown(default))
    meta = Key(kind, help, default=shown, required=required, derived=bool(derived), **more)
    if required:
        return dataclasses.field(metadata={"key": meta})
    if isinstance(default, dict):
        return dataclasses.field(default_factory=dict, metadata={"key": meta})
    if isinstance(default, str) and kind in units.KINDS:
        default = units.parse(default, kind).value
    return dataclasses.field(default=default, metadata={"key": meta})


def keys_of(cls: type) -> dict[str, tuple[dataclasses.Field[Any], Key]]:
    """Key as written in a file -> its field and metadata, in the order of the class."""
    found = {}
    for field in dataclasses.fields(cls):
        meta = field.metadata.get("key")
        if meta is not None:
            found[meta.name or field.name] = (field, meta)
    return found


def _shown(default: Any) -> str:
    if isinstance(default, bool):
        return "true" if default else "false"
    if isinstance(default, (dict, tuple)):
        return ""
    return str(default)
