"""Quantities as people write them, read into SI.

`NUMBER UNIT [abs|gauge] [+- NUMBER (UNIT|%) [(k=2)|(limits)]]`, and ranges `A..B`. Every unit is one entry
of a closed table (`table.py`); nothing is evaluated, so hostile text costs no more than its length. A decimal
point has a digit on both sides, a comma is refused, numbers are finite. A pressure level says `abs` or
`gauge`, and a difference does not. Amounts of gas per time are held as mol/s; a volume of gas always says
its temperature. A share always says % or ppm, because a bare 0.05 reads two ways; a ratio is a plain number.
"""

import difflib
import math
import re
from dataclasses import dataclass

from simcal.errors import SimcalError
from simcal.units.table import AMBIGUOUS, KINDS, TABLE, ZERO_OF

__all__ = [
    "KINDS", "LONGEST", "TABLE", "ZERO_OF", "Parsed", "UnitError", "bare", "clip", "parse", "parse_range",
    "pressure_text", "unit_names",
]  # fmt: skip

LONGEST = 200
"""Longest text read as one quantity, characters."""
_TWINS = str.maketrans({
    "±": "+-", "−": "-", "µ": "u", "μ": "u", "²": "2", "³": "3", "·": " ", "×": " ", "*": " ", "℃": "degC",
    "°": "deg", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\t": " ",
})  # fmt: skip
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")
_HOW = re.compile(r"\(\s*(?:k\s*=\s*2|limits)\s*\)$")


@dataclass(frozen=True)
class Parsed:
    """One quantity in SI.

    `value` is as stated (a gauge level is not yet absolute), `sd` one standard deviation, `shape` "exact",
    "normal" or "uniform", `reference` "absolute", "gauge" or None, `unit` the name in the table.
    """

    value: float
    sd: float = 0.0
    shape: str = "exact"
    reference: str | None = None
    unit: str = ""


class UnitError(SimcalError):
    """A text that is not a quantity of its kind: what was found, what would be right."""

    def __init__(self, found: str, right: str) -> None:
        self.found = found
        self.right = right
        super().__init__(f"{found}; {right}")

    def __reduce__(self) -> tuple[type["UnitError"], tuple[str, str]]:
        """Made again from its parts, so that it crosses from one process to another."""
        return type(self), (self.found, self.right)


def clip(text: object, longest: int = 60) -> str:
    """`text` in double quotes, cut to `longest` characters, for messages."""
    plain = str(text)
    return f'"{plain}"' if len(plain) <= longest else f'"{plain[:longest]}..."'


def parse(text: str, kind: str) -> Parsed:
    """Read one quantity of a kind of `KINDS`.

    Raises:
        UnitError: with what was found and what would be right, for any text that is not one.
    """
    plain = _plain(text, kind)
    if ".." in plain:
        raise UnitError(f"{clip(text)} is a range", f"one value is wanted, {_example(kind)}")
    head, mark, tail = plain.partition("+-")
    number, unit, reference = _value(head, kind, text)
    level = _level(number, unit, kind, text)
    if not mark:
        return Parsed(level, reference=reference, unit=unit)
    sd, shape = _spread(tail, number, unit, kind, text)
    return Parsed(level, sd, shape if sd > 0.0 else "exact", reference, unit)


def parse_range(text: str, kind: str) -> tuple[Parsed, Parsed]:
    """Read `A..B`; a unit or reference that A leaves out is that of B, and A < B.

    Raises:
        UnitError: as `parse`; also for spreads, which a range does not have.
    """
    plain = _plain(text, kind)
    low_end, unit = float(KINDS[kind].example.split()[0]), KINDS[kind].unit
    example = f'write A..B, for example "{f"{low_end:g}..{10 * low_end:g} {unit}".rstrip()}"'
    low_text, mark, high_text = plain.partition("..")
    if not mark or ".." in high_text:
        raise UnitError(f"{clip(text)} is not a range", example)
    if "+-" in plain:
        raise UnitError(f"{clip(text)} has a spread", f"a range has none; {example}")
    number, unit, reference = _value(high_text, kind, text)
    high = Parsed(_level(number, unit, kind, text), reference=reference, unit=unit)
    bare = _NUMBER.fullmatch(low_text.strip()) is not None
    if bare and unit:
        low_text = f"{low_text} {unit}"
    if reference and not low_text.rstrip().endswith(("abs", "gauge")):
        low_text = f"{low_text} {'abs' if reference == 'absolute' else 'gauge'}"
    number, unit, below = _value(low_text, kind, text)
    low = Parsed(_level(number, unit, kind, text), reference=below, unit=unit)
    if below != reference:
        raise UnitError(f"{clip(text)} mixes abs and gauge", "one reference for both ends")
    if not low.value < high.value:
        raise UnitError(f"{clip(text)} does not rise", f"the first value is below the second; {example}")
    return low, high


def bare(text: str) -> bool:
    """Whether a text is a number and nothing else."""
    return _NUMBER.fullmatch(text.translate(_TWINS).strip()) is not None


