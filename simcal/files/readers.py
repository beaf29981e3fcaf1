"""One reader for each kind of key: a TOML value in, a checked SI value out.

A reader raises `units.UnitError` (found, right); the builder adds file and place.
"""

import math
from collections.abc import Callable
from typing import Any

from simcal import units
from simcal.bench.meta import Key
from simcal.bench.sequence import Point
from simcal.bench.values import Level, Portion, Range
from simcal.files.context import Context, bounds
from simcal.files.faults import did_you_mean, found_in, one_of, short
from simcal.files.leak_rate import read_rate
from simcal.files.stated import STATED, STATED_EXAMPLES
from simcal.units import UnitError, clip

HIGHEST = 35e6
"""Highest absolute pressure of the model, Pa."""
_LOWEST_GAUGE = -110e3  # a range down to full vacuum is often stated as -1 bar or -15 psi gauge
_LONGEST = 200
_QUOTED = "write it in quotes with its unit,"
_MOST_POINTS = 1000
_MOST_WEIGHTS, _HEAVIEST = 12, 1000


def read(value: Any, meta: Key, place: str, context: Context) -> Any:
    """The checked value of a key that is no table."""
    reader = READERS.get(meta.kind, _quantity)
    return reader(value, meta, place, context)


def example(meta: Key) -> str:
    """What one would write for a key, for messages."""
    if meta.kind in units.KINDS:
        return f'"{units.KINDS[meta.kind].example}"'
    if meta.kind == "choice":
        return " or ".join(f'"{one}"' for one in meta.choices)
    return _EXAMPLES.get(meta.kind, '"..."')


def _quantity(value: Any, meta: Key, place: str, context: Context) -> float:
    if _is_number(value):
        if meta.kind == "ratio":
            return _inside(_float(value), value, meta)
        raise UnitError(found_in(value), _with_unit(short(value), meta))
    if isinstance(value, str) and meta.kind != "ratio" and units.bare(value):
        raise UnitError(f"{clip(value)} has no unit", _with_unit(value.strip(), meta))
    if not isinstance(value, str):
        raise UnitError(found_in(value), f"write it in quotes with its unit, {example(meta)}")
    parsed = units.parse(value, meta.kind)
    if parsed.sd > 0.0 and (meta.signless or not meta.spread):
        why = "is itself a spread" if meta.signless else "takes no spread"
        raise UnitError(f"{clip(value)}: this {why}", "leave out what follows +-")
    level = parsed.value
    if parsed.reference == "gauge":
        level += _barometer(value, place, context)
    _inside(level, value, meta)
    if meta.signless:
        if level > 0.0:
            context.spread(place, 0.5 * level, "normal")
        return 0.0
    if parsed.sd > 0.0:
        context.spread(place, parsed.sd, parsed.shape, meta)
    return level


def usual_unit(meta: Key) -> str:
    """The unit one would write for a quantity: that of the key's default, else of its kind; "" where there is none."""
    if meta.kind not in units.KINDS:
        return ""
    stated = "" if meta.derived else meta.default.partition(" ")[2]
    return stated or units.KINDS[meta.kind].unit


def _with_unit(number: str, meta: Key) -> str:
    """What to say to a number without a unit: the first usual unit with which it is possible at all."""
    reference = " abs" if meta.kind == "pressure" else ""
    names = [name + reference for name in units.unit_names(meta.kind)]
    for unit in (usual_unit(meta), units.KINDS[meta.kind].unit, *names):
        try:
            _inside(units.parse(f"{number} {unit}", meta.kind).value, number, meta)
        except UnitError:
            continue
        return units.with_unit(number, meta.kind, unit, _QUOTED)
    return units.with_unit(number, meta.kind, how=_QUOTED)


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _barometer(value: str, place: str, context: Context) -> float:
    if place in ("room.barometer", "barometer"):
        raise UnitError(f'{clip(value)} says "gauge"', 'a barometer reads absolute, write "1013 hPa abs"')
    return context.barometer


def _inside(level: float, value: Any, meta: Key) -> float:
    if not math.isfinite(level):
        raise UnitError(f"{value} is not a finite number", f"a value in {meta.within}")
    if meta.within:
        low, high = bounds(meta)
        slack = 1e-12 * max(abs(low), abs(high))  # 330 K and 56.85 degC are the same limit
        if not (low - slack <= level <= high + slack) or (level < low and low <= slack):
            raise UnitError(f"{_plain(value)} is outside {meta.within}", f"a value in {meta.within}")
    return level


