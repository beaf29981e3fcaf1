"""What a step does to a device: highest pressure, rate, overshoot, and whether the point is void.

Arrays run over controller samples from the command to the end of the window; true pressure at the device's port.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

UP, DOWN = "up", "down"


@dataclass(frozen=True)
class Exposure:
    """What the device's port saw on one step."""

    overshoot_Pa: float  # beyond the target in the direction of the step, never negative
    peak_Pa: float
    peak_rate_Pa_per_s: float  # largest of either sign


@dataclass(frozen=True)
class DeviceLimits:
    """Limits as the device states them, Pa absolute, Pa/s, Pa; None: not stated."""

    highest_Pa: float | None = None
    highest_rate_Pa_per_s: float | None = None
    overshoot_Pa: float | None = None
    zero_Pa: float | None = None  # the room's pressure, from which a gauge device counts; None: an absolute device


NOTHING = np.empty(0)


def exposure(
    port: Vector,
    target: float,
    direction: str,
    period: float,
    between: tuple[Vector, Vector, Vector] = (NOTHING, NOTHING, NOTHING),
) -> Exposure:
    """Overshoot, peak and peak rate of a port's true pressure [Pa] sampled every `period` s.

    between : highest and lowest pressures [Pa] and fastest rates [Pa/s] between samples, of those that have any
    """
    highest = float(max(np.max(port), np.max(between[0], initial=-np.inf)))
    lowest = float(min(np.min(port), np.min(between[1], initial=np.inf)))
    over = highest - target if direction == UP else target - lowest
    rate = float(np.max(np.abs(np.diff(port)), initial=0.0)) / period
    return Exposure(max(over, 0.0), highest, max(rate, float(np.max(between[2], initial=0.0))))


RAMP = "a ramp below that keeps it"
VENT = "a smaller vent valve keeps it, or come down under control first"


def _bar(pressure: float) -> str:
    return f"{pressure / 1e5:.6g} bar"


def _level(pressure: float, limits: DeviceLimits) -> str:
    """A pressure [Pa abs] as the device counts it."""
    if limits.zero_Pa is None:
        return f"{_bar(pressure)} abs"
    return f"{_bar(pressure - limits.zero_Pa)} gauge"


def violations(name: str, seen: Exposure, limits: DeviceLimits, vent: bool = False) -> tuple[str, ...]:
    """A sentence for every limit of device `name` that the step breaks, with both numbers; `vent`: the step is one."""
    out = []
    if limits.highest_Pa is not None and seen.peak_Pa > limits.highest_Pa:
        out.append(
            f"{name}: the pressure at its port reaches {_level(seen.peak_Pa, limits)}, its highest pressure is "
            f"{_level(limits.highest_Pa, limits)}"
        )
    if limits.highest_rate_Pa_per_s is not None and seen.peak_rate_Pa_per_s > limits.highest_rate_Pa_per_s:
        out.append(
            f"{name}: the pressure changes by up to {seen.peak_rate_Pa_per_s / 1e5:.4g} bar/s, its highest rate is "
            f"{_bar(limits.highest_rate_Pa_per_s)}/s; {VENT if vent else RAMP}"
        )
    if limits.overshoot_Pa is not None and seen.overshoot_Pa > limits.overshoot_Pa:
        out.append(
            f"{name}: the pressure overshoots by {seen.overshoot_Pa:.4g} Pa, its limit is {limits.overshoot_Pa:.4g} Pa"
        )
    return tuple(out)


def void(name: str, seen: Exposure, limits: DeviceLimits, direction: str) -> str | None:
    """Why the point is void for device `name`, with the cure; None when it stands.

    A device that was beyond the point has been read on its way back: its hysteresis belongs to the other direction.
    """
    if limits.overshoot_Pa is None or seen.overshoot_Pa <= limits.overshoot_Pa:
        return None
    way, back = ("up", "below") if direction == UP else ("down", "above")
    return (
        f"void: {name} was {seen.overshoot_Pa:.4g} Pa beyond the point (limit {limits.overshoot_Pa:.4g} Pa), so it"
        f" is not read on the way {way}; go back {back} the point and approach it again by a ramp, or tune for"
        " less overshoot"
    )
