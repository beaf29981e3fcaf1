"""The next action: of what can be done, the cheapest that is expected to decide, computed from the explanations.

No action asks for work on a pressurised joint, for tightening a joint, or for a pressure above the lowest rating.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.judge.bins import Binned
from simcal.analysis.judge.case import Case
from simcal.analysis.judge.fit import LEAK, Fit, explained
from simcal.analysis.judge.infer import Inference, mol_per_pascal
from simcal.analysis.judge.interval import NORMAL, OUTSIDE, WIDER, WIDER_CAPACITY, Interval, doubted, fall_interval
from simcal.analysis.judge.judgement import LEAK as IS_LEAK
from simcal.analysis.judge.judgement import TIGHT, UNDECIDED, NextAction, verdict
from simcal.analysis.judge.posterior import Columns, mixture, slow_beliefs
from simcal.analysis.judge.rows import rows
from simcal.analysis.judge.scene import build
from simcal.stats.mixture import normed, quantile
from simcal.units import pressure_text

Vector = NDArray[np.float64]

LONGER = (1.5, 2.0, 3.0, 5.0, 8.0)
"""times the present hold"""
LONGEST = 4.0 * 3600.0
"""s, a longer hold is not proposed"""
MOVES = 0.84
"""standard deviations by which the middle may move meanwhile in a hold that is proposed to decide: 80 %, if normal"""
STILL_WARM = 0.5
"""of the permitted rate: a thermal slope above it at the end is worth waiting for"""
LEAST_ABOVE = 0.02
"""of the pressure, by which the rating has to be higher before a hold is asked for from above"""
SETTLED = 0.2
"""of the permitted rate: a thermal slope below it is called settled"""


def next_action(
    cases: tuple[Case, ...],
    inference: Inference,
    rate: Interval | None,
    ruling: str | None,
    fits: bool,
    widened: dict[str, float],
    shut: float,
) -> NextAction:
    """What to do now, times on the record's clock (`shut`: when the valves shut)."""
    case = cases[0]
    missing = _missing(case)
    if missing:
        return NextAction("state_missing_input", f"state {missing}")
    if not fits:
        return NextAction(
            "vent_and_confirm_zero",
            "the record fits no explanation: vent, confirm the zero, look for what was touched or moved, hold again",
        )
    assert rate is not None and case.permitted is not None
    if ruling == IS_LEAK:
        return _after_leak(case, inference, rate)
    if ruling == TIGHT:
        masked = "; with the supply vented the same hold would show that no inlet masks a leak"
        return NextAction("none", "no action needed" + (masked if case.supply != 0.0 else ""))
    return _to_decide(case, inference, rate, widened, shut)


def _missing(case: Case) -> str:
    if not case.rate_known:
        wanted = {"gas": "gas", "capacity": "capacity (everything between the closed valves)"}
        lacking = [wanted[one.key] for one in case.assumed if one.key in wanted] or list(wanted.values())
        return f"{' and '.join(lacking)}: there is no rate without {'it' if len(lacking) == 1 else 'them'}"
    return "" if case.permitted is not None else "permitted_leak: without a limit there is no verdict"


def _after_leak(case: Case, inference: Inference, rate: Interval) -> NextAction:
    inward = rate.middle < 0.0
    mean = float(case.pressure.mean())
    if inward and mean > case.barometer and case.supply != 0.0:
        text = "gas comes in: vent the supply side and hold again; an inlet that passes shows"
        return NextAction("vent_supply", text)
    if inward and mean > case.barometer:
        return NextAction("vent_and_confirm_zero", "pressure rises with the supply vented: vent and confirm the zero")
    first = "vent and confirm the zero before any work on a joint"
    if case.port == "device":
        gone = expected_interval(case, inference, rate._replace(middle=0.0), float(case.time[-1]))
        text = (
            f"{first}; then plug the port in the device's place, state the capacity without the device and hold again"
            " as long: the same leak is the bench's, none is the device's or its joint's"
        )
        return NextAction("plug_port", text, None, case.watch[1] - case.watch[0], gone.low, gone.high)
    if case.port == "plugged":
        first += "; with the port plugged it is the bench's own"
    elif case.port is None:
        first += "; state what is on the port: with a device there, a plug in its place tells which of the two leaks"
    return NextAction("vent_and_confirm_zero", first)


