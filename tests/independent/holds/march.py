"""Independent re-implementation, shares nothing with simcal/: stiff integration of the finer hold.

Linearly implicit Euler with 1, 2, 3 and 4 sub-steps, extrapolated to order 4 (Hairer & Wanner, Solving Ordinary
Differential Equations II, 2nd ed., section IV.9); the last difference of the scheme steers the step.
"""

import numpy as np
from numba import njit

from tests.independent.holds.flows import right_side

STAGES = 4
ENOUGH = 20000


@njit
def jacobian(t, y, here, a, coef, window, shares, room, allowed, out):
    """Slopes of the right hand side by forward differences, in `out`."""
    n = y.size
    there = np.empty(n)
    moved = y.copy()
    for j in range(n):
        step = 1e-7 * max(abs(y[j]), allowed[j])
        moved[j] = y[j] + step
        right_side(t, moved, a, coef, window, shares, room, there)
        moved[j] = y[j]
        for i in range(n):
            out[i, j] = (there[i] - here[i]) / step


@njit
def factorise(m, pivot):
    """LU of m in place with row exchanges."""
    n = m.shape[0]
    for k in range(n):
        best = k
        for i in range(k + 1, n):
            if abs(m[i, k]) > abs(m[best, k]):
                best = i
        pivot[k] = best
        if best != k:
            for j in range(n):
                m[k, j], m[best, j] = m[best, j], m[k, j]
        for i in range(k + 1, n):
            if m[i, k] != 0.0:
                share = m[i, k] / m[k, k]
                m[i, k] = share
                for j in range(k + 1, n):
                    m[i, j] -= share * m[k, j]


@njit
def solve(m, pivot, b):
    """The solution of the factorised m in place of b."""
    n = m.shape[0]
    for k in range(n):
        best = pivot[k]
        if best != k:
            b[k], b[best] = b[best], b[k]
    for k in range(n):
        for i in range(k + 1, n):
            b[i] -= m[i, k] * b[k]
    for k in range(n - 1, -1, -1):
        for j in range(k + 1, n):
            b[k] -= m[k, j] * b[j]
        b[k] /= m[k, k]


@njit
def march(t0, t1, y0, a, coef, window, shares, room, allowed, longest):
    """Times, states and slopes from t0 to t1 at the steps of the scheme, no times where it gave up.

    `allowed` is the error of a step in each place of the state.
    """
    n = y0.size
    times = np.empty(ENOUGH)
    states = np.empty((ENOUGH, n))
    slopes = np.empty((ENOUGH, n))
    jac = np.empty((n, n))
    lu = np.empty((n, n))
    pivot = np.empty(n, np.int64)
    table = np.empty((STAGES, STAGES, n))
    f = np.empty(n)
    g = np.empty(n)
    x = np.empty(n)
    t, y, h, kept = t0, y0.copy(), 1e-4, 0
    right_side(t, y, a, coef, window, shares, room, f)
    times[0] = t
    for i in range(n):
        states[0, i] = y[i]
        slopes[0, i] = f[i]
    fresh = False
    for _ in range(5 * ENOUGH):
        if t >= t1 or kept >= ENOUGH - 1:
            break
        h = min(h, longest)
        if t + 1.001 * h >= t1:
            h = t1 - t
        if not fresh:
            jacobian(t, y, f, a, coef, window, shares, room, allowed, jac)
            fresh = True
        for s in range(STAGES):
            small = h / (s + 1)
            for i in range(n):
                for j in range(n):
                    lu[i, j] = -small * jac[i, j]
                lu[i, i] += 1.0
            factorise(lu, pivot)
            for i in range(n):
                x[i] = y[i]
            for k in range(s + 1):
                right_side(t + (k + 1) * small, x, a, coef, window, shares, room, g)
                for i in range(n):
                    g[i] *= small
                solve(lu, pivot, g)
                for i in range(n):
                    x[i] += g[i]
            for i in range(n):
                table[s, 0, i] = x[i]
                for k in range(1, s + 1):
                    ratio = (s + 1.0) / (s + 1.0 - k) - 1.0
                    table[s, k, i] = table[s, k - 1, i] + (table[s, k - 1, i] - table[s - 1, k - 1, i]) / ratio
        error = 0.0
        for i in range(n):
            off = (table[STAGES - 1, STAGES - 1, i] - table[STAGES - 1, STAGES - 2, i]) / allowed[i]
            error = max(error, abs(off))
            if not np.isfinite(off):
                error = 1e9
                break
        factor = min(4.0, max(0.1, 0.85 * (1.0 / max(error, 1e-10)) ** (1.0 / STAGES)))
        if error <= 1.0:
            t = t1 if t + 1.0000001 * h >= t1 else t + h
            for i in range(n):
                y[i] = table[STAGES - 1, STAGES - 1, i]
            right_side(t, y, a, coef, window, shares, room, f)
            kept += 1
            times[kept] = t
            for i in range(n):
                states[kept, i] = y[i]
                slopes[kept, i] = f[i]
            fresh = False
        h *= factor
        if h < 1e-9:
            break
    if t < t1:
        kept = -1
    return times[: kept + 1].copy(), states[: kept + 1].copy(), slopes[: kept + 1].copy()
