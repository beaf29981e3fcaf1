"""Standard uncertainties: from a figure as stated, and of a sum."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Vector = NDArray[np.float64]

DIVISORS = {"k=1": 1.0, "k=2": 2.0, "limits": math.sqrt(3.0)}
"""What a figure is divided by to be one standard deviation: JCGM 100:2008, 4.3.3 (k) and 4.3.7 (rectangular limits)."""
COVERAGE = 2.0
"""Coverage factor of every expanded uncertainty U here."""


def standard(figure: ArrayLike, is_: str) -> Vector:
    """Standard uncertainty of a stated figure, in its unit.

    figure: size as stated, any shape, >= 0. is_: "k=1", "k=2" or "limits" (rectangular half-width).
    Source: JCGM 100:2008, 4.3. Raises KeyError for another word.
    """
    return np.asarray(figure, dtype=np.float64) / DIVISORS[is_]


def combined(*parts: ArrayLike) -> Vector:
    """Standard uncertainty of a sum of independent terms, in their unit: root of the sum of squares.

    Source: JCGM 100:2008, 5.1.2, equation (10) with sensitivities of 1.
    """
    total: Vector = np.asarray(0.0)
    for part in parts:
        total = np.hypot(total, np.asarray(part, dtype=np.float64))
    return total


def resolved(step: ArrayLike) -> Vector:
    """Standard uncertainty of a reading shown in steps of `step`, in its unit: step / sqrt(12).

    Source: JCGM 100:2008, F.2.2.1.
    """
    return np.asarray(step, dtype=np.float64) / math.sqrt(12.0)