def _to_decide(case: Case, inference: Inference, rate: Interval, widened: dict[str, float], shut: float) -> NextAction:
    """Undecided: try longer holds on paper, else what parts the causes."""
    assert case.permitted is not None
    end = float(case.time[-1])
    if _capacity_decides(case, inference, rate):
        return NextAction(
            "second_volume",
            "the capacity's spread leaves it open: measure the capacity, by expansion into a known second volume",
        )
    best: tuple[float, Interval] | None = None
    # the one explanation that is run on sees less than all of them: by as much as it does at the present length
    short = max(1.0, rate.half / expected_interval(case, inference, rate, end).half)
    for factor in LONGER:
        if factor * end > LONGEST:
            break
        expected = expected_interval(case, inference, rate, factor * end).about(rate.middle, short)
        if best is None or expected.half < best[1].half:
            best = (factor * end, expected)
        moves = MOVES * math.sqrt(max(rate.half**2 - expected.half**2, 0.0)) / (WIDER * NORMAL)
        if verdict(expected.low - moves, expected.high + moves, case.permitted) != UNDECIDED:
            return _longer(case, inference, factor * end, expected, shut)
    # still warm, nobody knows from what: a second hold would be no better known
    told = inference.best.rows[0].fit.scene.history.told
    if best is not None and not told and (_settled_at(case, inference, best[0]) or 0.0) > end:
        return _longer(case, inference, *best, shut)
    return _to_separate(case, inference, widened, best, shut)


def _longer(case: Case, inference: Inference, until: float, expected: Interval, shut: float) -> NextAction:
    """A longer hold; where heat is what is still going on, a later watch of the same hold."""
    settled = _settled_at(case, inference, until)
    end = float(case.time[-1])
    if settled is not None and settled > end:
        text = (
            f"keep the valves shut, begin the watch at {shut + settled:.0f} s when the thermal slope is small,"
            f" watch {until - settled:.0f} s"
        )
        kind, begin = "wait_longer", settled
    else:
        kind, begin = "hold_longer", case.watch[0]
        text = f"hold until {shut + until:.0f} s, {until - end:.0f} s longer"
    return NextAction(kind, text, shut + begin, until - begin, expected.low, expected.high)


def _to_separate(
    case: Case,
    inference: Inference,
    widened: dict[str, float],
    best: tuple[float, Interval] | None,
    shut: float,
) -> NextAction:
    """No longer hold decides: the test that parts the causes which widen the answer."""
    leading = max(widened, key=lambda name: widened[name])
    until, expected = best if best is not None else (None, None)
    low, high = (expected.low, expected.high) if expected is not None else (None, None)
    slow = float(inference.weight[inference.slow_kind >= 0].sum())
    if leading == "drift":
        text = "the sensor's drift leaves it open: record the vented port for as long; the same slope is the sensor's"
        return NextAction("vent_port", text, expected_low_mol_per_s=low, expected_high_mol_per_s=high)
    falling = inference.best.rows[0].fit.scene.history.step < 0.0
    above = _room_above(case)
    if (leading in ("slow", "heat") or slow > 0.4) and (falling or above):
        kind, way = ("from_below", "below") if falling else ("from_above", f"just above, {above}")
        text = (
            f"come to the same pressure from {way} and hold again, then judge both together: what is left of heat and"
            " yielding changes its sign, a leak does not"
        )
        return NextAction(kind, text, None, until, low, high)
    if leading in ("room", "thermometer", "barometer", "noise") and until is not None:
        text = (
            f"hold until {shut + until:.0f} s in a quieter room: that narrows the answer, and may still leave it open"
        )
        return NextAction("hold_longer", text, shut + case.watch[0], until - case.watch[0], low, high)
    text = "the answer lies near the limit: hold at a lower pressure too and judge both together"
    return NextAction("second_pressure", text, None, until, low, high)


def _room_above(case: Case) -> str:
    """Up to where the pressure may go on its way to the same hold from above; empty where the rating leaves no room."""
    if case.rating is None:
        return "within the lowest rating of all parts"
    highest = float(case.pressure.max())
    if case.rating < (1.0 + LEAST_ABOVE) * highest:
        return ""
    level = pressure_text(case.rating - case.barometer, "gauge") if case.gauge else pressure_text(case.rating, "abs")
    return f"at most {level}, the rating"


