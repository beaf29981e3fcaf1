"""What the record says about the leak: many explanations side by side, each linear and normal, weighed by evidence.

An explanation is a past, a room, a leak law with a spread of leaks, and perhaps a slow yielding. About the fitted curve
everything but the leak is integrated out in closed form; what remains is one normal distribution of the leak for each
explanation. Their mixture is the answer.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from simcal.stats.covariance import factor

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

FREEDOM = 20.0
"""degrees of freedom of the t distribution in the evidence: how far the stated noise is believed"""
SLOW_OF_STEP = 0.15, (1e-5, 1e-4, 1e-3, 1e-2, 5e-2)
"""probability that something yields slowly by a share of the pressure's step, and these shares"""
SLOW_OF_LIMIT = 0.40, (0.1, 0.3, 1.0, 3.0)
"""the same by a multiple of what the permitted leak makes over the watch: what could be taken for a leak"""
SLOW_LEAN = 0.8
SLOW_SD = 0.6
"""mean and standard deviation over the size: a yielding goes on with the move that began it"""
SLOW_OTHERS = 0.35
"""standard deviation of the courses that are not the explanation's own: no yielding has one time constant"""
ALONE, ALONE_SIZES, ALONE_OTHERS = 0.5, (0.3, 1.0, 3.0), 0.05
"""share of what is of the limit's size that follows one course almost alone, its sizes, and the part of the others:
a trapped volume has one time constant, and what is far slower than the hold goes straight as a leak does"""
IMITATES = 1.0
"""over what the permitted leak makes: a yielding at least as large could be the whole of a leak"""
LEAKS = ((0.3, 0.1), (0.42, 2.5), (0.26, 20.0), (0.01, 300.0), (0.01, 1e5))
"""(weight, standard deviation over the limit) of the leak; the last two so that a gross leak, or one far above its
limit, is not explained by yielding or heat"""
ROUNDING = 1e-14
"""of the trace of a precision: what rounding may have taken from it"""


class Columns(NamedTuple):
    """What enters the reading straight: of each law [n, law] and of slow courses [n, slow], Pa per unit."""

    residual: Vector
    laws: Matrix
    slow: Matrix


class Belief(NamedTuple):
    """Priors of what enters straight.

    laws: weight of each law [law]; leaks: (weight, sd in Pa of fall over the watch); by_step, by_limit: amount of each
    slow course [slow] that makes the whole step of the pressure, and over the watch what the permitted leak makes;
    lean: sign of the move's yielding (+1 falling, -1 rising, 0 unknown) per course [slow]; kinds: which kind of slow
    course each is [slow]; likely: relative weight of each kind [kind]; by_limit_prior: probability of a yielding of the
    limit's size.
    """

    laws: Vector
    leaks: tuple[tuple[float, float], ...]
    by_step: Vector
    by_limit: Vector
    lean: Vector
    kinds: NDArray[np.int64]
    likely: Vector
    by_limit_prior: float = SLOW_OF_LIMIT[0]


@dataclass(frozen=True)
class Mixture:
    """Normal distributions of the leak's fall, Pa, one for each explanation (arrays of one length)."""

    log_weight: Vector
    mean: Vector
    sd: Vector
    law: NDArray[np.int64]
    slow: NDArray[np.int64]  # 0: none, else 1 + place in the list of slow explanations
    misfit: Vector  # chi-squared over the number of blocks


class SlowBelief(NamedTuple):
    """Mean and variance [explanation, slow] of the amplitudes, log weight and kind of each; the first is none.

    imitates: whether it is large enough to be taken for a leak above the limit.
    """

    mean: Matrix
    variance: Matrix
    log_weight: Vector
    kind: NDArray[np.int64]
    imitates: NDArray[np.bool_]


