"""From one point as it went to what is answered about it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle import cycle, limits, parts, ready, standing
from simcal.analysis.settle.point import PointRun, latest
from simcal.analysis.settle.readings import RANDOM_FACTOR
from simcal.analysis.settle.result import DeviceResult, PointResult
from simcal.analysis.settle.rig import Dut, Rig, flow_through
from simcal.analysis.settle.sequence import ISOLATED, VENT
from simcal.analysis.settle.series import Series, effect
from simcal.engine.arrays import CAPACITY
from simcal.physics.head import head

Floats = NDArray[np.float64]

RIPPLE_SIGN_CHANGES = 3
"""turns of the difference within one window from which it counts as ripple"""


@dataclass(frozen=True)
class _Window:
    """The window that is reported: the one that was used, else the last one before the point was given up."""

    start: int
    length: int
    flows: Floats | None  # mean flow of every edge, kg/s
    leak: Floats  # pressures of the volumes that standing leaks make, Pa


def assess(rig: Rig, run: PointRun, dwell_s: float | None = None) -> PointResult:
    """Everything about one point that does not need another branch of the run, but for the latest start."""
    seen = run.series(rig)
    used = _window(rig, run)
    devices = {one.name: _device(rig, run, seen, used, one) for one in rig.duts}
    name = governing_device(rig, seen, devices)
    chosen = devices[name]
    reason, reached = _verdict(rig, run, seen, devices, name, dwell_s)
    late, stretches = latest(rig, run) if run.step.mode == ISOLATED and reached else (None, 1)
    voids = [d.void for d in devices.values() if d.void]
    period = rig.period
    given = run.window is not None
    limited = chosen.limited_by if dwell_s is None else "dwell"
    notes = list(run.step.notes)
    if stretches > 1:
        notes.append("the reading leaves its limits between ready and latest and comes back")
    return PointResult(
        device=name,
        target_Pa=run.step.target_Pa,
        direction=run.step.direction,
        mode=run.step.mode,
        reached=reached,
        reason=reason or (voids[0] if voids else None),
        arrival_s=_clock(run.arrival, period),
        dwell_s=_clock(run.window - (run.arrival or 0), period) if run.window is not None else None,
        ready_s=_clock(run.window, period),
        latest_s=late,
        dwell_low_s=None,
        dwell_high_s=None,
        limited_by=limited,
        error_at_reading_Pa=chosen.error_at_reading_Pa,
        error_parts_Pa=chosen.error_parts_Pa,
        allowance_Pa=chosen.allowance_Pa,
        overshoot_Pa=chosen.overshoot_Pa,
        peak_Pa=chosen.peak_Pa,
        peak_rate_Pa_per_s=chosen.peak_rate_Pa_per_s,
        device_effect_Pa=chosen.device_effect_Pa,
        head_Pa=chosen.head_Pa,
        make_up_mol_per_s=_make_up(rig, used),
        devices=devices,
        number=run.step.number,
        percent=run.step.percent,
        start_s=round(run.start * period, 9),
        window_s=rig.window * period,
        nearness_Pa=run.step.nearness_Pa,
        step_Pa=run.step.step_Pa,
        shut_s=_clock(run.shut, period),
        void=voids[0] if voids else None,
        limited_words=parts.WORDS.get(limited or "", ""),
        violations=tuple(v for d in devices.values() for v in d.violations),
        notes=tuple(notes),
        spent_s=None if given else _clock(run.end, period),
    )


def _clock(samples: int | None, period: float) -> float | None:
    """Samples as a time [s], free of the rounding of the product."""
    return None if samples is None else round(samples * period, 9)


def _window(rig: Rig, run: PointRun) -> _Window:
    start = run.window if run.window is not None else max(run.end - rig.window, 0)
    length = min(rig.window, max(run.samples.count - 1 - start, 0))
    ground: int | None = rig.control_node
    if run.shut is not None:
        ground = None
    elif run.step.mode == VENT:
        ground = rig.vent_node
    nothing = np.zeros(rig.system.sizes.nodes)
    if run.samples.count == 0 or length == 0 or run.failure is not None:
        return _Window(start, length, None, nothing)
    first = run.state_at(start)
    last = run.at_end
    flows = (last.totals - first.totals)[: rig.system.sizes.edges] / ((last.sample - first.sample) * rig.period)
    return _Window(start, length, flows, standing.leak_rise(rig.system, last, flows, ground))


def _make_up(rig: Rig, used: _Window) -> float | None:
    if used.flows is None:
        return None
    net = flow_through(rig.inlet_edges, used.flows) - flow_through(rig.outlet_edges, used.flows)
    return net / rig.system.table.molar_mass


def _device(rig: Rig, run: PointRun, seen: Series, used: _Window, one: Dut) -> DeviceResult:
    """One device's own answer; without error and parts where it is not compared at this point."""
    step, end = run.step, run.end
    port = run.samples.pressure[: end + 1, one.instrument.node]
    at = np.array([used.start * rig.period])
    own_effect = float(effect(one, step, run.carried, at)[0])
    exposure = limits.exposure(port, step.target_Pa, step.direction, rig.period)
    shared = {
        "device_effect_Pa": own_effect,
        "head_Pa": _head(rig, run, one),
        "overshoot_Pa": exposure.overshoot_Pa,
        "peak_Pa": exposure.peak_Pa,
        "peak_rate_Pa_per_s": exposure.peak_rate_Pa_per_s,
    }
    broken = limits.violations(one.name, exposure, one.limits)
    void = None if step.preload else limits.void(one.name, exposure, one.limits, step.direction)
    course = seen.courses.get(one.name)
    if course is None or used.length == 0:
        allowed = rig.allowance(one.name, step.target_Pa)
        return DeviceResult(
            name=one.name, error_at_reading_Pa=None, error_parts_Pa={}, random_Pa=0.0, allowance_Pa=allowed,
            ready_s=None, violations=broken, void=void, **shared,
        )  # fmt: skip
    leak = float(used.leak[one.instrument.node] - used.leak[rig.reference.node])
    error, signed = parts.at_window(course, leak, used.start, used.length)
    random = seen.random[one.name]
    own = ready.earliest(seen.near, seen.good[one.name], rig.window, run.shut or 0).window
    ripple = _ripple(rig, course.difference[used.start : used.start + used.length + 1])
    return DeviceResult(
        name=one.name,
        error_at_reading_Pa=error,
        error_parts_Pa={**signed, "ripple": float(np.hypot(random, RANDOM_FACTOR * ripple))},
        random_Pa=random,
        allowance_Pa=seen.allowance[one.name],
        ready_s=_clock(own, rig.period),
        limited_by=_limited(rig, run, seen, one.name, leak, own),
        void=void,
        violations=broken,
        **shared,
    )


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
    return parts.ripple_of_mean(found.amplitude_Pa, found.period_s, rig.window * rig.period)


