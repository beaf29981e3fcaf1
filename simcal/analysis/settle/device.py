"""One device's own answer at one point: its error with parts, what limits it, what its port saw."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle import cycle, limits, parts, ready
from simcal.analysis.settle.hunting import Hunt
from simcal.analysis.settle.point import PointRun, reference_start
from simcal.analysis.settle.readings import RANDOM_FACTOR
from simcal.analysis.settle.result import DeviceResult
from simcal.analysis.settle.rig import Dut, Rig, finite
from simcal.analysis.settle.sequence import VENT
from simcal.analysis.settle.series import Series, effect
from simcal.control.cycle import detrended, half_swing
from simcal.engine.arrays import CAPACITY
from simcal.engine.simulate import pressures
from simcal.physics.head import head

Floats = NDArray[np.float64]

RIPPLE_TURNS = 3
"""turns of the difference within one window from which it counts as ripple"""
SIDE = 1.0
"""periods of a known cycle to each side of a sample, over which the mean is what would be left without the cycle"""


@dataclass(frozen=True)
class Window:
    """The window that is reported: the one that was used, else the last one before the point was given up; samples."""

    start: int
    length: int
    flows: Floats | None  # mean flow of every edge, kg/s
    leak: Floats  # pressures of the volumes that standing leaks make, Pa


def clock(samples: int | None, period: float) -> float | None:
    """Samples as a time [s], free of the rounding of the product."""
    return None if samples is None else round(samples * period, 9)


def device_result(
    rig: Rig, run: PointRun, seen: Series, used: Window, one: Dut, found: Hunt | None = None
) -> DeviceResult:
    """One device's own answer; without error and parts where it is not compared at this point."""
    step = run.step
    at = np.array([used.start * rig.period])
    port, between = _port(rig, run, one), _between(run, one)
    exposure = limits.exposure(port, step.target_Pa, step.direction, rig.period, between)
    # how far a point lies beyond another is known only where both were there
    own_limits = one.limits if run.there and not run.after_miss else replace(one.limits, overshoot_Pa=None)
    compared = one.name in seen.courses and used.length > 0 and not step.preload
    error, signed, limited, own = _compared(rig, run, seen, used, one, found) if compared else (None, {}, None, None)
    return DeviceResult(
        name=one.name,
        error_at_reading_Pa=error,
        error_parts_Pa=signed,
        random_Pa=seen.random.get(one.name, 0.0),
        device_effect_Pa=float(effect(one, step, run.carried, at)[0]),
        head_Pa=_head(rig, run, one),
        allowance_Pa=rig.allowance(one.name, step.target_Pa),
        ready_s=own,
        overshoot_Pa=exposure.overshoot_Pa,
        peak_Pa=exposure.peak_Pa,
        peak_rate_Pa_per_s=exposure.peak_rate_Pa_per_s,
        limited_by=limited,
        void=limits.void(one.name, exposure, own_limits, step.direction) if compared else None,
        violations=limits.violations(one.name, exposure, own_limits, step.mode == VENT),
        largest_Pa=_largest(seen, used, one.name) if compared else None,
    )


def _port(rig: Rig, run: PointRun, one: Dut) -> Floats:
    """True pressure at a device's port from the command on, Pa; where it began, if the run ended at once."""
    if run.samples.count:
        return np.asarray(run.samples.pressure[: run.end + 1, one.instrument.node])
    return pressures(rig.system, run.begin)[[one.instrument.node]]


def _between(run: PointRun, one: Dut) -> tuple[Floats, Floats, Floats]:
    """The same pressure between samples, as `limits.exposure` wants it."""
    highest, lowest, fastest = (a[:, one.instrument.node] for a in run.samples.between(run.end))
    return highest, lowest, fastest


def _largest(seen: Series, used: Window, name: str) -> float | None:
    """The largest difference of single samples in the window and the random part, Pa; None where one is missing."""
    difference = seen.courses[name].difference[used.start : used.start + used.length + 1]
    return finite(float(np.abs(difference).max()) + seen.random[name])


