"""From one or several holds to one mixture of leaks, and from it to what explains the change.

Several holds of one vessel share film, outer film, wall and capacity, and one leak that goes with pressure by its law;
each keeps its own past, room and yielding. One sensor read them all: its drift does not average out. They are put
below one another, never averaged.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag

from simcal.analysis.judge import noise
from simcal.analysis.judge.bins import compress
from simcal.analysis.judge.case import Case
from simcal.analysis.judge.fit import BODY, COUNT, FILM, LEAK, Fit, gauss_newton
from simcal.analysis.judge.history import histories
from simcal.analysis.judge.posterior import (
    LEAKS,
    SLOW_OF_LIMIT,
    Belief,
    Columns,
    Mixture,
    SlowBelief,
    mixture,
    slow_beliefs,
)
from simcal.analysis.judge.rows import Rows, rows
from simcal.analysis.judge.scene import build, state
from simcal.analysis.judge.shapes import SURFACE, slow_courses
from simcal.engine import vessel
from simcal.physics import stated
from simcal.stats.mixture import normed

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

ROOMS = ((0.58, 1.0, 0.0), (0.25, 2.5, 0.0), (0.07, 7.0, 0.0), (0.10, 1.0, 1.0))
"""(weight, factor on the room's spread, hand on the wall)"""
SHARED = 0.97
"""correlation of what two holds of one vessel share"""
GASSING_PRIOR = 0.50
"""that there something yields slowly by about what the limit makes"""
PLAIN = 7.0
"""times what is usual (`noise.usual_change`): where the limit lies further above it, a yielding of the limit's size is
less likely, by the square"""
OVER = 0.2
"""share of a slow course within the watch below which it is as good as over: it is not made larger to count"""
HOPELESS = 14.0
"""in log evidence: explanations that far behind are not worked out"""
OUTGASSING = 1e6
"""Pa: below it what walls give off may show, as a logarithm of time whatever the move was"""


@dataclass(frozen=True)
class Explanation:
    """One past and room for each hold: everything needed to tell the parts of the change afterwards."""

    rows: tuple[Rows, ...]
    room: tuple[float, float]  # factor, hand
    log_prior: float
    columns: Columns
    covariance: Matrix
    prior_cov: Matrix
    mixture: Mixture


@dataclass(frozen=True)
class Inference:
    """All explanations, and the leak of the first hold over them: fall over its watch, Pa."""

    explanations: tuple[Explanation, ...]
    belief: Belief
    slow: SlowBelief
    owner: NDArray[np.int64]  # explanation of each component
    weight: Vector
    mean: Vector
    sd: Vector
    law: NDArray[np.int64]
    slow_kind: NDArray[np.int64]
    imitates: NDArray[np.bool_]  # explained with a yielding large enough to be taken for a leak above the limit
    misfit: float  # of the best explanation

    @property
    def best(self) -> Explanation:
        """The explanation with the most weight."""
        totals = np.bincount(self.owner, self.weight, len(self.explanations))
        return self.explanations[int(np.argmax(totals))]


def mol_per_pascal(case: Case, p: float) -> float:
    """Net flow, mol/s, that makes the pressure fall 1 Pa over the watch, at pressure p and the room's temperature."""
    watch = case.watch[1] - case.watch[0]
    return case.volume / (state(case, p).dp_drho * case.table.molar_mass * watch)


def infer(cases: tuple[Case, ...]) -> Inference:
    """The leak over the watch of the first case, seen by all of them together."""
    fitted = [_fits(case) for case in cases]
    scale = _leak_scales(cases, fitted)
    best_fit = min(fitted[0], key=lambda fit: fit.cost)
    first = best_fit.scene
    plain = min(1.0, PLAIN * noise.usual_change(first, best_fit.run) / scale) ** 2
    belief, slow = _beliefs(fitted, scale, first.laws, plain)
    found = []
    for combination in itertools.islice(itertools.product(*fitted), 12):
        found += _explanations(cases, combination, belief, slow)
    best = max(float((one.log_prior + one.mixture.log_weight).max()) for one in found)
    found = [one for one in found if float((one.log_prior + one.mixture.log_weight).max()) > best - HOPELESS]
    log_weight = np.concatenate([one.log_prior + one.mixture.log_weight for one in found])
    weight = normed(log_weight)
    owner = np.repeat(np.arange(len(found)), [len(one.mixture.mean) for one in found])
    top = int(np.argmax(weight))

    def all_of(name: str) -> Vector:
        return np.concatenate([getattr(one.mixture, name) for one in found])

    of_slow = all_of("slow").astype(np.int64)
    return Inference(
        tuple(found),
        belief,
        slow,
        owner,
        weight,
        all_of("mean"),
        all_of("sd"),
        all_of("law").astype(np.int64),
        slow.kind[of_slow],
        slow.imitates[of_slow],
        float(all_of("misfit")[top]),
    )


def _fits(case: Case) -> list[Fit]:
    """One fit for each past that may be."""
    binned = compress(case.time, case.pressure, case.sheet.noise, case.sheet.resolution)
    p0 = float(binned.value[0])
    fits = [gauss_newton(build(case, binned, history, p0)) for history in histories(case, p0)]
    costs = np.array([fit.cost - 2.0 * np.log(fit.scene.history.weight) for fit in fits])
    return [fit for fit, cost in zip(fits, costs, strict=True) if cost < costs.min() + 40.0]


def _leak_scales(cases: tuple[Case, ...], fitted: list[list[Fit]]) -> float:
    """The fall, Pa, that the permitted leak makes over the first watch; without a limit of the record's own size."""
    case, scene = cases[0], fitted[0][0].scene
    if case.permitted is not None:
        return case.permitted / mol_per_pascal(case, float(np.mean(scene.binned.value)))
    span = float(scene.binned.value.max() - scene.binned.value.min())
    return span + 3.0 * float(np.median(scene.binned.sd)) + 1e-6 * scene.state.p


def _thought_of(case: Case) -> tuple[float, float]:
    """The watch by which the limit's size of a slow course is told: of a hold that goes on, the whole one."""
    return case.watch[0], max(case.watch[1], case.horizon or 0.0)


def _beliefs(fitted: list[list[Fit]], scale: float, laws: tuple, plain: float) -> tuple[Belief, SlowBelief]:
    by_step, by_limit, leans, kinds = [], [], [], []
    for fits in fitted:
        scene = fits[0].scene
        case, told, p = scene.case, scene.history.told, scene.state.p
        size = min(max(abs(scene.history.step), 0.03 * p), 10.0 * p) if told else p
        sign = float(np.sign(scene.history.step)) if told and abs(scene.history.step) > 0.02 * p else 0.0
        window = _thought_of(case)
        whole = scale * (window[1] - window[0]) / (case.watch[1] - case.watch[0])
        for kind, slow in enumerate(slow_courses(np.array(window), scene.history.rested, case.length)):
            by_step.append(size)
            by_limit.append(whole / max(float(slow.course[1] - slow.course[0]), OVER))
            leans.append(0.0 if p < OUTGASSING and slow.name in SURFACE else sign)
            kinds.append(kind)
    gassing = min(fits[0].scene.state.p for fits in fitted) < OUTGASSING
    surface = [slow.name in SURFACE for slow in slow_courses(np.zeros(1), 0.0, 1.0)]
    belief = Belief(
        laws=np.array([course.weight for course in laws]),
        leaks=tuple((weight, factor * scale) for weight, factor in LEAKS),
        by_step=np.array(by_step),
        by_limit=np.array(by_limit),
        lean=np.array(leans),
        kinds=np.array(kinds, dtype=np.int64),
        likely=np.where(surface, 2.0 if gassing else 1.0, 1.0),
        by_limit_prior=plain * (GASSING_PRIOR if gassing else SLOW_OF_LIMIT[0]),
    )
    return belief, slow_beliefs(belief)


def _explanations(
    cases: tuple[Case, ...], fits: tuple[Fit, ...], belief: Belief, slow: SlowBelief
) -> list[Explanation]:
    seen = tuple(rows(fit) for fit in fits)
    columns = stacked(cases, seen)
    prior_cov = joint_prior(fits)
    through = block_diag(*(one.jacobian for one in seen))
    parameters = through @ prior_cov @ through.T
    log_history = sum(np.log(fit.scene.history.weight) for fit in fits)
    room = block_diag(*(one.room_covariance() for one in seen))
    hand = block_diag(*(one.hand_covariance() for one in seen))
    fixed = block_diag(*(sum(one.rest.values()) for one in seen)) + parameters + between(seen)
    strained = max(1.0, *(fit.strain for fit in fits)) ** 0.5  # beliefs that were wrong so far are too narrow
    found = []
    for weight, factor, touched in ROOMS:
        covariance = fixed + factor**2 * room + touched * hand
        result = mixture(columns, covariance, belief, slow)
        result = replace(result, sd=result.sd * strained)
        log_prior = float(log_history + np.log(weight))
        found.append(Explanation(seen, (factor, touched), log_prior, columns, covariance, prior_cov, result))
    return found


def stacked(cases: tuple[Case, ...], seen: tuple[Rows, ...]) -> Columns:
    """Residuals and straight columns of all holds; a leak is counted as its fall over the first hold's watch."""
    laws = [one.laws * _ratios(cases[0], seen[0].fit, case, one.fit) for case, one in zip(cases, seen, strict=True)]
    residual = np.concatenate([one.residual for one in seen])
    return Columns(residual, np.vstack(laws), block_diag(*(one.slow for one in seen)))


def _ratios(first_case: Case, first: Fit, case: Case, fit: Fit) -> Vector:
    """Fall in this hold's watch per fall in the first one's, by law [law]."""
    if fit is first:
        return np.ones(len(fit.scene.laws))
    p_first, p_here = float(first.scene.binned.value.mean()), float(fit.scene.binned.value.mean())
    here, there = mol_per_pascal(case, p_here), mol_per_pascal(first_case, p_first)
    ratios = []
    for course in fit.scene.laws:
        law = course.law if course.law != "permeation" else "molecular"
        flow = [_net_flow(law, case, p) for p in (p_here, p_first)]
        ratios.append(flow[0] / flow[1] if flow[1] != 0.0 else 1.0)
    return np.array(ratios) * there / here


def _net_flow(law: str, case: Case, p: float) -> float:
    """Flow of the real gas out of a hold at `p` Pa by a leak's law, any unit; negative inward."""
    if law == "constant" or p == case.barometer:
        return float(np.sign(p - case.barometer))
    high, low = max(p, case.barometer), min(p, case.barometer)
    return math.copysign(stated.law_flow(law, high, low, case.room, case.table), p - case.barometer)


def between(seen: tuple[Rows, ...]) -> Matrix:
    """Covariance between the rows of different holds by what their one sensor does alike in all; 0 within a hold."""
    steady = np.vstack([one.steady for one in seen])
    return np.asarray(steady @ steady.T - block_diag(*(one.steady @ one.steady.T for one in seen)))


def joint_prior(fits: tuple[Fit, ...]) -> Matrix:
    """Prior covariance of all holds' parameters without their leaks; what belongs to the vessel goes together."""
    size = LEAK
    cov = block_diag(*(fit.prior.cov[:size, :size] for fit in fits))
    common = np.zeros(COUNT, dtype=bool)
    common[FILM] = True
    common[[BODY + vessel.OUTSIDE, BODY + vessel.WALL]] = True
    where = np.flatnonzero(common[:size])
    for i, j in itertools.permutations(range(len(fits)), 2):
        block = SHARED * fits[i].prior.cov[np.ix_(where, where)]
        cov[np.ix_(i * size + where, j * size + where)] = block
    return np.asarray(cov)