def with_unit(number: str, kind: str, unit: str = "", how: str = "write for example") -> str:
    """What to say to a number without a unit: the same number with `unit`, else with the usual one of its kind."""
    if KINDS[kind].dimension == "share":
        share = float(number)
        return f'write "{number} %"' + (f' or "{100.0 * share:.6g} %"' if 0.0 < abs(share) <= 1.0 else "")
    return f'{how} "{number} {unit or KINDS[kind].unit}"'


def unit_names(kind: str) -> tuple[str, ...]:
    """The units a kind takes, in the table's order."""
    return tuple(name for name in TABLE[KINDS[kind].dimension] if name)


def pressure_text(pascal: float, reference: str = "") -> str:
    """A pressure for a message: "6.2 bar abs", "850 Pa"."""
    number = f"{pascal / 1e5:.6g} bar" if abs(pascal) >= 1e4 else f"{pascal:.6g} Pa"
    return f"{number} {reference}".rstrip()


def _plain(text: str, kind: str) -> str:
    """The text with typographic twins replaced, after the checks that need the whole of it."""
    example = KINDS[kind].example
    if not isinstance(text, str):
        raise UnitError(f"{clip(text)} is not text", f'write a quantity in quotes, for example "{example}"')
    if len(text) > LONGEST:
        raise UnitError(f"{len(text)} characters", f'a quantity is short, for example "{example}"')
    plain = text.translate(_TWINS).replace("+/-", "+-").strip()
    if not plain:
        raise UnitError("empty text", _example(kind))
    if plain.lower() == "unknown":
        raise UnitError('"unknown"', f'this must be stated, for example "{example}"')
    return plain


def _value(head: str, kind: str, text: str) -> tuple[float, str, str | None]:
    """Number, unit and reference of the part before any spread."""
    number, rest = _number(head, kind, text)
    rest, reference = _reference(rest)
    if not rest and "" not in TABLE[KINDS[kind].dimension]:
        usual = KINDS[kind].unit if reference != "gauge" else KINDS[kind].unit.replace("abs", "gauge")
        raise UnitError(f"{clip(text)} has no unit", with_unit(f"{number:.12g}", kind, usual))
    unit = _unit(rest, kind, text)
    if kind == "pressure" and reference is None:
        raise UnitError(
            f"{clip(text)} does not say abs or gauge", f'write "{head.strip()} abs" or "{head.strip()} gauge"'
        )
    if kind != "pressure" and reference is not None:
        word = "abs" if reference == "absolute" else "gauge"
        what = "a difference" if kind == "pressure_difference" else "this"
        raise UnitError(f'{clip(text)} says "{word}"', f"{what} has no reference, leave it out")
    return number, unit, reference


def _number(head: str, kind: str, text: str) -> tuple[float, str]:
    """The number at the start of `head` and what follows it."""
    head = head.strip()
    found = _NUMBER.match(head)
    if found is None:
        digits = re.match(r"[+-]?\.[0-9]+", head)
        if digits:
            fixed = digits.group().replace(".", "0.")
            raise UnitError(f"{clip(text)} has no digit before the point", f"write {fixed}")
        if re.match(r"[+-]?(nan|inf)", head, re.IGNORECASE):
            raise UnitError(f"{clip(text)} is not a finite number", _example(kind))
        raise UnitError(f"{clip(text)} does not begin with a number", _example(kind))
    rest = head[found.end() :]
    _check_after_number(found.group(), rest, text)
    return _finite(float(found.group()), kind, text), rest.strip()


def _check_after_number(number: str, rest: str, text: str) -> None:
    """Refuse what would make the number mean something else: a comma, a lone point, a second point, a gap."""
    comma = re.match(r"[ ]?,[ ]?([0-9]*)", rest)
    if comma:
        fixed = f"{number.replace('.', '')}.{comma.group(1) or '0'}"
        raise UnitError(f"{clip(text)} has a comma", f"write {fixed}, with a decimal point")
    if re.match(r"\.(?![0-9])", rest):
        raise UnitError(f"{clip(text)} has no digit after the point", f"write {number} or {number}.0")
    if re.match(r"[ ]*(?!1/)[0-9._']", rest):
        raise UnitError(f"{clip(text)} is not one number", "write digits without gaps, one decimal point")


def _reference(rest: str) -> tuple[str, str | None]:
    """Unit text and reference, from what follows a number."""
    for word, meaning in (("abs", "absolute"), ("gauge", "gauge")):
        if rest == word or rest.endswith(" " + word):
            return rest[: -len(word)].strip(), meaning
    return rest, None


def _unit(rest: str, kind: str, text: str) -> str:
    """The table's name of a unit."""
    dimension = KINDS[kind].dimension
    found = _NAMES[dimension].get(_key(rest))
    if found is not None:
        return found
    raise UnitError(*_unknown_unit(rest, kind, text))


def _a(name: str) -> str:
    """A name with its article."""
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"


