"""Independent re-implementation, shares nothing with simcal/: counts of right, wrong and undecided.

A false accusation is a `leak` on a record whose |net leak| is at or below the permitted rate, a miss a `tight` on one
above it. A promised rate is broken when an exact binomial test says so at 1 %.
"""

import math
from dataclasses import dataclass
from typing import Any

from scipy.stats import binom

LEVEL = 0.01
NEAR = (0.5, 2.0)
"""band of |net leak| over the permitted rate that counts as near the limit"""


@dataclass(frozen=True)
class Answer:
    """One record judged: what is true, what was said, mol/s."""

    part: str
    index: int
    leak: float
    permitted: float
    verdict: str
    low: float
    high: float
    median: float
    seconds: float = 0.0
    note: str = ""

    @property
    def above(self) -> bool:
        """Whether the leak is above the permitted rate."""
        return abs(self.leak) > self.permitted

    @property
    def false(self) -> bool:
        """A tight vessel accused."""
        return self.verdict == "leak" and not self.above

    @property
    def missed(self) -> bool:
        """A leak let pass."""
        return self.verdict == "tight" and self.above

    @property
    def covered(self) -> bool:
        """Whether the interval holds the truth."""
        return self.low <= self.leak <= self.high

    @property
    def near(self) -> bool:
        """Whether the leak is near the limit."""
        return NEAR[0] <= abs(self.leak) / self.permitted <= NEAR[1]


def chance_of_so_many(count: int, n: int, rate: float) -> float:
    """P(X >= count) of n trials of that rate."""
    return float(binom.sf(count - 1, n, rate)) if n else 1.0


def broken(count: int, n: int, rate: float) -> bool:
    """Whether `count` bad ones of n break the promise of at most `rate`."""
    return chance_of_so_many(count, n, rate) < LEVEL


def median(values: list[float]) -> float | None:
    """The middle of the finite ones; None without any."""
    found = sorted(x for x in values if math.isfinite(x))
    if not found:
        return None
    half = len(found) // 2
    return found[half] if len(found) % 2 else 0.5 * (found[half - 1] + found[half])


def counts(answers: list[Answer], promised: float = 0.025, coverage: float = 0.95) -> dict[str, Any]:
    """Counts of one group and whether its promises (share of false, of missed, of covered) are broken."""
    tight = [a for a in answers if not a.above]
    leaky = [a for a in answers if a.above]
    false, missed = sum(a.false for a in tight), sum(a.missed for a in leaky)
    outside = sum(not a.covered for a in answers)
    errors = [abs(a.median / a.leak - 1.0) for a in leaky if a.leak]
    return {
        "records": len(answers),
        "tight": len(tight),
        "leaky": len(leaky),
        "false_accusations": false,
        "missed": missed,
        "outside_interval": outside,
        "coverage": 1.0 - outside / len(answers) if answers else None,
        "undecided": sum(a.verdict == "undecided" for a in answers),
        "median_rate_error": median(errors),
        "false_broken": broken(false, len(tight), promised),
        "missed_broken": broken(missed, len(leaky), promised),
        "coverage_broken": broken(outside, len(answers), 1.0 - coverage),
    }


def table(answers: list[Answer], promised: float = 0.025) -> dict[str, dict[str, Any]]:
    """Counts by part, near the limit, and of all."""
    groups = {part: [a for a in answers if a.part == part] for part in dict.fromkeys(a.part for a in answers)}
    groups["near the limit"] = [a for a in answers if a.near]
    groups["all"] = list(answers)
    return {name: counts(group, promised) for name, group in groups.items() if group}


def lines(found: dict[str, dict[str, Any]]) -> str:
    """The counts as a table of text; a promise that is broken carries an exclamation mark."""
    rows = ["part               n  tight false  leaky missed  coverage undecided rate error"]
    for name, c in found.items():
        error = "-" if c["median_rate_error"] is None else f"{100.0 * c['median_rate_error']:.1f} %"
        mark = ["!" if c[key] else " " for key in ("false_broken", "missed_broken", "coverage_broken")]
        rows.append(
            f"{name:15s} {c['records']:4d}  {c['tight']:5d} {c['false_accusations']:4d}{mark[0]}"
            f"  {c['leaky']:5d} {c['missed']:5d}{mark[1]}"
            f"   {100.0 * c['coverage']:5.1f} %{mark[2]}"
            f" {100.0 * c['undecided'] / c['records']:6.1f} % {error:>8s}"
        )
    return "\n".join(rows)
