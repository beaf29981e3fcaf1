"""What the interval rests on: courses that could be taken for a leak, and those who doubt."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from simcal.analysis.judge import assemble, judge
from simcal.analysis.judge.infer import infer
from simcal.analysis.judge.interval import fall_interval, rate_interval, weights
from simcal.analysis.judge.shapes import PERMEATION_LAGS, Move, leak_courses
from simcal.bench.about import PermittedLeak
from simcal.bench.values import Level
from tests.analysis.holds import VOLUME, P, R, T, about, isothermal, record

LIMIT = 2e-8


def slab(lag, before, after, beyond, times, cells=200):
    """Flow into a slab through its face by explicit differences over that of a unit step at rest; steady at first."""
    step = 1.0 / cells
    h = 0.4 * step**2  # of L^2/D = 6 lags
    inside = before + (beyond - before) * (np.arange(cells) + 0.5) * step
    found, now, out = [], 0.0, iter(times)
    wanted = next(out)
    while True:
        face = 2.0 * (after - inside[0]) / step
        if now * 6.0 * lag >= wanted:
            found.append(face)
            wanted = next(out, None)
            if wanted is None:
                return np.array(found)
        flow = np.concatenate([[face], -np.diff(inside) / step, [2.0 * (inside[-1] - beyond) / step]])
        inside -= h * np.diff(flow) / step
        now += h


def test_a_seal_takes_up_gas_from_the_move_on_as_diffusion_has_it():
    # Fick's law by finite differences: a slab steady at 1 bar before, 5 bar for 20 s when the valves shut
    time = np.linspace(0.5, 300.0, 40)
    courses = leak_courses(time, np.full(40, 5e5), 1e5, 300.0, Move(1e5, 20.0), "air")
    seals = [course.flow for course in courses if course.law == "permeation"]
    assert len(seals) == len(PERMEATION_LAGS)
    for lag, flow in zip(PERMEATION_LAGS, seals, strict=True):
        if lag < 0.05:
            continue  # over before the record begins
        true = slab(lag * 320.0, 1e5, 5e5, 1e5, time + 20.0)
        assert flow / flow.mean() == pytest.approx(true / true.mean(), rel=0.01)


def test_a_flow_that_turns_within_the_hold_has_no_size_and_is_replaced():
    # steeped at 2 bar, held at 1.05 bar against 1 bar: it gives back at first, and takes up later
    courses = leak_courses(np.linspace(0.5, 300.0, 40), np.full(40, 1.05e5), 1e5, 300.0, Move(2e5, 1.0), "air")
    assert all(float(course.flow.min()) > -0.06 * float(course.flow.mean()) for course in courses)


def test_a_pocket_that_fills_almost_straight_is_not_called_a_leak():
    # a closed form: 1.5 times what the limit takes, by one exponential of three holds after a fill; the limit is four
    # times what the room does, as in a hard hold
    fall = 1.5 * LIMIT * R * T / VOLUME * 300.0
    course = lambda t: P - fall * (1.0 - np.exp(-t / 900.0)) / (1.0 - np.exp(-300.0 / 900.0))  # noqa: E731
    found = judge(record(course), about(came_from=Level(1e5, False), soak=3600.0))
    assert found.verdict == "undecided"


def case_of(limit, course=lambda t: P + 0.0 * t):
    said = replace(about(), permitted_leak=PermittedLeak(limit, "amount", "mol/s"))
    return assemble.case(record(course), said)[0]


def test_a_limit_far_above_what_is_usual_is_hardly_reached_by_yielding():
    usual, far = infer((case_of(1e-10),)), infer((case_of(LIMIT * 10.0),))
    farther = infer((case_of(LIMIT * 20.0),))
    assert usual.belief.by_limit_prior > 10.0 * far.belief.by_limit_prior
    assert far.belief.by_limit_prior == pytest.approx(4.0 * farther.belief.by_limit_prior, rel=0.01)


def doubtful(share):
    """A leak of 5 Pa, or with weight `share` none but a yielding that imitates it."""
    return SimpleNamespace(
        weight=np.array([1.0 - share, share]), mean=np.array([5.0, 0.0]), sd=np.array([0.1, 0.1]),
        imitates=np.array([False, True]),
    )  # fmt: skip


def test_the_interval_holds_for_those_who_doubt_too():
    # 1.5 % lie outside 95 %; to odds four times as high they are 5.7 %, and inside
    inference = doubtful(0.015)
    assert fall_interval(inference, widen=False).low > 4.0
    assert fall_interval(inference).low < 0.0
    assert weights(inference)[1] == pytest.approx([0.985 / 1.045, 0.06 / 1.045])
    assert fall_interval(inference).middle == pytest.approx(5.0, abs=0.01)


def test_where_the_record_speaks_against_yielding_doubt_changes_nothing():
    inference = doubtful(1e-6)
    assert fall_interval(inference).low == pytest.approx(5.0 - 1.8 * 0.196, abs=0.01)


def test_an_interval_is_never_narrower_for_being_widened():
    for course in (isothermal(2e-8), lambda t: P + 40.0 * np.exp(-t / 60.0)):
        case = case_of(LIMIT, course)
        inference = infer((case,))
        plain, wide = (rate_interval(case, inference, P, widen) for widen in (False, True))
        assert wide.low < plain.low < plain.middle == wide.middle < plain.high < wide.high