def _unknown_unit(rest: str, kind: str, text: str) -> tuple[str, str]:
    """Found and right for a unit that this kind does not take."""
    key, dimension = _key(rest), KINDS[kind].dimension
    if key in AMBIGUOUS:
        why = "does not say its temperature" if "(" in AMBIGUOUS[key] else "is not in the table"
        return f'{clip(text)}: "{key.replace(".", " ")}" {why}', f"write {AMBIGUOUS[key]}"
    glued = re.fullmatch(r"(.+?)\.?\(?(g|a|gauge|abs|absolute)\)?", key)
    if glued and glued.group(1) in _NAMES["pressure"] and dimension == "pressure":
        word = "gauge" if glued.group(2).startswith("g") else "abs"
        return f"{clip(text)}: unit {clip(rest, 30)}", f'write "{glued.group(1)} {word}"'
    for other, names in _NAMES.items():
        if key in names:
            of = "is a share" if other == "share" else f"is in units of {other}"
            return f"{clip(text)} {of}", f"{_a(dimension)} is wanted, {_example(kind)}"
    near = _near(key, dimension)
    hint = f'did you mean "{near}"?' if near else _example(kind)
    return f"{clip(text)}: unknown unit {clip(rest, 30)}", hint


def _near(key: str, dimension: str) -> str:
    """The unit of a dimension that looks most like `key`, "" if none does."""
    names = _NAMES[dimension]
    for name, shown in names.items():
        if name and name.lower() == key.lower():
            return shown
    close = difflib.get_close_matches(key, [n for n in names if n], n=1, cutoff=0.6)
    return names[close[0]] if close else ""


def _level(number: float, unit: str, kind: str, text: str) -> float:
    """A number of units in SI."""
    value = _scaled(number, TABLE[KINDS[kind].dimension][unit])
    if kind == "temperature":
        value += ZERO_OF[unit]
    return _finite(value, kind, text)


def _scaled(number: float, factor: float) -> float:
    """number x factor, by a division where that is exact (100 cm3 is then 1e-4 m3 to the last digit)."""
    inverse = 1.0 / factor
    return number / inverse if factor < 1.0 and inverse.is_integer() else number * factor


def _spread(tail: str, number: float, unit: str, kind: str, text: str) -> tuple[float, str]:
    """Standard deviation in SI and shape, from what follows `+-`."""
    tail = tail.strip()
    if "+-" in tail:
        raise UnitError(f"{clip(text)} has two spreads", "write one")
    how = _HOW.search(tail)
    body = tail[: how.start()] if how else tail
    if body.rstrip().endswith(")") and _key(body.partition("(")[0].lstrip("+-0123456789.eE ")) in ("", "%"):
        raise UnitError(f"{clip(text)}: unknown meaning of the spread", "write (k=2), (limits) or nothing")
    half, spread_unit = _spread_number(body, kind, text)
    dimension = KINDS[kind].dimension
    if spread_unit == "%" and dimension not in ("share", "ratio"):
        size = _scaled(_relative(half, number, kind, text), TABLE[dimension][unit])
    elif spread_unit == "%" or (unit == "%" and dimension == "ratio"):
        right = 'the spread in ppm, "0.05 % +- 100 ppm"' if dimension == "share" else 'plain numbers, "0.3 +- 0.02"'
        raise UnitError(f"{clip(text)}: a spread in % of a {dimension} reads two ways", right)
    else:
        size = _scaled(half, TABLE[dimension][spread_unit])
    if how is not None and "limits" in how.group():
        return _finite(size / math.sqrt(3.0), kind, text), "uniform"
    return _finite(size if how is None else 0.5 * size, kind, text), "normal"


def _spread_number(body: str, kind: str, text: str) -> tuple[float, str]:
    """Number and unit of a spread; the unit is one of the kind's, or %."""
    half, rest = _number(body, kind, text)
    if half < 0.0:
        raise UnitError(f"{clip(text)} has a negative spread", "write it without a sign")
    if _reference(rest)[1]:
        raise UnitError(f"{clip(text)}: the spread says abs or gauge", "the word goes before +-")
    if rest == "%":
        return half, "%"
    if not rest and KINDS[kind].dimension != "ratio":
        raise UnitError(f"{clip(text)}: the spread has no unit", "write it with its unit or in %")
    return half, _unit(rest, kind, text)


def _relative(half: float, number: float, kind: str, text: str) -> float:
    """A spread in % as a number in the unit of the value."""
    if kind == "temperature":
        raise UnitError(f"{clip(text)}: % of a temperature", 'write the spread in K, "20 degC +- 0.5 K"')
    if half > 100.0:
        raise UnitError(f"{clip(text)}: a spread above 100 %", "a smaller spread")
    return abs(number) * half / 100.0


def _finite(number: float, kind: str, text: str) -> float:
    if not math.isfinite(number):
        raise UnitError(f"{clip(text)} is not a finite number", _example(kind))
    return number


def _example(kind: str) -> str:
    return f'write for example "{KINDS[kind].example}"'


def _key(unit: str) -> str:
    """How a unit is looked up: products joined by a point, no blanks about brackets and slash."""
    close = re.sub(r" ?([()/]) ?", r"\1", " ".join(unit.split()))
    return re.sub(r"\(([0-9]+)[ .]?deg", r"(\1deg", re.sub(r"[ .]+", ".", close))


_NAMES = {dimension: {_key(name): name for name in names} for dimension, names in TABLE.items()}