def _limited(rig: Rig, run: PointRun, seen: Series, name: str, leak: float, own: int | None) -> str | None:
    """What kept the device from being read earlier, or keeps it still: the part that governs at the last bad sample."""
    if seen.random[name] > seen.allowance[name]:
        return "sensor"
    last = own if own is not None else run.end
    arrival = ready.last_entry(seen.near, last) if own is not None else run.arrival
    if arrival is None:
        return "arrival"
    bad = ready.last_failure(seen.good[name], last, arrival)
    if bad is None:
        return "soak" if run.shut is not None and own is not None and own > arrival else "arrival"
    course = seen.courses[name]
    signed = {key: float(values[bad]) for key, values in parts.courses(course, leak).items()}
    if not all(np.isfinite(v) for v in signed.values()):
        return "rate"
    local = course.difference[max(bad - rig.window, arrival) : bad + 1]
    swing = _swing(local)
    if swing > max(abs(v) for v in signed.values()):
        return "ripple"
    return parts.governing(signed, float(course.difference[bad]))


def _swing(local: Floats) -> float:
    """Amplitude of what oscillates in a short piece of the difference, Pa; 0 when it does not turn often enough."""
    if local.shape[0] < 8 or not np.isfinite(local).all():
        return 0.0
    left = cycle.detrended(local, 1)
    size = 0.5 * float(left.max() - left.min())
    level = left[np.abs(left) > 0.3 * size]
    turns = int(np.count_nonzero(np.diff(np.sign(level))))
    return size if turns >= RIPPLE_SIGN_CHANGES else 0.0


