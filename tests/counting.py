"""Whether a promised rate was kept: the project's rule for promises, an exact binomial test at 1 %."""

from scipy.stats import binom

LEVEL = 0.01
"""a promise counts as broken when so small a probability remains that it was kept"""


def broken(count: int, n: int, promised: float, level: float = LEVEL) -> bool:
    """Whether `count` bad events in n trials reject, at `level`, the promise that their rate is at most `promised`."""
    return bool(binom.sf(count - 1, n, promised) < level)


def most_allowed(n: int, promised: float, level: float = LEVEL) -> int:
    """The largest count of bad events in n trials that does not reject the promise."""
    return next(count for count in range(n, -1, -1) if not broken(count, n, promised, level))