def _number(value: Any, meta: Key, place: str, context: Context) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise UnitError(found_in(value), f"a plain number in {meta.within}")
    if isinstance(value, str):
        return _quantity(value, _plain_number(meta), place, context)
    return _inside(_float(value), value, meta)


def _plain_number(meta: Key) -> Key:
    return Key("ratio", meta.help, within=meta.within, spread=meta.spread)


def _integer(value: Any, meta: Key, _place: str, _context: Context) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise UnitError(found_in(value), f"a whole number in {meta.within}")
    _inside(_float(value), value, meta)
    return value


def _flag(value: Any, _meta: Key, _place: str, _context: Context) -> bool:
    if not isinstance(value, bool):
        raise UnitError(found_in(value), "true or false, without quotes")
    return value


def _text(value: Any, _meta: Key, _place: str, _context: Context) -> str:
    if not isinstance(value, str):
        raise UnitError(found_in(value), "a text in quotes")
    if not value.strip() or len(value) > _LONGEST or not value.isprintable():
        raise UnitError(f"{clip(value)} is empty, too long or not printable", "one short line of text")
    return value


def _choice(value: Any, meta: Key, _place: str, _context: Context) -> str:
    if not isinstance(value, str):
        raise UnitError(found_in(value), f"one of {', '.join(meta.choices)}, in quotes")
    if value not in meta.choices:
        raise UnitError(f"{clip(value)} is not known", one_of(value, meta.choices))
    return value


def _names(value: Any, meta: Key, place: str, context: Context) -> tuple[str, ...]:
    if not isinstance(value, list) or len(value) > 50:
        raise UnitError(found_in(value), 'a short list of texts, ["..."]')
    return tuple(_text(one, meta, place, context) for one in value)


def _weights(value: Any, meta: Key, _place: str, _context: Context) -> tuple[float, ...]:
    numbers = isinstance(value, list) and all(_is_number(one) and 0 <= one <= _HEAVIEST for one in value)
    if not numbers or len(value) > _MOST_WEIGHTS or not any(value):
        raise UnitError(found_in(value), f"a list of numbers from 0 to {_HEAVIEST}, not all 0: {meta.help}")
    return tuple(_float(one) for one in value)


def _node(value: Any, meta: Key, _place: str, context: Context) -> str:
    known = (*context.nodes, *meta.choices)
    if not isinstance(value, str):
        raise UnitError(found_in(value), f"the name of a volume: {', '.join(known)}")
    if value not in known:
        raise UnitError(f"there is no volume {clip(value)}", did_you_mean(value, known))
    return value


def _between(value: Any, meta: Key, place: str, context: Context) -> tuple[str, str]:
    if not isinstance(value, list) or len(value) != 2 or not all(isinstance(one, str) for one in value):
        raise UnitError(found_in(value), 'two names, ["manifold", "port"]')
    outside = ("supply", "exhaust", "room")
    for one in value:
        if one in outside and one not in meta.choices:
            raise UnitError(f"{clip(one)} is no volume", "a line joins two volumes; put a valve at the boundary")
        _node(one, meta, place, context)
    if value[0] == value[1]:
        raise UnitError(f"both ends are {clip(value[0])}", "two different names")
    if all(one in outside for one in value):
        raise UnitError("neither end is a volume", f"one of {', '.join(context.nodes)} at one end")
    return value[0], value[1]


def _stated_level(value: Any, meta: Key, place: str, context: Context) -> Level | str:
    """A pressure level, or one of the words that may stand for it."""
    if isinstance(value, str) and value in meta.choices:
        return value
    try:
        return _level(value, meta, place, context)
    except UnitError as error:
        words = "".join(f', or "{one}"' for one in meta.choices)
        raise UnitError(error.found, f"{error.right}{words}") from None


def _level(value: Any, _meta: Key, _place: str, context: Context) -> Level:
    if not isinstance(value, str):
        raise UnitError(found_in(value), 'write it in quotes with unit and reference, "21 bar gauge"')
    parsed = units.parse(value, "pressure")
    if parsed.sd > 0.0:
        raise UnitError(f"{clip(value)}: this takes no spread", "leave out what follows +-")
    level = Level(parsed.value, parsed.reference == "gauge")
    if not 0.0 <= level.absolute(context.barometer) <= HIGHEST:
        raise UnitError(f"{clip(value)} is outside 0..35 MPa abs", "a pressure in that range")
    return level


