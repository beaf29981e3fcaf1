"""From one point as it went to what is answered about it."""

import numpy as np

from simcal.analysis.settle import parts, standing
from simcal.analysis.settle.device import Window, clock, device_result
from simcal.analysis.settle.hunting import Hunt, lucky
from simcal.analysis.settle.point import PointRun, latest, reference_start
from simcal.analysis.settle.result import PointResult
from simcal.analysis.settle.rig import Rig, flow_through
from simcal.analysis.settle.sequence import ISOLATED, VENT
from simcal.analysis.settle.series import Series
from simcal.analysis.settle.verdict import governing_device, verdict


def assess(rig: Rig, run: PointRun, dwell_s: float | None = None, found: Hunt | None = None) -> PointResult:
    """Everything about one point but its loop; `found` is the cycle in which that goes on, where one was looked for."""
    seen = run.series(rig)
    used = used_window(rig, run)
    devices = {one.name: device_result(rig, run, seen, used, one, found) for one in rig.duts}
    name = governing_device(rig, seen, devices)
    chosen = devices[name]
    reason, reached = verdict(rig, run, seen, devices, name, dwell_s)
    late, stretches = latest(rig, run) if run.step.mode == ISOLATED and reached else (None, 1)
    voids = [d.void for d in devices.values() if d.void]
    period = rig.period
    given = run.window is not None
    limited = chosen.limited_by if dwell_s is None else _given(run, dwell_s, period)
    notes = list(run.step.notes)
    if stretches > 1:
        notes.append("the reading leaves its limits between ready and latest and comes back")
    chance = lucky(rig, found, name, chosen.allowance_Pa)
    notes += [chance] if chance is not None else []
    return PointResult(
        device=name,
        target_Pa=run.step.target_Pa,
        direction=run.step.direction,
        mode=run.step.mode,
        reached=reached,
        reason=reason or (voids[0] if voids else None),
        arrival_s=clock(run.arrival, period),
        dwell_s=clock(run.window - (run.arrival or 0), period) if run.window is not None else None,
        ready_s=clock(run.window, period),
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
        off_target_Pa=_off_target(rig, run, seen),
        shut_s=clock(run.shut, period),
        void=voids[0] if voids else None,
        limited_words=parts.WORDS.get(limited or "", ""),
        violations=tuple(v for d in devices.values() for v in d.violations),
        notes=tuple(notes),
        spent_s=None if given else clock(run.end, period),
    )


def _given(run: PointRun, dwell_s: float, period: float) -> str:
    """What sets the time of a reading whose dwell was given: that dwell, unless the valves shut later."""
    late = run.shut is not None and run.window == run.shut and run.window - (run.arrival or 0) > dwell_s / period + 0.5
    return "soak" if late else "dwell"


def _off_target(rig: Rig, run: PointRun, seen: Series) -> float | None:
    """How far the reference's reading gets from the target in the window that was used, Pa."""
    if run.window is None:
        return None
    start = reference_start(rig, run.window)
    return float(np.abs(seen.reference[start : start + rig.window + 1] - run.step.target_Pa).max())


def used_window(rig: Rig, run: PointRun) -> Window:
    """The window that is reported, with the mean flows over it and what standing leaks make of them."""
    start = run.window if run.window is not None else max(run.end - rig.window, 0)
    length = min(rig.window, max(run.samples.count - 1 - start, 0))
    ground: int | None = rig.control_node
    if run.shut is not None:
        ground = None
    elif run.step.mode == VENT:
        ground = rig.vent_node
    nothing = np.zeros(rig.system.sizes.nodes)
    if run.samples.count == 0 or length == 0 or run.failure is not None:
        return Window(start, length, None, nothing)
    first = run.state_at(start)
    last = run.at_end
    flows = (last.totals - first.totals)[: rig.system.sizes.edges] / ((last.sample - first.sample) * rig.period)
    return Window(start, length, flows, standing.leak_rise(rig.system, last, flows, ground))


def _make_up(rig: Rig, used: Window) -> float | None:
    if used.flows is None:
        return None
    net = flow_through(rig.inlet_edges, used.flows) - flow_through(rig.outlet_edges, used.flows)
    return net / rig.system.table.molar_mass
