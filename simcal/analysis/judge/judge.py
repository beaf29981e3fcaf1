"""`judge`: a record and what is known of it -> leak, tight or undecided, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from simcal.analysis.judge import advice, assemble, parts
from simcal.analysis.judge.case import Case
from simcal.analysis.judge.causes import causes
from simcal.analysis.judge.causes import parts as change_parts
from simcal.analysis.judge.criterion import shop_view
from simcal.analysis.judge.infer import Inference, infer
from simcal.analysis.judge.interval import HOPELESS_FIT, Interval, fall_interval, rate_interval
from simcal.analysis.judge.judgement import CAUSES, PARTS, UNDECIDED, Explained, Judgement, verdict
from simcal.bench.about import About
from simcal.bench.record import FROZEN, Record
from simcal.bench.values import Assumed
from simcal.units import pressure_text

YIELDING = ("creep", "trapped")
TOLD = 0.1
"""weight of what yields slowly from which it is put into words"""


def judge(record: Record, about: About) -> Judgement:
    """Judge one hold.

    Raises InputError where the record and what is said of it cannot be judged together; a missing capacity, gas or
    permitted leak is no error: less is answered then.
    """
    return judge_together([(record, about)])


def judge_together(holds: Sequence[tuple[Record, About]]) -> Judgement:
    """Judge several holds of one vessel by one explanation; rates and limit are those of the first hold's pressure."""
    built = [assemble.case(record, about) for record, about in holds]
    cases = tuple(case for case, _shut in built)
    record, about = holds[0]
    case, shut = built[0]
    inference = infer(cases)
    p_mean = mean_pressure(case)
    fits = inference.misfit <= HOPELESS_FIT
    rate = rate_interval(case, inference, p_mean) if case.rate_known else None
    ruling = _ruling(case, rate, fits)
    fall = fall_interval(inference)
    courses = parts.courses(inference, fall.middle)
    if case.rate_known and fits:
        change, shares = change_parts(courses, case.watch)
        weights = causes(case, inference, courses, p_mean)
    else:
        change, shares, weights = _unattributed(courses, case)
    widened = parts.widened_by(inference)
    action = advice.next_action(cases, inference, rate, ruling, fits, widened, shut)
    shop = shop_view(case, about.criterion, courses, ruling) if about.criterion is not None else None
    return Judgement(
        record=record.name,
        verdict=ruling,
        leak_mol_per_s=rate.middle if rate else None,
        low_mol_per_s=rate.low if rate else None,
        high_mol_per_s=rate.high if rate else None,
        permitted_mol_per_s=case.permitted,
        change_Pa=change,
        change_parts_Pa=shares,
        causes=weights,
        next_action=action,
        assumed=_assumed(built),
        reasons=_reasons(case),
        statements=(*_hung(holds, built), *_statements(case, weights, fits, ruling)),
        pressure_Pa=p_mean,
        watch_from_s=shut + case.watch[0],
        watch_until_s=shut + case.watch[1],
        fits=fits,
        misfit=inference.misfit,
        widened_by=widened,
        criterion=shop,
        explained=_explained(inference, courses, case, shut),
        records=tuple(one.name for one, _about in holds) if len(holds) > 1 else (),
    )


def mean_pressure(case: Case) -> float:
    """Mean absolute pressure of the watch, Pa."""
    inside = (case.time >= case.watch[0]) & (case.time <= case.watch[1])
    return float(case.pressure[inside].mean())


def _ruling(case: Case, rate: Interval | None, fits: bool) -> str | None:
    if rate is None or case.permitted is None:
        return None
    return verdict(rate.low, rate.high, case.permitted) if fits else UNDECIDED


def _unattributed(courses: parts.Courses, case: Case) -> tuple[float, dict[str, float], dict[str, float]]:
    """Without gas and capacity, or by what does not fit, nothing is attributed."""
    change = sum(change_parts(courses, case.watch)[1].values())
    shares = dict.fromkeys(PARTS, 0.0) | {"unexplained": change}
    return change, shares, dict.fromkeys(CAUSES, 0.0) | {"unknown": 1.0}


