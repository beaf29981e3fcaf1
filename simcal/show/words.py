"""Numbers and names as people read them: few digits, ASCII where the stream has no more."""

import math
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

PRESSURE_UNITS = {
    "Pa": 1.0,
    "hPa": 100.0,
    "mbar": 100.0,
    "kPa": 1e3,
    "bar": 1e5,
    "MPa": 1e6,
    "psi": 6894.757293168361,
}
"""Pa in one unit; psi from the pound-force and the inch, both exact by definition."""

NONE = "-"
"""Stands in a table where there is no number."""


@dataclass(frozen=True)
class Marks:
    """The few characters beyond ASCII that a text may use; the minus stays ASCII, so that it is read back."""

    plus_minus: str
    micro: str
    degree: str
    dots: str
    up: str
    down: str
    unicode: bool


UNICODE = Marks("±", "µ", "°", "…", "↑", "↓", True)
ASCII = Marks("+-", "u", " deg", "...", "up", "down", False)


def marks(unicode: bool) -> Marks:
    """The characters for a stream that can take them all, or only ASCII."""
    return UNICODE if unicode else ASCII


def plain(name: object, unicode: bool = True, longest: int | None = None) -> str:
    """A user's word on one line without control or direction characters, cut to `longest` letters."""
    line = " ".join(str(name).split())
    line = "".join(c if unicodedata.category(c)[0] != "C" else "?" for c in line)
    if longest is not None and len(line) > longest:
        line = line[: max(longest - len(marks(unicode).dots), 1)].rstrip() + marks(unicode).dots
    return line if unicode else to_ascii(line)


TWINS = str.maketrans(
    {
        "±": "+-",
        "µ": "u",
        "μ": "u",
        "°": " deg",
        "…": "...",
        "–": "-",
        "—": "-",
        "−": "-",
        "²": "2",
        "³": "3",
        "·": " ",
        "×": "x",
        "‘": "'",
        "’": "'",
        "“": '"',
        "”": '"',
        "↑": "up",
        "↓": "down",
        "ß": "ss",
        "ø": "o",
        "Ø": "O",
        "æ": "ae",
        "Æ": "AE",
        "ł": "l",
        "Ł": "L",
        "≤": "<=",
        "≥": ">=",
        "∞": "inf",
        "\u00a0": " ",
    }
)


def to_ascii(text: str) -> str:
    """`text` in ASCII: twins where there are any, accents dropped, anything else as its escape."""
    kept = []
    for c in text.translate(TWINS):
        base = unicodedata.normalize("NFKD", c)
        bare = "".join(b for b in base if not unicodedata.combining(b))
        kept.append(bare if bare.isascii() else c.encode("ascii", "backslashreplace").decode("ascii"))
    return "".join(kept)


def fixed(value: float | None, decimals: int) -> str:
    """A number with so many decimals; `NONE` for none; never "-0.0"."""
    if value is None or not math.isfinite(value):
        return NONE
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def figures(value: float | None, count: int = 3) -> str:
    """A number with about `count` significant figures, without an exponent between 1e-4 and 1e6."""
    if value is None or not math.isfinite(value):
        return NONE
    if value == 0.0:
        return "0"
    size = abs(value)
    if not 1e-4 <= size < 1e6:
        return f"{value:.{count - 1}e}"
    return fixed(value, max(0, count - 1 - math.floor(math.log10(size))))


def decimals_for(largest: float, count: int = 3) -> int:
    """Decimals that show the largest number of a column with `count` significant figures."""
    if not math.isfinite(largest) or largest == 0.0:
        return 0
    return min(max(0, count - 1 - math.floor(math.log10(abs(largest)))), 9)


def rounded_up(seconds: float | None, decimals: int) -> float | None:
    """Seconds rounded up to so many decimals, so that nobody reads too early."""
    if seconds is None or not math.isfinite(seconds):
        return None
    scale = 10.0**decimals
    return math.ceil(seconds * scale - 1e-6) / scale


def time_decimals(values: Iterable[float | None]) -> int:
    """Decimals for a column of times in seconds, by the longest of them."""
    longest = max((v for v in values if v is not None and math.isfinite(v)), default=0.0)
    return 2 if longest < 10.0 else 1 if longest < 1000.0 else 0


def seconds(value: float | None, decimals: int | None = None) -> str:
    """A time with its unit, rounded up, such as "0.35 s", "12.4 s"."""
    if value is None:
        return NONE
    places = time_decimals([value]) if decimals is None else decimals
    return f"{fixed(rounded_up(value, places), places)} s"


def duration(value: float | None) -> str:
    """A length of time in the words of a clock: "45.2 s", "11 min 20 s", "1 h 45 min"."""
    if value is None or not math.isfinite(value):
        return NONE
    if value < 100.0:
        return seconds(value)
    if value < 3600.0:
        minutes, rest = divmod(math.ceil(value - 1e-6), 60)
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    hours, minutes = divmod(math.ceil(value / 60.0 - 1e-6), 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def spread_decimals(spread: float) -> int:
    """Decimals that show a spread with two figures when it starts with 1 or 2, else with one."""
    if spread <= 0.0 or not math.isfinite(spread):
        return 3
    exponent = math.floor(math.log10(spread))
    leading = spread / 10.0**exponent
    return max(0, (1 if leading < 2.95 else 0) - exponent)


def with_spread(value: float, spread: float, unit: str = "", unicode: bool = True) -> str:
    """A quantity with its stated uncertainty, both to the same decimals: "52.0 ± 2.6 cm3"."""
    places = spread_decimals(spread)
    text = f"{fixed(value, places)} {marks(unicode).plus_minus} {fixed(spread, places)}"
    return f"{text} {unit}" if unit else text


AMOUNTS = ((1.0, "mol/s"), (1e-3, "mmol/s"), (1e-6, "umol/s"), (1e-9, "nmol/s"))
ENERGIES = ((1e6, "MJ"), (1e3, "kJ"), (1.0, "J"))
MASSES = ((1.0, "kg"), (1e-3, "g"), (1e-6, "mg"))
DIFFERENCES = ((1e6, "MPa"), (1e3, "kPa"), (1.0, "Pa"), (1e-3, "mPa"))


def scale(largest: float, units: tuple[tuple[float, str], ...]) -> tuple[float, str]:
    """The largest unit that leaves `largest` at or above 1, else the smallest unit."""
    for factor, unit in units:
        if abs(largest) >= factor:
            return factor, unit
    return units[-1]


def in_units(value: float, units: tuple[tuple[float, str], ...], unicode: bool = True, count: int = 3) -> str:
    """One value in the unit that fits it: "310 J", "12.1 g"."""
    factor, unit = scale(value, units)
    return f"{figures(value / factor, count)} {with_micro(unit, unicode)}"


def with_micro(unit: str, unicode: bool) -> str:
    """A unit's name with the micro sign where the stream has it."""
    return unit.replace("umol", f"{marks(unicode).micro}mol")


def counted(count: int, singular: str, plural: str = "") -> str:
    """ "1 point", "3 points"."""
    return f"{count} {singular if count == 1 else plural or singular + 's'}"
