"""Counting: was a promised rate kept, and what may the rate be.

Exact binomial tails through the incomplete beta function. The interval: C. J. Clopper and E. S. Pearson,
Biometrika 26 (1934) 404.
"""

from __future__ import annotations

from scipy.special import betainc, betaincinv

LEVEL = 0.01
"""a promise counts as broken when so small a probability remains that it was kept"""


def _checked(count: int, n: int) -> None:
    if not 0 <= count <= n or n < 1:
        raise ValueError(f"count(={count}) must be 0 to n(={n}), and n at least 1.")


def chance_of_more(count: int, n: int, rate: float) -> float:
    """Probability of `count` or more events in n trials that each have them with probability `rate` (0 to 1)."""
    _checked(count, n)
    return 1.0 if count == 0 else float(betainc(count, n - count + 1, rate))


def broken(count: int, n: int, promised: float, level: float = LEVEL) -> bool:
    """Whether `count` bad events in n trials reject, at `level`, the promise that their rate is at most `promised`."""
    return chance_of_more(count, n, promised) < level


def coverage_broken(inside: int, n: int, promised: float, level: float = LEVEL) -> bool:
    """Whether `inside` of n intervals holding the truth reject, at `level`, a coverage of at least `promised`."""
    return broken(n - inside, n, 1.0 - promised, level)


def most_allowed(n: int, promised: float, level: float = LEVEL) -> int:
    """The largest count of bad events in n trials that does not reject the promise."""
    low, high = 0, n
    while low < high:
        middle = (low + high + 1) // 2
        if broken(middle, n, promised, level):
            high = middle - 1
        else:
            low = middle
    return low


def clopper_pearson(count: int, n: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact interval (low, high) of a rate after `count` events in n trials; each end leaves (1 - confidence)/2."""
    _checked(count, n)
    out = 0.5 * (1.0 - confidence)
    low = 0.0 if count == 0 else float(betaincinv(count, n - count + 1, out))
    high = 1.0 if count == n else float(betaincinv(count + 1, n - count, 1.0 - out))
    return low, high
