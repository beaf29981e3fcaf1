"""Margins of the linearised loop at a setpoint, and the cycle that the simulation shows, with cause and cures."""

from collections.abc import Mapping

import numpy as np

from simcal.analysis.settle.hunting import LEAST_SHARE, Hunt
from simcal.analysis.settle.result import Authority, Cycle, Margins, ValveMargins
from simcal.analysis.settle.rig import Rig, finite, gains_of
from simcal.control.margins import Margins as LoopMargins
from simcal.control.margins import loop_margins
from simcal.engine.simulate import State, linear_model

CURES = {
    "dead band": (
        "valves without dead band, or a drive that compensates it",
        "less integral action while the error is inside nearness",
        "more volume, which slows the cycle but does not end it",
    ),
    "quantised drive": (
        "a drive with more levels or smaller valves: the smallest step of the pressure falls with both",
        "more volume at the control node",
    ),
    "pulsed drive": (
        "shorter pulses or smaller valves: the smallest step of the pressure falls with both",
        "more volume at the control node",
        "proportional valves",
    ),
    "resolution": ("a controller's sensor with finer resolution", "a lower gain"),
    "linear margin": ("a lower gain or a longer integral time", "more volume, or a smaller valve", "a faster sensor"),
    "unknown": ("compare with a run at half the gain",),
}


def margins(rig: Rig, state: State) -> Margins | None:
    """Margins at a state in which the loop holds, of inlet and outlet. None without a known controller."""
    system = rig.system
    ctl = system.controller
    if ctl.kind != 0:
        return None
    linear, size = linear_model(system, state), system.sizes
    row = np.zeros(size.states)
    row[size.gauge + ctl.index[0]] = 1.0 / ctl.scale[1]
    gains, found = gains_of(system), {}
    for name, sign, j in (("inlet", 1.0, int(ctl.index[1])), ("outlet", -1.0, int(ctl.index[2]))):
        if j < 0:
            continue
        slope = sign / (1.0 - rig.bench.valves[name].dead_band)
        column = slope * linear.G[:, j]
        if not (row @ (linear.E @ column + column) > 0.0):
            continue  # this valve moves nothing here
        found[name] = loop_margins(linear.E, column, row, gains, ctl.period)
    return worst_of(found) if found else None


def worst_of(found: Mapping[str, LoopMargins]) -> Margins:
    """The worse of the valves in each figure; the note names the one that is nearest to swinging."""
    worst = max(found, key=lambda name: (not found[name].stable, found[name].sensitivity))
    every = list(found.values())
    return Margins(
        gain=finite(min(m.gain for m in every)),
        phase_deg=finite(min(m.phase_deg for m in every)),
        delay_s=finite(min(m.delay_s for m in every)),
        peak_sensitivity=finite(max(m.sensitivity for m in every)),
        note=f"through the {worst}" + ("" if found[worst].stable else "; unstable"),
        valves={name: _of_valve(m) for name, m in found.items()},
    )


def _of_valve(m: LoopMargins) -> ValveMargins:
    return ValveMargins(finite(m.gain), finite(m.phase_deg), finite(m.delay_s), finite(m.sensitivity), m.stable)


def named_cycle(
    rig: Rig, found: Hunt | None, name: str, allowance: float, margin: Margins | None, seen: Authority | None
) -> Cycle | None:
    """The cycle that was found as the governing device sees it, with its cause and cures."""
    if found is None or found.reference.amplitude < LEAST_SHARE * allowance:
        return None
    own, swing = found.ports[name], found.reference.amplitude
    why = cause(rig, swing, margin, seen)
    return Cycle(
        amplitude_Pa=own,
        period_s=found.reference.period,
        share=own / allowance,
        reference_amplitude_Pa=swing,
        reference_share=swing / allowance,
        cause=why,
        cures=CURES[why],
    )


def cause(rig: Rig, amplitude: float, margin: Margins | None, seen: Authority | None) -> str:
    """What makes the loop cycle: an unstable linear loop first, then the drive, then the reading."""
    if margin is not None and "unstable" in margin.note:
        return "linear margin"
    valves = [rig.bench.valves[n] for n in ("inlet", "outlet") if n in rig.bench.valves]
    step = seen.smallest_step_Pa if seen is not None and seen.smallest_step_Pa is not None else 0.0
    dead = any(v.dead_band > 0.0 for v in valves)
    if any(v.drive == "pulsed" for v in valves):
        return "pulsed drive"
    if any(v.levels > 0 for v in valves) and not (dead and step < 0.1 * amplitude):
        return "quantised drive"
    if dead:
        return "dead band"
    if rig.bench.sensors[rig.bench.controller.reads].resolution > 0.0:
        return "resolution"
    if margin is not None and margin.gain is not None and margin.gain < 1.5:
        return "linear margin"
    return "unknown"