def governing_device(rig: Rig, seen: Series, devices: Mapping[str, DeviceResult]) -> str:
    """The device that is ready last, of several the one that uses most of its allowance."""
    compared = list(seen.courses)
    if not compared:
        return rig.device_name

    def late(name: str) -> tuple[float, float]:
        one = devices[name]
        used = (abs(one.error_at_reading_Pa or 0.0) + one.random_Pa) / one.allowance_Pa
        return (np.inf if one.ready_s is None else one.ready_s, used)

    return max(compared, key=late)


def _verdict(
    rig: Rig, run: PointRun, seen: Series, devices: Mapping[str, DeviceResult], name: str, dwell_s: float | None
) -> tuple[str | None, bool]:
    """Why the point is not reached, and whether it is."""
    if run.failure is not None:
        return f"the run ended here: {run.failure}", False
    if run.window is None:
        return _why_not(rig, run, seen, devices[name]), False
    if dwell_s is None:
        return None, True
    stop = run.end + 1
    if not seen.near[run.window : stop].all():
        return f"after a dwell of {dwell_s:g} s the reading has left nearness again", False
    for one in devices.values():
        left = abs(one.error_at_reading_Pa or 0.0) + one.random_Pa
        if one.error_at_reading_Pa is not None and left > one.allowance_Pa:
            return (
                f"{one.name}: after a dwell of {dwell_s:g} s {left:.4g} Pa are left, {one.allowance_Pa:.4g} Pa are allowed"
            ), False
    return None, True


def _why_not(rig: Rig, run: PointRun, seen: Series, one: DeviceResult) -> str:
    """A point that was given up after `longest`, in words."""
    spent = f"{run.end * rig.period:g} s"
    near = f"nearness is {run.step.nearness_Pa:.4g} Pa"
    allowed = f"{one.allowance_Pa:.4g} Pa are allowed"
    out_of_reach = _out_of_reach(rig, run)
    if out_of_reach:
        return out_of_reach
    if not seen.near.any():
        off = float(np.nanmin(np.abs(seen.reference - run.step.target_Pa)))
        return f"the reference comes no nearer than {off:.4g} Pa in {spent}, {near}"
    if one.random_Pa > one.allowance_Pa:
        return (
            f"{one.name}: noise and resolution alone make {one.random_Pa:.4g} Pa, {allowed};"
            " a longer window averages noise"
        )
    if run.shut is not None and not seen.near[run.shut :].all():
        lasted = int(np.argmin(seen.near[run.shut :])) * rig.period
        return f"the reading leaves nearness {lasted:.3g} s after the valves shut, {near}; a longer soak before lets the gas settle"
    if run.arrival is not None and one.error_at_reading_Pa is not None:
        left = abs(one.error_at_reading_Pa) + one.random_Pa
        return f"{one.name}: {left:.4g} Pa are left after {spent}, {allowed}; what governs is {one.limited_by}"
    return f"the reference's reading does not stay inside nearness for as long as it must within {spent}, {near}"


def _out_of_reach(rig: Rig, run: PointRun) -> str | None:
    """Targets that the supply or the exhaust cannot give, in words."""
    supply, exhaust, target = rig.bench.supply.pressure, rig.bench.exhaust.pressure, run.step.target_Pa
    if rig.system.controller.kind != 0 or run.step.mode == VENT:
        return None
    if target >= supply:
        return f"the supply of {supply / 1e5:.6g} bar abs cannot give {target / 1e5:.6g} bar abs"
    if target < exhaust:
        return f"the exhaust at {exhaust / 1e5:.6g} bar abs cannot take the pressure down to {target / 1e5:.6g} bar abs"
    return None
