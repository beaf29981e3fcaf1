"""Independent re-implementation, shares nothing with simcal/: how far two runs of one bench are apart."""

import numpy as np
from scipy.ndimage import maximum_filter1d

from tests.independent.solve import Run

QUIET = 0.01
"""change of the drive within a second, of its full travel, below which valves count as quiet"""
FLOOR, SHARE = 1e-9, 0.01
ABOUT = 0.5  # s


def quiet(drive: np.ndarray, period: float) -> np.ndarray:
    """Samples before which the drive has moved less than QUIET for a second, and not because it stood at its end."""
    back = round(1.0 / period)
    window = np.lib.stride_tricks.sliding_window_view(drive, back + 1)
    still = np.ptp(window, axis=1) < QUIET
    return np.concatenate([np.zeros(back, bool), still]) & (np.abs(drive) < 1.0)


def excess(found: np.ndarray, right: np.ndarray, span: float, period: float) -> np.ndarray:
    """Error over what is allowed: 1 % of the right value or 1e-9 of full scale (per second), whichever is larger.

    A rate that swings through nought has no relative error there: its size is the largest in the second about the
    sample, the length of a usual reading window.
    """
    reach = round(ABOUT / period)
    size = maximum_filter1d(np.abs(right), 2 * reach + 1, axis=0, mode="nearest")
    return np.abs(found - right) / np.maximum(SHARE * size, FLOOR * span)


def speed(values: np.ndarray, period: float) -> np.ndarray:
    """Rate of change from sample to sample."""
    return np.diff(values, axis=0) / period


def joined(runs: list[Run]) -> Run:
    """Runs one after the other as one."""
    rows = [np.concatenate([getattr(r, name) for r in runs]) for name in ("time", "pressure", "gauge", "drive")]
    return Run(*rows, runs[-1].y, runs[-1].opening)
