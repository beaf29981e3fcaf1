"""What came before the valves shut: the ways a vessel can have come to its pressure, each with its weight.

The heat that a fill leaves in gas and wall follows from the first law: of an ideal gas from a supply as warm as the
room, V (p - p_before), whatever the speed. It ties the slow cooling of the body, which looks like a leak, to the quick
cooling of the gas, which does not. Where nobody said what came before, several pasts are weighed against the record.
"""

from __future__ import annotations

from dataclasses import dataclass

from simcal.analysis.judge.case import Case, Guess

MOVE, SOAK = 5.0, 15.0
"""s; of a past that nobody told"""
UNTOLD = 0.8
"""standard deviation of the logarithm of its time scale"""


@dataclass(frozen=True)
class History:
    """One past: its points (time s, absolute pressure Pa), first one at rest, last one when the valves shut."""

    name: str
    weight: float
    points: tuple[tuple[float, float], ...]
    heat: Guess  # factor on the heat of the move
    pace_sd: float
    told: bool

    @property
    def step(self) -> float:
        """Pressure at the end less that at the start, Pa."""
        return self.points[-1][1] - self.points[0][1]

    @property
    def rested(self) -> float:
        """Time from the middle of the move's pressure to isolation, s."""
        middle = 0.5 * (self.points[0][1] + self.points[-1][1])
        above = self.points[-1][1] > middle
        last = max(time for time, p in self.points if (p > middle) != above or time == self.points[0][0])
        return -last


def histories(case: Case, p0: float) -> tuple[History, ...]:
    """The pasts that may have led to pressure `p0` at isolation; weights sum to 1."""
    known = _ending(case.past, p0)
    if len(known) > 1 and case.past_rested:
        return (History("told", 1.0, known, Guess(1.0, case.heat_sd), case.past_sd, True),)
    room = case.barometer

    def one(name: str, weight: float, before: float, heat: Guess) -> History:
        return History(name, weight, _from(before, known), heat, UNTOLD, False)

    if p0 > room:
        usual = one("from below", 0.55, room, Guess(1.0, 0.2))
        seldom = one("from above", 0.2, 1.5 * p0, Guess(1.0, 0.6))
    else:
        usual = one("from above", 0.55, room, Guess(1.0, 0.2))
        seldom = one("from below", 0.2, 0.1 * p0, Guess(1.0, 0.35))
    return usual, seldom, one("unknown", 0.25, room, Guess(0.3, 0.7))


def _from(before: float, known: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """A move from pressure `before`, and a soak, put in front of what is known."""
    start, p = known[0]
    return ((start - SOAK - MOVE, before), (start - SOAK, p), *known)


def _ending(past: tuple[tuple[float, float], ...], p0: float) -> tuple[tuple[float, float], ...]:
    """What is known of the past, brought to end at isolation with the pressure found there."""
    early = tuple(point for point in past if point[0] < 0.0)
    return (*early, (0.0, p0))