def _assumed(built: Sequence[tuple[Case, float]]) -> tuple[Assumed, ...]:
    seen: dict[Assumed, None] = {}
    for case, _shut in built:
        seen |= dict.fromkeys(case.assumed)
    return tuple(seen)


def _reasons(case: Case) -> dict[str, str]:
    found = {}
    if not case.rate_known:
        found["leak_mol_per_s"] = "a rate needs gas and capacity"
    if case.permitted is None:
        found["permitted_mol_per_s"] = "no permitted leak, or none that can be told without gas and capacity"
        found["verdict"] = "a verdict needs permitted_leak, gas and capacity"
    return found


def _hung(holds: Sequence[tuple[Record, About]], built: Sequence[tuple[Case, float]]) -> Iterator[str]:
    """Which rows were left out because the logger hung."""
    for (record, _about), (_case, shut) in zip(holds, built, strict=True):
        for flag in record.flags:
            if flag.kind != FROZEN or record.time_s[flag.last] <= shut:
                continue
            start, end = (float(record.time_s[row]) for row in (flag.first + 1, flag.last))
            yield (
                f"{record.name}: rows {flag.first + 1} to {flag.last} ({start:.6g} s to {end:.6g} s) are left out: they"
                " repeat one value far longer than noise and resolution explain, so the logger hung; if it was alive,"
                ' state its step: sensor.resolution = "1 kPa"'
            )


def _statements(case: Case, weights: Mapping[str, float], fits: bool, ruling: str | None) -> tuple[str, ...]:
    found = []
    if not fits:
        found.append("the record does not fit any explanation: no verdict can rest on it")
    if case.supply is None:
        found.append("the supply was neither vented nor stated: an inlet that passes could mask a leak")
    elif case.supply > 0.0 and ruling is not None:
        found.append("the supply was under pressure: the rate is what leaves less what its inlet lets pass")
    highest = float(case.pressure.max())
    if case.rating is not None and highest > case.rating:
        level = (highest - case.barometer, "gauge") if case.gauge else (highest, "abs")
        found.append(f"the record goes up to {pressure_text(*level)}, above the stated rating")
    slow = sum(weights[name] for name in YIELDING)
    if slow >= TOLD:
        found.append(f"a hose, a seal or a pocket that yields slowly has {100.0 * slow:.0f} % of the causes' weight")
    if not case.rate_known:
        found.append(shape_of(case))
    return tuple(found)


def shape_of(case: Case) -> str:
    """In words, how the slope goes: all that a record without gas and capacity tells."""
    t, p = case.time, case.pressure
    third = (t[-1] - t[0]) / 3.0
    early, late = t <= t[0] + third, t >= t[-1] - third
    if early.sum() < 3 or late.sum() < 3:
        return "too few rows to tell a slope"
    (first, _), (last, _) = np.polyfit(t[early], p[early], 1), np.polyfit(t[late], p[late], 1)
    if abs(last) > 0.7 * abs(first):
        return f"a steady slope of {last:.3g} Pa/s"
    return f"a slope that fades from {first:.3g} Pa/s to {last:.3g} Pa/s"


def _explained(inference: Inference, courses: parts.Courses, case: Case, shut: float) -> Explained:
    scene = inference.best.rows[0].fit.scene
    source = courses.sources

    def since_start(course: np.ndarray) -> np.ndarray:
        return np.asarray(course - np.interp(case.watch[0], courses.time, course))

    pieces = {
        "leak": since_start(source["leak"]),
        "thermal": since_start(source["gas"] + source["body"] + source["room"]),
        "other": since_start(source["slow"] + source["drift"] + source["barometer"]),
        "unexplained": since_start(courses.noise),
    }
    explained = courses.reading - courses.noise
    return Explained(courses.time + shut, courses.reading, scene.binned.sd, explained, pieces)