def slow_beliefs(belief: Belief) -> SlowBelief:
    """All explanations of a slow yielding: one kind leads with one size, the others may take part a little."""
    kinds = np.unique(belief.kinds)
    share = belief.likely / belief.likely.sum()
    means, variances = [np.zeros(len(belief.kinds))], [(1e-8 * belief.by_step) ** 2]
    weights, names, imitates = [np.log(1.0 - SLOW_OF_STEP[0] - belief.by_limit_prior)], [-1], [False]
    either = np.zeros(len(belief.kinds))  # what imitates a leak may be a sensor that recovers, of either sign
    alone = ALONE * belief.by_limit_prior
    families = (
        (SLOW_OF_STEP[0], SLOW_OF_STEP[1], belief.by_step, belief.lean, SLOW_OTHERS),
        (belief.by_limit_prior - alone, SLOW_OF_LIMIT[1], belief.by_limit, either, SLOW_OTHERS),
        (alone, ALONE_SIZES, belief.by_limit, either, ALONE_OTHERS),
    )
    for prior, sizes, whole, lean, others in families:
        for kind, size in itertools.product(kinds, sizes):
            own, unit = belief.kinds == kind, size * whole
            sd = np.where(own, np.where(lean != 0.0, SLOW_SD, 1.0), others)
            means.append(np.where(own, -SLOW_LEAN * lean, 0.0) * unit)
            variances.append((sd * unit) ** 2)
            weights.append(np.log(prior * share[kind] / len(sizes)))
            names.append(int(kind))
            imitates.append(whole is belief.by_limit and size >= IMITATES)
    return SlowBelief(
        np.array(means), np.array(variances), np.array(weights), np.array(names), np.array(imitates, dtype=bool)
    )


def mixture(columns: Columns, covariance: Matrix, belief: Belief, slow: SlowBelief) -> Mixture:
    """Leak distributions of every law, spread of leaks and slow yielding, under one covariance of all the rest."""
    n, count_laws = len(columns.residual), columns.laws.shape[1]
    lower = factor(covariance)
    white = solve_triangular(lower, np.column_stack([columns.residual, columns.laws, columns.slow]), lower=True)
    gram = white.T @ white
    q, a = slice(1, 1 + count_laws), slice(1 + count_laws, None)
    size = np.sqrt(slow.variance)  # amounts in units of their own spread: well conditioned however they differ
    both = size[:, :, None] * size[:, None, :]
    precision = gram[a, a] * both
    raised = 1.0 + ROUNDING * np.einsum("hii->h", precision)
    precision = precision + raised[:, None, None] * np.eye(size.shape[1])
    spread = np.linalg.inv(precision) * both
    b = gram[a, 0] - slow.mean @ gram[a, a]
    rest = gram[0, 0] - 2.0 * slow.mean @ gram[a, 0] + np.einsum("hi,ij,hj->h", slow.mean, gram[a, a], slow.mean)
    rest -= np.einsum("hi,hij,hj->h", b, spread, b)
    log_det = np.linalg.slogdet(precision)[1]
    taken = np.einsum("qi,hij->hqj", gram[q, a], spread)
    sharp = np.maximum(np.diag(gram)[q] - np.einsum("hqj,qj->hq", taken, gram[q, a]), 0.0)
    pull = gram[q, 0] - slow.mean @ gram[a, q] - np.einsum("hqj,hj->hq", taken, b)
    weight, sd = np.array(belief.leaks).T
    total = sharp[:, :, None] + 1.0 / sd**2
    mean = pull[:, :, None] / total
    chi = np.maximum(rest[:, None, None] - pull[:, :, None] ** 2 / total, 0.0)
    log_weight = (
        slow.log_weight[:, None, None]
        + np.log(belief.laws)[None, :, None]
        + np.log(weight)
        - 0.5 * (log_det[:, None, None] + np.log(total * sd**2))
        - 0.5 * (n + FREEDOM) * np.log1p(chi / FREEDOM)
        - float(np.log(np.diag(lower)).sum())
    )
    wider = np.maximum(1.0, (FREEDOM + chi) / (FREEDOM + n))
    shape = log_weight.shape
    hs, ls, _ = np.meshgrid(*(np.arange(k) for k in shape), indexing="ij")
    return Mixture(
        log_weight.ravel(), mean.ravel(), np.sqrt(wider / total).ravel(), ls.ravel(), hs.ravel(), (chi / n).ravel()
    )
