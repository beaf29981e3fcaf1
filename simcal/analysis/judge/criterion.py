"""What the shop's own criterion would have said about the record, and why the two may differ."""

from __future__ import annotations

import numpy as np

from simcal.analysis.judge.case import Case
from simcal.analysis.judge.judgement import LEAK, TIGHT, UNDECIDED, CriterionView
from simcal.analysis.judge.parts import Courses
from simcal.bench.about import ShopCriterion


def shop_view(case: Case, stated: ShopCriterion, courses: Courses, own: str | None) -> CriterionView:
    """The change of the reading over the shop's wait and watch, held against what it allows."""
    wait = stated.wait or 0.0
    end = float(case.time[-1])
    until = wait + stated.watch if stated.watch is not None else end
    drop, rise = stated.allowed_drop, stated.allowed_rise
    if until > end * (1.0 + 1e-6) + 0.5 or (drop is None and rise is None):
        why = "the record ends before its watch does" if until > end else "it allows neither a drop nor a rise"
        return CriterionView(None, None, drop, rise, None, why)
    change = _reading(case, until) - _reading(case, wait)
    bad = (drop is not None and -change > drop) or (rise is not None and change > rise)
    verdict = LEAK if bad else TIGHT
    if own is None:
        return CriterionView(verdict, change, drop, rise, None, "no verdict of our own to compare with")
    return CriterionView(
        verdict, change, drop, rise, verdict == own, _why(verdict, own, courses, (wait, until), change)
    )


def _reading(case: Case, at: float) -> float:
    """The single reading nearest to a time: that is what a shop takes."""
    return float(case.pressure[int(np.argmin(np.abs(case.time - at)))])


def _why(verdict: str, own: str, courses: Courses, watch: tuple[float, float], change: float) -> str:
    if verdict == own:
        return "both say the same"
    share = {name: courses.change(course, watch) for name, course in courses.sources.items()}
    leak = share.pop("leak")
    name = max(share, key=lambda key: abs(share[key]))
    words = {
        "gas": "gas that comes to the wall's temperature", "body": "a body that comes to the room's temperature",
        "room": "the wandering room", "slow": "slow yielding of a hose or a trapped volume",
        "drift": "the sensor's drift", "barometer": "the barometer",
    }[name]  # fmt: skip
    told = f"of its {change:.3g} Pa {leak:.3g} Pa are leak and {share[name]:.3g} Pa {words}"
    if own == UNDECIDED:
        return f"it takes the change for the leak: {told}, more or less"
    if verdict == LEAK:
        return f"it takes the change for a leak: {told}"
    return f"it allows more than the permitted leak makes in that time, or something hid it: {told}"
