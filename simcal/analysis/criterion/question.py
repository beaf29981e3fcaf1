"""What is asked of `criterion`, in SI, and the times among which it looks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.bench.values import Level
from simcal.errors import InputError

Vector = NDArray[np.float64]

BELOW, ABOVE, EITHER, BOTH = "below", "above", "either", "both"
DIRECTIONS = (BELOW, ABOVE, EITHER, BOTH)
"""from which side a hold comes: one, whichever it happens to be, or two holds whose changes are averaged"""
HEALTHY_SHARE = 0.1
"""of the permitted leak, that a good bench has where nobody said"""
SOAKS = (10.0, 30.0, 60.0, 120.0)
WAITS = (
    0.0,
    10.0,
    20.0,
    30.0,
    45.0,
    60.0,
    90.0,
    120.0,
    180.0,
    240.0,
    300.0,
    420.0,
    600.0,
    900.0,
    1200.0,
    1800.0,
    2400.0,
)
WATCHES = (15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 240.0, 300.0, 420.0, 600.0, 900.0, 1200.0, 1800.0, 2700.0,
           3600.0, 5400.0, 7200.0, 10800.0)  # fmt: skip
"""s; times that a procedure would state"""
USUAL_SOAK = 60.0
"""s; before a given criterion where it states none"""
SHARE = 0.95
"""of the benches for which both risks have to hold"""
MOST_ROWS = 20_000
"""readings between shutting the valves and the end of the longest watch"""


@dataclass(frozen=True)
class Question:
    """permitted, healthy: the leak that must be found and the one that must pass, (value, "amount" [mol/s] or "pressure
    rate" [Pa/s]); healthy None: a tenth. soak_s, wait_s, watch_s: None: the shortest that does. longest_s: of the
    three together. readings: averaged at both ends of the watch, one every every_s. benches: drawn to look, and as
    many afresh to check; runs: holds of each. bad_share: of seals in use that leak as much as is permitted.
    """

    permitted: tuple[float, str]
    healthy: tuple[float, str] | None = None
    pressure: Level | None = None
    false_alarm: float = 0.05
    miss: float = 0.05
    direction: str = BELOW
    soak_s: float | None = None
    wait_s: float | None = None
    watch_s: float | None = None
    longest_s: float = 3600.0
    readings: int = 5
    every_s: float = 1.0
    sensor: str | None = None
    law: str = "hole"
    bad_share: float | None = None
    benches: int = 100
    runs: int = 1000
    seed: int = 1

    def healthy_share(self) -> float:
        """Of the permitted leak, that a good bench has.

        Raises:
            InputError: it is stated in another kind of unit, or is not below the permitted leak.
        """
        if self.healthy is None:
            return HEALTHY_SHARE
        if self.healthy[1] != self.permitted[1]:
            found = "one is an amount, the other a fall of pressure"
            raise InputError("command line", "--healthy-leak", found, "a unit of the kind of --permitted-leak's")
        share = self.healthy[0] / self.permitted[0]
        if not 0.0 <= share < 1.0:
            raise InputError("command line", "--healthy-leak", f"{share:.3g} of the permitted one", "less than that")
        return share


@dataclass(frozen=True)
class Grid:
    """Times [s] that are tried: soaks [s], waits [w], watches [h]; ends [e]: every wait and watch together.

    at [w, h]: index among the ends, -1 where soak apart it is longer than may be.
    """

    soaks: Vector
    waits: Vector
    watches: Vector
    ends: Vector
    at: NDArray[np.int64]
    longest_s: float

    def total(self, holds: int) -> NDArray[np.float64]:
        """Soak, wait and watch together [s, w, h] of so many holds, s; inf where that is longer than may be."""
        one = self.soaks[:, None, None] + self.waits[:, None] + self.watches
        return np.asarray(np.where((one <= self.longest_s + 1e-6) & (self.at >= 0), holds * one, np.inf))


def grid(asked: Question) -> Grid:
    """The times to look at; stated ones alone where they are stated.

    Raises:
        InputError: no soak, wait and watch fit into the longest time, or the readings do not fit into the watch.
    """
    window = asked.readings * asked.every_s
    soaks, waits, watches = (
        np.array([stated] if stated is not None else usual)
        for stated, usual in ((asked.soak_s, SOAKS), (asked.wait_s, WAITS), (asked.watch_s, WATCHES))
    )
    waits, watches = (np.unique(np.round(one / asked.every_s) * asked.every_s) for one in (waits, watches))
    fitting = watches[watches >= 2.0 * window - 1e-9]
    if not len(fitting):
        found = f"{asked.readings} readings every {asked.every_s:g} s at both ends"
        raise InputError("command line", "--watch", found, f"a watch of at least {2.0 * window:g} s, or fewer readings")
    room = asked.longest_s - float(soaks.min())
    sums = waits[:, None] + fitting
    ends = np.unique(sums[sums <= room + 1e-6])
    if not len(ends):
        found = f"{float(soaks.min() + sums.min()):g} s at least for soak, wait and watch"
        raise InputError("command line", "--longest", found, "a longer time")
    if ends[-1] / asked.every_s > MOST_ROWS:
        found = f"{ends[-1] / asked.every_s:.0f} readings"
        raise InputError("command line", "--every", found, f"at most {MOST_ROWS}: a longer time between two")
    at = np.where(sums <= room + 1e-6, np.searchsorted(ends, sums - 1e-6), -1)
    return Grid(soaks, waits, fitting, ends, at.astype(np.int64), asked.longest_s)