def _capacity_decides(case: Case, inference: Inference, rate: Interval) -> bool:
    """Whether the capacity's spread alone, with a perfect record, leaves the limit inside, and outweighs the record's.

    Both as they are stated and believed: what calibration adds to one of them says nothing of which to mend.
    """
    assert case.permitted is not None
    per_pascal = mol_per_pascal(case, float(case.pressure.mean()))
    spread = NORMAL * case.volume_sd * abs(rate.middle)
    of_record = fall_interval(inference, widen=False).half * per_pascal
    return abs(abs(rate.middle) - case.permitted) < WIDER_CAPACITY * spread and spread > of_record


def _settled_at(case: Case, inference: Inference, until: float) -> float | None:
    """When the most probable thermal slope falls below a share of the permitted one; None when it never was above."""
    assert case.permitted is not None
    scene = inference.best.rows[0].fit.scene
    fit = inference.best.rows[0].fit
    limit = case.permitted / mol_per_pascal(case, float(case.pressure.mean())) / (case.watch[1] - case.watch[0])
    longer = _lengthened(fit, until)
    t = longer.scene.time[longer.scene.time >= 0.0]
    thermal = (longer.scene.dp_dT * longer.run.temperature[:, 0])[longer.scene.time >= 0.0]
    slope = np.abs(np.diff(thermal) / np.diff(t))
    middle = 0.5 * (t[1:] + t[:-1])
    end = float(scene.time[-1])
    if float(np.interp(end, middle, slope)) < STILL_WARM * limit:
        return None
    small = np.flatnonzero((slope < SETTLED * limit) & (middle > end))
    return float(middle[small[0]]) if len(small) and middle[small[0]] < 0.8 * until else end


def _lengthened(fit: Fit, until: float) -> Fit:
    """The same explanation on a hold that lasts until `until` s, its blocks as sure as the present ones were."""
    scene = fit.scene
    old = scene.binned
    stretch = until / float(old.time[-1])
    time = old.time * stretch
    count = old.rows * stretch
    binned = Binned(time, np.interp(time, old.time, old.value), count, old.sd / math.sqrt(stretch), old.noise, 0)
    case = replace(scene.case, watch=(scene.case.watch[0], until), thermometer=None, horizon=until)
    longer = build(case, binned, scene.history, scene.state.p)
    theta = fit.theta.copy()
    theta[LEAK] *= (until - case.watch[0]) / (scene.case.watch[1] - scene.case.watch[0])
    run, model, jacobian = explained(longer, theta)
    return Fit(longer, fit.prior, theta, run, model, jacobian, fit.cost)


def expected_interval(case: Case, inference: Inference, rate: Interval, until: float) -> Interval:
    """The interval that a hold until `until` s is expected to give if the present middle is right, mol/s."""
    best = inference.best
    fit = _lengthened(best.rows[0].fit, until)
    seen = rows(fit)
    watch = until - case.watch[0]
    per_pascal = mol_per_pascal(replace(case, watch=(case.watch[0], until)), float(case.pressure.mean()))
    law = int(best.mixture.law[int(np.argmax(best.mixture.log_weight))])
    factor, touched = best.room
    covariance = sum(seen.rest.values()) + seen.jacobian @ best.prior_cov[:LEAK, :LEAK] @ seen.jacobian.T
    covariance = covariance + factor**2 * seen.room_covariance() + touched * seen.hand_covariance()
    columns = Columns(seen.laws[:, law] * rate.middle / per_pascal, seen.laws, seen.slow)
    grown = watch / (case.watch[1] - case.watch[0])
    count = seen.slow.shape[1]
    old = inference.belief
    belief = old._replace(
        leaks=tuple((weight, sd * grown) for weight, sd in old.leaks),
        by_step=old.by_step[:count],
        by_limit=old.by_limit[:count] * grown,
        lean=old.lean[:count],
        kinds=old.kinds[:count],
    )
    slow = slow_beliefs(belief)
    found = mixture(columns, covariance, belief, slow)
    weight = normed(found.log_weight)
    views = weight, doubted(weight, slow.imitates[found.slow])
    low = min(quantile(OUTSIDE, view, found.mean, found.sd) for view in views) * per_pascal
    high = max(quantile(1.0 - OUTSIDE, view, found.mean, found.sd) for view in views) * per_pascal
    spread = WIDER_CAPACITY * NORMAL * case.volume_sd * abs(rate.middle)
    return Interval(
        rate.middle - math.hypot(WIDER * (rate.middle - low), spread),
        rate.middle,
        rate.middle + math.hypot(WIDER * (high - rate.middle), spread),
    )
