"""Risks of a decision by integration, shares nothing with simcal/: Simpson's rule and the error function alone."""

import math


def normal(x: float) -> float:
    """Distribution function of the standard normal."""
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


def risks(s: float, u: float, tolerance: float, accept: float, steps: int = 4000) -> tuple[float, float]:
    """(consumer's, producer's) joint risk: true error N(0, s), measurement N(0, u), |reading| <= accept accepted."""

    def accepted(true: float) -> float:
        return normal((accept - true) / u) - normal((-accept - true) / u)

    def density(true: float) -> float:
        return math.exp(-0.5 * (true / s) ** 2) / (s * math.sqrt(2.0 * math.pi))

    reach = max(tolerance + 12.0 * min(s, u), 12.0 * s)
    consumer = 2.0 * _simpson(lambda x: density(x) * accepted(x), tolerance, max(reach, tolerance + 1e-9), steps)
    producer = 2.0 * _simpson(lambda x: density(x) * (1.0 - accepted(x)), 0.0, tolerance, steps)
    return consumer, producer


def _simpson(function, low: float, high: float, steps: int) -> float:
    h = (high - low) / steps
    inner = sum((4.0 if i % 2 else 2.0) * function(low + i * h) for i in range(1, steps))
    return h / 3.0 * (function(low) + inner + function(high))
