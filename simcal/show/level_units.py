"""The unit in which the pressure levels of an answer are told: one rule for every command."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping

from simcal.show import words

LEVEL_TEXT = re.compile(r"\d\s*(Pa|hPa|mbar|kPa|bar|MPa|psi)\s+(?:abs|gauge)\b")
BAROMETER = re.compile(r"(?m)^.*\bbarometer\b.*$")
"""Lines whose unit is the weather's, not the bench's."""


def unit_in(texts: Mapping[str, str]) -> str | None:
    """The unit most of the levels in the user's files are written in; None when there is no level."""
    found = Counter(unit for text in texts.values() for unit in LEVEL_TEXT.findall(text))
    return max(found, key=lambda unit: (found[unit], unit)) if found else None


def unit_of_levels(texts: Mapping[str, str]) -> str | None:
    """The same of about-files, without the barometer: its unit is the weather's, not the bench's."""
    return unit_in({name: BAROMETER.sub("", text) for name, text in texts.items()})


def level_unit(levels: Iterable[float], wanted: str | None) -> str:
    """The unit of the levels: the user's own when its numbers stay handy, else kPa, bar or MPa by size."""
    largest = max((abs(v) for v in levels), default=0.0)
    if wanted is not None and 0.05 <= largest / words.PRESSURE_UNITS[wanted] < 1e5:
        return wanted
    return "kPa" if largest < 2e5 else "bar" if largest < 1e7 else "MPa"


def level_decimals(levels: Iterable[float]) -> int:
    """Fewest decimals, 1 to 5, that show every level within 2e-6 of the largest."""
    numbers = list(levels)
    largest = max((abs(v) for v in numbers), default=0.0)
    first = 2 if largest < 100.0 else 1 if largest < 1000.0 else 0
    for decimals in range(first, 5):
        if all(abs(round(v, decimals) - v) <= 2e-6 * largest for v in numbers):
            return decimals
    return 5
