"""Whether a point is reached, and in words why not; which of several devices governs it."""

from collections.abc import Mapping

import numpy as np

from simcal.analysis.settle.point import PointRun
from simcal.analysis.settle.result import DeviceResult
from simcal.analysis.settle.rig import Rig
from simcal.analysis.settle.sequence import VENT
from simcal.analysis.settle.series import Series


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


def verdict(
    rig: Rig, run: PointRun, seen: Series, devices: Mapping[str, DeviceResult], name: str, dwell_s: float | None
) -> tuple[str | None, bool]:
    """Why the point is not reached, and whether it is."""
    if run.failure is not None:
        return f"the run ended here: {run.failure}", False
    if run.rested:
        return None, True
    if run.window is None:
        return _why_not(rig, run, seen, devices[name]), False
    if dwell_s is None:
        return None, True
    stop = run.end + 1
    if not seen.near_read[run.window : stop].all():
        return f"after a dwell of {dwell_s:g} s the reading has left nearness again", False
    for one in devices.values():
        if one.name not in seen.good or seen.good[one.name][run.window : stop].all():
            continue
        if one.largest_Pa is None:
            return f"{one.name}: after a dwell of {dwell_s:g} s a reading within the skew is missing", False
        allowed = f"{one.allowance_Pa:.4g} Pa are allowed"
        after = f"within the reading window after a dwell of {dwell_s:g} s"
        return f"{one.name}: {after} up to {one.largest_Pa:.4g} Pa are left, {allowed}", False
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
        return (
            f"the reading leaves nearness {lasted:.3g} s after the valves shut, {near};"
            " the gas has not settled, or leaks"
        )
    if run.arrival is not None and one.error_at_reading_Pa is not None:
        stretch = seen.courses[one.name].difference[max(run.end - rig.window, 0) : run.end + 1]
        left = float(np.nanmax(np.abs(stretch))) + one.random_Pa
        return f"{one.name}: up to {left:.4g} Pa are left after {spent}, {allowed}; what governs is {one.limited_by}"
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