def _compared(
    rig: Rig, run: PointRun, seen: Series, used: Window, one: Dut, found: Hunt | None
) -> tuple[float, dict[str, float], str | None, float | None]:
    """Error [Pa], its parts [Pa], what limits the device, and when it alone is ready [s]."""
    course = seen.courses[one.name]
    leak = float(used.leak[one.instrument.node] - used.leak[rig.reference.node])
    error, signed = parts.at_window(course, leak, used.start, used.length)
    ripple = _ripple(rig, course.difference[used.start : used.start + used.length + 1])
    if found is not None and run.shut is None:
        ripple = found.spread.get(one.name, ripple)
    own = ready.earliest(seen.near_read, seen.good[one.name], rig.window, run.shut or 0).window
    signed["ripple"] = float(np.hypot(seen.random[one.name], RANDOM_FACTOR * ripple))
    return error, signed, _limited(rig, run, seen, one.name, leak, own, found), clock(own, rig.period)


def _head(rig: Rig, run: PointRun, one: Dut) -> float:
    """Device minus reference from the gas column between them, Pa."""
    height = one.instrument.height - rig.reference.height
    if height == 0.0:
        return 0.0
    node = rig.reference.node
    rho = float(run.at_end.x[node] / rig.system.net.node_par[node, CAPACITY])
    return -head(rho, height, one.device.range.gauge)


def _ripple(rig: Rig, difference: Floats) -> float:
    """Standard deviation of the window's mean that a cycle seen in the window leaves, Pa; its phase is chance."""
    if difference.shape[0] < 8 or not np.isfinite(difference).all():
        return 0.0
    found = cycle.find(difference, rig.period, 0.0)
    if found is None:
        return 0.0
    return parts.ripple_of_mean(found.amplitude, found.period, rig.window * rig.period)


def _limited(
    rig: Rig, run: PointRun, seen: Series, name: str, leak: float, own: int | None, found: Hunt | None
) -> str | None:
    """What kept the device from being read earlier, or keeps it still: the part that governs at the last bad sample."""
    if seen.random[name] > seen.allowance[name]:
        return "sensor"
    last = own if own is not None else run.end
    arrival = ready.last_entry(seen.near, reference_start(rig, last)) if own is not None else run.arrival
    if arrival is None:
        return None
    if run.shut is not None and own == run.shut and own > 0 and seen.good[name][own - 1]:
        return "soak"
    bad = ready.last_failure(seen.good[name], last, arrival)
    if bad is None:
        return "soak" if run.shut is not None and own is not None and own > arrival else "arrival"
    course = seen.courses[name]
    signed = {key: float(values[bad]) for key, values in parts.courses(course, leak).items()}
    if not all(np.isfinite(v) for v in signed.values()):
        return "rate"
    local = course.difference[max(bad - rig.window, arrival) : bad + 1]
    whole = course.difference[arrival : last + 1]
    if _swing(local) > max(abs(v) for v in signed.values()) or _by_cycle(rig, whole, bad - arrival, found):
        return "ripple"
    return parts.governing(signed, float(course.difference[bad]))


def _by_cycle(rig: Rig, difference: Floats, bad: int, found: Hunt | None) -> bool:
    """Whether at sample `bad` more of the difference is owed to the known cycle than would be left without it."""
    if found is None:
        return False
    side = max(round(SIDE * found.reference.period / rig.period), 1)
    local = difference[max(bad - side, 0) : bad + side + 1]
    if local.shape[0] <= side:
        return False
    left = float(local.mean())
    return abs(float(difference[bad]) - left) > abs(left)


def _swing(local: Floats) -> float:
    """Amplitude of what oscillates in a short piece of the difference, Pa; 0 when it does not turn often enough."""
    if local.shape[0] < 8 or not np.isfinite(local).all():
        return 0.0
    left = detrended(local, 1)
    size = half_swing(left)
    level = left[np.abs(left) > 0.3 * size]
    turns = int(np.count_nonzero(np.diff(np.sign(level))))
    return size if turns >= RIPPLE_TURNS else 0.0
