"""Small values that several bench objects hold: spreads, assumptions, stated pressures, shares."""

import datetime as dt
import math
from dataclasses import dataclass
from statistics import NormalDist

_NORMAL = NormalDist()
Moment = float | dt.datetime | dt.time
"""A time as an about-file states it: elapsed seconds, a clock time with its date, or a time of day."""


@dataclass(frozen=True)
class Spread:
    """How far a value may be off: standard deviation, shape, and the values that are possible at all.

    `shape` "normal" and "uniform" are of the value itself, `sd` in its unit; "log" is a normal spread of its
    logarithm, `sd` then of ln(value).
    """

    sd: float
    shape: str = "normal"
    low: float = -math.inf
    high: float = math.inf

    def at(self, value: float, share: float) -> float:
        """The value below which `share` (0..1, exclusive) of the draws lie, cut to the possible ones.

        A uniform random `share` gives a random draw of the spread truncated to low..high.
        """
        if self.shape == "uniform":
            half = math.sqrt(3.0) * self.sd
            low, high = max(value - half, self.low), min(value + half, self.high)
            return low + (high - low) * share
        if self.shape == "log":
            low, high = _log(self.low), _log(self.high)
            return math.exp(_truncated(math.log(value), self.sd, low, high, share))
        return _truncated(value, self.sd, self.low, self.high, share)


@dataclass(frozen=True)
class Assumed:
    """A value nobody stated: its dotted key, the value as one would write it, and why it is defended."""

    key: str
    value: str
    why: str


@dataclass(frozen=True)
class Level:
    """A pressure as stated: `value` in Pa, above the room's when `gauge`."""

    value: float
    gauge: bool

    def absolute(self, barometer: float) -> float:
        """Absolute pressure, Pa, with the room at `barometer`."""
        return self.value + barometer if self.gauge else self.value


@dataclass(frozen=True)
class Range:
    """The range of a sensor or device as stated: `low` and `high` in Pa, above the room's when `gauge`."""

    low: float
    high: float
    gauge: bool

    @property
    def span(self) -> float:
        """high - low, Pa."""
        return self.high - self.low

    def absolute(self, stated: float, barometer: float) -> float:
        """Absolute pressure, Pa, of a reading `stated` in this range's own reference."""
        return stated + barometer if self.gauge else stated

    def stated(self, absolute: float, barometer: float) -> float:
        """The reading of this range's own reference, Pa, at an absolute pressure."""
        return absolute - barometer if self.gauge else absolute


@dataclass(frozen=True)
class Portion:
    """A pressure difference given in Pa or as a share of something; exactly one of the two is set."""

    pascal: float | None = None
    fraction: float | None = None

    def of(self, whole: float) -> float:
        """In Pa, where a share counts of `whole` (Pa)."""
        return self.pascal if self.pascal is not None else (self.fraction or 0.0) * whole


def _truncated(mean: float, sd: float, low: float, high: float, share: float) -> float:
    if sd <= 0.0:
        return mean
    under, over = _NORMAL.cdf((low - mean) / sd), _NORMAL.cdf((high - mean) / sd)
    inside = under + (over - under) * share
    return min(max(mean + sd * _NORMAL.inv_cdf(min(max(inside, 1e-16), 1.0 - 1e-16)), low), high)


def _log(value: float) -> float:
    return math.log(value) if value > 0.0 else -math.inf
