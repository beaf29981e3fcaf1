"""Whether the loop goes on hunting at a point: a branch of the run is watched, and what its cycle does to a reading."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle import cycle as cyc
from simcal.analysis.settle.point import PointRun, command
from simcal.analysis.settle.rig import Rig
from simcal.analysis.settle.sequence import VENT
from simcal.analysis.settle.series import of_arrays
from simcal.control.cycle import Cycle
from simcal.engine.simulate import Command, State, advance

Floats = NDArray[np.float64]

LEAST_SHARE = 0.01
"""of the allowance below which an oscillation is no cycle worth a word"""
SHORT, LONG = (10.0,), (10.0, 60.0, 600.0)
"""seconds the loop is watched for a cycle; longer where a drive without continuity could hunt slowly"""
SETTLED = 60.0
"""seconds from which on a watch is also looked at without its first third, in which the approach still ends"""
CHUNK = 2000
LUCKY_SHARE = 0.1
"""of the allowance from which a cycle as long as half the window makes the choice of the window matter"""


@dataclass(frozen=True)
class Hunt:
    """The cycle in which the loop goes on from a point, and what the devices see of it."""

    reference: Cycle  # in the reference's reading
    ports: Mapping[str, float]  # half of peak to peak of the true pressure at every device, Pa
    spread: Mapping[str, float]  # standard deviation of the error, device minus reference, mean of a window, Pa
    off: Mapping[str, tuple[float, float]]  # how far the error and a single difference get from the one reported, Pa


def watch(rig: Rig, state: State, order: Command, seconds: float) -> tuple[Floats, Floats]:
    """A branch of the run that goes on under `order`: true pressures [k, n] and readings [k, g]."""
    pieces, left = [], max(round(seconds / rig.period), 2)
    while left > 0:
        state, trace = advance(rig.system, state, order, min(CHUNK, left))
        pieces.append((trace.pressure_Pa, trace.gauge_Pa))
        left -= CHUNK
        if trace.reason is not None:
            break
    return np.concatenate([p for p, _ in pieces]), np.concatenate([g for _, g in pieces])


def could_hunt(rig: Rig) -> bool:
    """Whether valves or the controller's reading lack continuity."""
    valves = [rig.bench.valves[n] for n in ("inlet", "outlet") if n in rig.bench.valves]
    coarse = rig.bench.sensors[rig.bench.controller.reads].resolution > 0.0
    return coarse or any(v.dead_band > 0.0 or v.levels > 0 or v.drive == "pulsed" for v in valves)


def hunt(rig: Rig, run: PointRun) -> Hunt | None:
    """The cycle of the loop from the end of a held point, or from where an isolated one shut its valves.

    None at a vent, for a controller known from outside, where the pressure never arrived, and without a cycle. A
    cycle whose period grows while the gas settles may be over soon: what was recorded before is looked at as well.
    """
    if rig.system.controller.kind != 0 or run.step.mode == VENT or run.arrival is None or run.failure is not None:
        return None
    end = run.end if run.shut is None else run.shut
    state = run.at_end if run.shut is None else run.state_at(run.shut)
    order = command(rig, run.step, run.carried, run.start)
    compared = [d.name for d in rig.duts if rig.compares(d, run.step.target_Pa)]
    least = LEAST_SHARE * min((rig.allowance(name, run.step.target_Pa) for name in compared), default=0.0)
    for seconds in LONG if could_hunt(rig) else SHORT:
        pressure, gauge = watch(rig, state, order, seconds)
        back = max((run.arrival + end) // 2, end - round(seconds / rig.period))
        before = run.samples.gauge[back:end, rig.reference.gauge]
        after = gauge[:, rig.reference.gauge]
        late = after.shape[0] // 3 if seconds > SETTLED else 0
        for seen, rows in (
            (after, (end, 0)),
            (np.concatenate((before, after)), (back, 0)),
            *[(after[late:], (end, late))] * (late > 0),
        ):
            found = cyc.find(seen, rig.period, least)
            if found is not None:
                return _at_devices(rig, run, rows, end, found, pressure, gauge)
    return None


def _at_devices(
    rig: Rig, run: PointRun, rows: tuple[int, int], end: int, found: Cycle, pressure: Floats, gauge: Floats
) -> Hunt:
    """What the devices make of a cycle; the branch begins at sample `end`.

    rows: the cycle was seen from the point's sample rows[0] on, without the first rows[1] of the branch. A comparison
    is looked at from the start of the window that was used, if any.
    """
    back, late = rows
    ports = {one.name: _swing(rig, run, back, end, found, pressure[late:], one.instrument.node) for one in rig.duts}
    held = run.shut is None and run.window is not None
    start = run.window if held and run.window is not None else end
    pressure = np.concatenate((run.samples.pressure[start:end], pressure))
    gauge = np.concatenate((run.samples.gauge[start:end], gauge))
    time = np.asarray((start + np.arange(pressure.shape[0])) * rig.period, dtype=np.float64)
    seen = of_arrays(rig, run.step, pressure, gauge, run.carried, run.start, time)
    spread, off = {}, {}
    for name, course in seen.courses.items():
        difference = course.difference[np.isfinite(course.difference)]
        if difference.shape[0] <= rig.window:
            continue
        left = cyc.level(difference)
        means = cyc.moving_means(left, rig.window)
        spread[name] = float(means.std())
        if held:
            off[name] = (float(np.abs(means - means[0]).max()), float(np.abs(left - means[0]).max()))
    return Hunt(found, ports, spread, off)


def _swing(rig: Rig, run: PointRun, back: int, end: int, found: Cycle, after: Floats, node: int) -> float:
    """Half of peak to peak of a volume's true pressure in the cycle, Pa."""
    values = np.concatenate((run.samples.pressure[back:end, node], after[:, node]))
    own = cyc.find(values, rig.period, 0.0)
    return own.amplitude if own is not None else cyc.amplitude_at(values, found.period, rig.period)


def lucky(rig: Rig, found: Hunt | None, name: str, allowance: float) -> str | None:
    """A word of caution where the window may lie between two swings, so that another one would read otherwise."""
    if found is None or name not in found.off:
        return None
    off, single = found.off[name]
    swing = max(single, found.reference.amplitude)
    if found.reference.period <= 0.5 * rig.window * rig.period or swing < LUCKY_SHARE * allowance:
        return None
    return (
        f"the window lies between two swings; read at another moment, the error may be off by {_two(off)} Pa,"
        f" a comparison of single readings by {_two(single)} Pa"
    )


def _two(value: float) -> str:
    """A number in two figures, without an exponent below a million."""
    return f"{float(f'{value:.2g}'):g}"