def _range(value: Any, meta: Key, place: str, context: Context) -> Range:
    """`full_scale` is one pressure, from 0; `range` is two."""
    if not isinstance(value, str):
        raise UnitError(found_in(value), 'write it in quotes, "20 bar gauge" or "-1..5 bar gauge"')
    if ".." in value:
        low, high = units.parse_range(value, "pressure")
        found = Range(low.value, high.value, high.reference == "gauge")
    else:
        full = _level(value, meta, place, context)
        found = Range(0.0, full.value, full.gauge)
    if found.low >= found.high:
        raise UnitError(f"{clip(value)} is not above 0", 'a full scale above 0, or range = "A..B"')
    lowest = _LOWEST_GAUGE if found.gauge else 0.0
    if found.low < lowest or found.absolute(found.high, context.barometer) > HIGHEST:
        raise UnitError(f"{clip(value)} goes beyond 0..35 MPa abs", "a range inside it")
    if found.span < 100.0:
        raise UnitError(f"{clip(value)} spans less than 100 Pa", "a wider range")
    return found


def _portion(value: Any, meta: Key, _place: str, _context: Context) -> Portion:
    if not isinstance(value, str) or units.bare(value):
        raise UnitError(found_in(value), 'a pressure difference or a share in quotes, "50 Pa" or "1 %"')
    if _is_share(value):
        share = units.parse(value, "share")
        if not 0.0 <= share.value <= 1.0 or share.sd > 0.0:
            raise UnitError(f"{clip(value)} is outside 0..100 %", 'a share without spread, "1 %"')
        return Portion(fraction=share.value)
    stated = units.parse(value, "pressure_difference")
    if stated.sd > 0.0:
        raise UnitError(f"{clip(value)}: this takes no spread", "leave out what follows +-")
    return Portion(pascal=_inside(stated.value, value, meta))


def _points(value: Any, meta: Key, place: str, context: Context) -> tuple[Point, ...]:
    if not isinstance(value, list) or len(value) > _MOST_POINTS or (meta.required and not value):
        what = f"{len(value)} points" if isinstance(value, list) else found_in(value)
        raise UnitError(what, f'a list of 1 to {_MOST_POINTS} points, ["0 %", "50 %", "10 bar gauge"]')
    points = []
    for number, one in enumerate(value, start=1):
        try:
            points.append(_point(one, meta, place, context))
        except UnitError as error:
            raise UnitError(f"point {number}: {error.found}", error.right) from None
    return tuple(points)


def _point(value: Any, meta: Key, place: str, context: Context) -> Point:
    if isinstance(value, str) and _is_share(value):
        share = units.parse(value, "share")
        percent = round(share.value * 100.0, 12)
        if not 0.0 <= percent <= 100.0 or share.sd > 0.0:
            raise UnitError(f"{clip(value)} is outside 0..100 %", "a share of the device's span")
        return Point(percent=percent)
    if not isinstance(value, str) or units.bare(value):
        raise UnitError(found_in(value), 'write "50 %" or "10 bar gauge", in quotes')
    return Point(level=_level(value, meta, place, context))


def _is_share(value: str) -> bool:
    """Whether the value itself, not its spread, is in %."""
    return value.replace("±", "+-").partition("+-")[0].rstrip().endswith("%")


def _float(value: int | float) -> float:
    try:
        return float(value)
    except OverflowError:
        raise UnitError("a number of too many digits", "a plain number") from None


def _plain(value: Any) -> str:
    return clip(value) if isinstance(value, str) else f"{value:.6g}"


READERS: dict[str, Callable[[Any, Key, str, Context], Any]] = {
    "number": _number,
    "integer": _integer,
    "flag": _flag,
    "text": _text,
    "choice": _choice,
    "names": _names,
    "weights": _weights,
    "node": _node,
    "between": _between,
    "level": _stated_level,
    "range": _range,
    "portion": _portion,
    "points": _points,
    "leak_rate": read_rate,
    **STATED,
}
_EXAMPLES = {
    "number": "50",
    "integer": "1",
    "flag": "true",
    "text": '"reference"',
    "node": '"port"',
    "between": '["manifold", "port"]',
    "level": '"21 bar gauge"',
    "range": '"20 bar gauge"',
    "portion": '"1 %"',
    "points": '["0 %", "50 %", "100 %"]',
    "leak_rate": '"2e-8 mol/s"',
    "names": '["drift of a year"]',
    "weights": "[1, 1, 1, 1, 1, 0, 0]",
    **STATED_EXAMPLES,
}
