"""How long something lasts: distributions of times by their quantiles, so that one number of a stream makes one time.

Times are in any one unit. Sources: the quantile functions are those of the distributions by definition.
"""

import math
from dataclasses import dataclass

from scipy.special import ndtri

LATE = 0.9
"""The share of times that are not longer than the `late` one."""
_LATE_SIGMAS = float(ndtri(LATE))
FIXED, EXPONENTIAL, SKEWED, EVEN = "fixed", "exponential", "skewed", "even"


@dataclass(frozen=True)
class Lasting:
    """A distribution of times > 0.

    shape: "fixed"; "exponential" with mean `usual`; "skewed", log-normal with median `usual` and nine in ten not longer
        than `late`; "even" between `usual` and `late`.
    """

    shape: str
    usual: float
    late: float = 0.0

    def at(self, p: float) -> float:
        """The time that is not exceeded with probability p (0 < p < 1)."""
        if self.shape == EXPONENTIAL:
            return -self.usual * math.log1p(-p)
        if self.shape == SKEWED:
            return self.usual * math.exp(self._sigma() * float(ndtri(p)))
        if self.shape == EVEN:
            return self.usual + (self.late - self.usual) * p
        return self.usual

    def mean(self) -> float:
        """Its mean."""
        if self.shape == SKEWED:
            return self.usual * math.exp(0.5 * self._sigma() ** 2)
        return 0.5 * (self.usual + self.late) if self.shape == EVEN else self.usual

    def _sigma(self) -> float:
        """Standard deviation of the natural logarithm."""
        return math.log(self.late / self.usual) / _LATE_SIGMAS


def fixed(time: float) -> Lasting:
    """Always the same."""
    return Lasting(FIXED, time)


def skewed(usual: float, late: float) -> Lasting:
    """Median `usual`; one in ten takes longer than `late` >= usual."""
    return Lasting(SKEWED, usual, late) if late > usual else fixed(usual)
