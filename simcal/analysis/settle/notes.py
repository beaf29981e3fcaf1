"""What is said beside the answer about the run as a whole."""

from simcal.analysis.settle.result import PointResult, ValveMargins
from simcal.analysis.settle.rig import Rig
from simcal.analysis.settle.sequence import ISOLATED, VENT

LIVELY = 2.0
"""peak sensitivity above which a loop is poorly damped: 1.2 to 2.0 is usual (Astrom and Hagglund, Advanced PID Control,
ISA 2006, chapter 4)"""
WEAK = 4.0
"""gain margin beyond which a poorly damped loop is too weak for its integral part rather than too strong; our choice"""
FAR = 10.0
"""allowances off the target from which a controlled reading is worth a word; at a vent one is; a choice of ours"""


def run_notes(rig: Rig, points: tuple[PointResult, ...], fixed: float | None) -> list[str]:
    """Words of caution about the run; `fixed` is the dwell that was given [s]."""
    return [
        *_far_off(rig, points),
        *_cut_off(rig, points),
        *_soaked(rig, points, fixed),
        *_soak_for_all(rig, points),
        *_net_gas(rig),
        *_lively(points),
    ]


def _far_off(rig: Rig, points: tuple[PointResult, ...]) -> list[str]:
    """Points that the default nearness lets be read far off the target: at a vent, where zero is meant, sooner."""
    if rig.sequence.nearness is not None:
        return []
    off = [(p.off_target_Pa or 0.0, p) for p in points if p.reached]
    far = [(size, p) for size, p in off if size > (1.0 if p.mode == VENT else FAR) * p.allowance_Pa]
    if not far:
        return []
    size, worst = max(far, key=lambda pair: pair[0] / pair[1].allowance_Pa)
    others = f", the most of points {', '.join(str(p.number) for _, p in far)}" if len(far) > 1 else ""
    return [
        f"compared while still off the target: point {worst.number} by {_plain(size, 3)} Pa, "
        f"{_plain(size / worst.allowance_Pa, 2)} times the allowance{others}; nearness is by default 1 % of the step, "
        f"there {_plain(worst.nearness_Pa, 4)} Pa; sequence.{rig.sequence_name}.nearness asks for more"
    ]


def _plain(value: float, count: int) -> str:
    """A number with so many significant figures and, below a million, without an exponent."""
    return f"{float(f'{value:.{count}g}'):g}"


def _cut_off(rig: Rig, points: tuple[PointResult, ...]) -> list[str]:
    """Latest starts that the longest time given to a point ended, not the reading."""
    last = rig.longest * rig.period - rig.window * rig.period - 0.5 * rig.period
    cut = [str(p.number) for p in points if p.latest_s is not None and p.latest_s >= last]
    if not cut:
        return []
    which = f"point{'s' * (len(cut) > 1)} {', '.join(cut)}"
    return [
        f"latest: {which} can still be read at the end of the longest time given to a point; what comes later was not "
        f"looked at; a longer sequence.{rig.sequence_name}.longest looks further"
    ]


def _soaked(rig: Rig, points: tuple[PointResult, ...], fixed: float | None) -> list[str]:
    """What a given dwell means where the valves shut after a soak."""
    if fixed is None or not any(p.mode == ISOLATED for p in points):
        return []
    soak, key = rig.soak * rig.period, f"sequence.{rig.sequence_name}.soak"
    if fixed < soak - 0.5 * rig.period:
        return [
            f"a dwell counts from the arrival, and the soak of {soak:g} s is a part of it: isolated points are read "
            f"after {soak:g} s instead of {fixed:g} s; a shorter {key} lets them be read earlier"
        ]
    return [f"the dwell of {fixed:g} s counts from the arrival: {soak:g} s of it are the soak before the valves shut"]


def _soak_for_all(rig: Rig, points: tuple[PointResult, ...]) -> list[str]:
    """One soak for all isolated points, where what was given is too short for some of them."""
    asked = {p.number: p.shortest_soak_s for p in points if p.shortest_soak_s is not None}
    if len(asked) < 2:
        return []
    most = max(asked.values())
    which = ", ".join(str(number) for number in asked)
    return [f"sequence.{rig.sequence_name}.soak = '{most:g} s' would serve points {which}, as far as found one by one"]


def _net_gas(rig: Rig) -> list[str]:
    """Of a controller known from outside inlet and outlet are not known apart."""
    if rig.system.controller.kind != 1:
        return []
    return [
        "gas used is the net inflow of each step up, because of a controller known from outside inlet and outlet are"
        " not known apart: what it lets in and out again within a step comes on top"
    ]


def _lively(points: tuple[PointResult, ...]) -> list[str]:
    """Setpoints at which the gains leave the loop through one of the valves poorly damped."""
    said = []
    for name in ("inlet", "outlet"):
        seen = [(p.margins.valves[name], p) for p in points if p.margins is not None and name in p.margins.valves]
        poor = [(m, p) for m, p in seen if not m.stable or (m.peak_sensitivity or 0.0) > LIVELY]
        if poor:
            worst, where = max(poor, key=lambda pair: (not pair[0].stable, pair[0].peak_sensitivity or 0.0))
            others = f", the worst of points {', '.join(str(p.number) for _, p in poor)}" if len(poor) > 1 else ""
            said.append(f"poorly damped through the {name}: point {where.number}{others}, {_damping(worst, name)}")
    return said


def _damping(m: ValveMargins, valve: str) -> str:
    """How near a loop is to swinging, and what would steady it."""
    if not m.stable:
        return "where the linearised loop is unstable; a lower gain or a longer integral time steadies it"
    weak = m.gain is None or m.gain > WEAK
    cure = f"a longer integral time or a larger {valve}" if weak else "a lower gain"
    left = f"phase margin {m.phase_deg:.2g} deg" if m.phase_deg is not None else "no crossover"
    return f"peak sensitivity {m.peak_sensitivity:.2g} (up to {LIVELY:g} is usual), {left}; {cure} steadies it"
