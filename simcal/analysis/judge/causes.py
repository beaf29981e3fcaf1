"""Which causes made the change, as weights: the size of each one's part, and what a silent inlet could hide."""

from __future__ import annotations

from simcal.analysis.judge.case import Case
from simcal.analysis.judge.infer import OUTGASSING, Inference
from simcal.analysis.judge.judgement import CAUSES
from simcal.analysis.judge.parts import Courses
from simcal.analysis.judge.shapes import SLOW_TIMES

MASKED = 0.1
"""weight of a passing inlet where nobody said what the supply was [our choice]"""


def parts(courses: Courses, watch: tuple[float, float]) -> tuple[float, dict[str, float]]:
    """The change over the watch, and its parts leak, thermal, other, unexplained that sum to it, Pa."""
    change = {name: courses.change(course, watch) for name, course in courses.sources.items()}
    found = {
        "leak": -courses.fall,
        "thermal": change["gas"] + change["body"] + change["room"],
        "other": change["slow"] + change["drift"] + change["barometer"],
        "unexplained": courses.unexplained(watch),
    }
    return sum(found.values()), found


def causes(case: Case, inference: Inference, courses: Courses, p_mean: float) -> dict[str, float]:
    """Weights of the causes, summing to 1: the sizes of their parts of the change over the watch."""
    watch = case.watch
    size = {name: abs(courses.change(course, watch)) for name, course in courses.sources.items()}
    weight = dict.fromkeys(CAUSES, 0.0)
    weight[_of_flow(case, courses.fall, p_mean)] += abs(courses.fall)
    weight["gas"], weight["body"], weight["room"] = size["gas"], size["body"], size["room"]
    weight["barometer"], weight["sensor"] = size["barometer"], size["drift"]
    rising = courses.change(courses.sources["slow"], watch) > 0.0
    for name, share in _of_slow(inference, rising, p_mean).items():
        weight[name] += share * size["slow"]
    weight["unknown"] = abs(courses.unexplained(watch)) + 1e-12 * p_mean
    if case.supply is None:
        weight["seat"] += MASKED * sum(weight.values())
    total = sum(weight.values())
    return {name: value / total for name, value in weight.items()}


def _of_flow(case: Case, flow: float, p_mean: float) -> str:
    """Whose a net flow out (positive) is: inward against the room it came past the inlet, or off the walls."""
    outward_expected = p_mean > case.barometer
    if (flow >= 0.0) == outward_expected:
        return "leak"
    if case.supply != 0.0 and flow < 0.0:
        return "seat"
    return "outgassing" if p_mean < OUTGASSING else "unknown"


def _of_slow(inference: Inference, rising: bool, p_mean: float) -> dict[str, float]:
    """How a slow yielding is shared out: a logarithm of time is a hose's, an exponential may be a trapped volume."""
    if rising and p_mean < OUTGASSING:
        return {"outgassing": 1.0}
    slow = inference.slow_kind >= 0
    total = float(inference.weight[slow].sum())
    late = inference.slow_kind >= len(SLOW_TIMES)
    logarithmic = float(inference.weight[slow & late].sum()) / total if total > 0.0 else 0.5
    return {"creep": 0.5 + 0.5 * logarithmic, "trapped": 0.5 - 0.5 * logarithmic}
