"""Robustness of the sampled loop: frequency responses, margins, and whether it is stable at all.

The plant is the sampled linear model x[k+1] = E_x x[k] + E_u u[k], y = c x, so that the hold between samples
is in it exactly; a further delay of whole samples may be added. Definitions after Astrom and Murray, Feedback
Systems (2008), chapter 9: the loop L is cut at the controller's output, negative feedback, -1 is the critical
point.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import matrix_balance, schur

from simcal.control.pid import Gains

Vector = NDArray[np.float64]
Complex = NDArray[np.complex128]

DECADES = 6
MOST_DECADES = 10
"""below, rounding of the sampled model shows"""
POINTS_PER_DECADE = 250
UNSTABLE = 1e-7
"""a mode this far outside the unit circle is unstable; parts of a network that nothing moves lie on it"""


class Margins(NamedTuple):
    """How far a loop is from instability; inf where no frequency limits it."""

    gain: float
    """factor by which the loop's gain may grow"""
    phase_deg: float
    """further lag that the loop bears at its crossover, degrees; negative when it is unstable there"""
    delay_s: float
    """further delay that it bears, s"""
    sensitivity: float
    """peak of |1/(1 + L)|"""
    stable: bool
    """whether the closed loop is stable: by its eigenvalues where known, else by the signs of the margins"""


def frequencies(period: float, decades: int = DECADES) -> Vector:
    """Angular frequencies (rad/s) up to Nyquist's for a sampling period (s), even in their logarithm."""
    return np.logspace(-decades, 0.0, decades * POINTS_PER_DECADE + 1) * (math.pi / period)


def plant_response(e_x: Vector, e_u: Vector, c: Vector, period: float, w: Vector) -> Complex:
    """c (z - E_x)^-1 E_u at z = exp(i w period): one value for each w (rad/s), one row for each column of E_u [n, m].

    A single input E_u [n] gives a plain vector. By the Schur form of the balanced matrix: once per plant, not per w.
    """
    columns = np.asarray(e_u, dtype=np.float64).reshape(len(e_x), -1)
    with np.errstate(invalid="ignore"):  # scales beyond 2^63 do not fit the permutation that scipy makes of them too
        balanced, (scale, _) = matrix_balance(e_x, permute=False, separate=True)
    upper, turned = schur(balanced, output="complex")
    right, row = turned.conj().T @ (columns / scale[:, None]), (c * scale) @ turned
    z = np.exp(1j * w * period)
    state = np.empty((len(e_x), columns.shape[1], len(w)), dtype=np.complex128)
    for i in range(len(e_x) - 1, -1, -1):
        known = np.tensordot(upper[i, i + 1 :], state[i + 1 :], axes=1)
        state[i] = (right[i][:, None] + known) / (z - upper[i, i])
    out: Complex = np.tensordot(row, state, axes=1)
    return out[0] if np.ndim(e_u) == 1 else out


def pid_response(gains: Gains, period: float, w: Vector) -> Complex:
    """The sampled PID from error to drive at w (rad/s): `pid_step` with weight 1, inside its limits."""
    back = np.exp(-1j * w * period)
    share = period / (gains.filter + period)
    derivative = share * (1.0 - back) / period / (1.0 - (1.0 - share) * back)
    integral = period / gains.ti * back / (1.0 - back)
    response: Complex = gains.kp * (1.0 + integral + gains.td * derivative)
    return response


def closed_loop(e_x: Vector, e_u: Vector, c: Vector, gains: Gains, period: float, delay: int = 0) -> Vector:
    """One sample of plant, PID (integral, derivative, last reading) and `delay` samples of drive: a matrix."""
    n = len(e_x)
    share = period / (gains.filter + period)
    out = np.zeros((n + 3 + delay, n + 3 + delay))
    integral, slope, last = n, n + 1, n + 2
    out[slope, :n] = -share / period * c
    out[slope, last] = share / period
    out[slope, slope] = 1.0 - share
    drive = gains.kp * gains.td * out[slope]
    drive[:n] -= gains.kp * c
    drive[integral] += 1.0
    out[last, :n] = c
    out[integral, :n] = -gains.kp * period / gains.ti * c
    out[integral, integral] = 1.0
    out[:n, :n] = e_x
    if delay == 0:
        out[:n] += np.outer(e_u, drive)
        return out
    out[:n, n + 3] += e_u
    for i in range(delay - 1):
        out[n + 3 + i, n + 4 + i] = 1.0
    out[-1] = drive
    return out


def is_stable(e_x: Vector, e_u: Vector, c: Vector, gains: Gains, period: float, delay: int = 0) -> bool:
    """Whether every mode of the closed loop stays bounded."""
    values = np.linalg.eigvals(closed_loop(e_x, e_u, c, gains, period, delay))
    return bool(np.abs(values).max() < 1.0 + UNSTABLE)


def _crossings(x: Vector, f: Vector) -> Vector:
    """Where f passes zero, by linear interpolation on x."""
    i = np.nonzero(np.signbit(f[:-1]) != np.signbit(f[1:]))[0]
    return np.asarray(x[i] - f[i] * (x[i + 1] - x[i]) / (f[i + 1] - f[i]))


def _peak(f: Vector) -> float:
    """The largest value of f, by a parabola through the three points at its top."""
    i = int(np.argmax(f))
    if i in (0, len(f) - 1):
        return float(f[i])
    bend = f[i - 1] - 2.0 * f[i] + f[i + 1]
    return float(f[i] - (f[i + 1] - f[i - 1]) ** 2 / (8.0 * bend)) if bend < 0.0 else float(f[i])


def _polar(w: Vector, loop: Complex) -> tuple[Vector, Vector, Vector]:
    """Logarithms of frequency and size, and the phase (rad) without jumps, its first in -1.5 pi to 0.5 pi."""
    phase = np.unwrap(np.angle(loop))
    phase = phase - 2.0 * math.pi * math.ceil(phase[0] / (2.0 * math.pi) - 0.25)
    return np.log(w), np.log(np.maximum(np.abs(loop), 1e-300)), phase


def phase_crossings(w: Vector, loop: Complex) -> list[tuple[float, float]]:
    """Where the loop crosses the negative real axis: (frequency, rad/s; gain factor that leads to -1).

    A last value on that axis, as at Nyquist's frequency, counts too. Arguments as in `margins`.
    """
    x, size, phase = _polar(w, loop)
    turns = np.floor((phase + math.pi) / (2.0 * math.pi))
    out: list[tuple[float, float]] = []
    for k in range(int(turns.min()), int(turns.max()) + 2):
        at = _crossings(x, phase - (2.0 * k - 1.0) * math.pi)
        out.extend((math.exp(a), math.exp(-s)) for a, s in zip(at, np.interp(at, x, size), strict=True))
    if loop[-1].real < 0.0 and abs(loop[-1].imag) < 1e-9 * abs(loop[-1].real):
        out.append((float(w[-1]), math.exp(-size[-1])))
    return out


def margins(w: Vector, loop: Complex, stable: bool | None = None) -> Margins:
    """The margins of the loop with the frequency response `loop` at the rising angular frequencies w (rad/s).

    stable : what the closed loop's eigenvalues say; without it the signs of the margins decide, which is
        right for loops that are stable at low gain.
    The frequencies must be fine enough that the phase turns by less than half a turn between two of them.
    """
    x, size, phase = _polar(w, loop)
    gains = [math.inf, *(math.log(factor) for _, factor in phase_crossings(w, loop))]
    at = _crossings(x, size)
    left = np.interp(at, x, phase) + math.pi
    if stable is None:
        stable = bool((left > 0.0).all()) if len(at) else bool(size[0] < 0.0) or len(gains) == 1
    grow = [g for g in gains if g > 0.0]
    return Margins(
        gain=math.exp(min(grow)) if stable else math.exp(min(min(gains), 0.0)),
        phase_deg=math.degrees(left.min()) if len(at) else math.inf,
        delay_s=float((np.mod(left, 2.0 * math.pi) / np.exp(at)).min(initial=math.inf)) if stable else 0.0,
        sensitivity=_peak(1.0 / np.abs(1.0 + loop)),
        stable=stable,
    )


def loop_margins(e_x: Vector, e_u: Vector, c: Vector, gains: Gains, period: float, delay: int = 0) -> Margins:
    """The margins of the sampled PID on the sampled plant (shapes (n, n), (n,), (n,)), with `delay` further samples.

    The plant's reading must rise with its input. Frequencies up to Nyquist over six decades, more with an integral time
    so long that its corner would lie near their end.
    """
    slowest = math.ceil(math.log10(100.0 * math.pi * gains.ti / period)) if math.isfinite(gains.ti) else 0
    w = frequencies(period, min(max(DECADES, slowest), MOST_DECADES))
    loop = plant_response(e_x, e_u, c, period, w) * pid_response(gains, period, w)
    loop = loop * np.exp(-1j * w * period * delay)
    return margins(w, loop, is_stable(e_x, e_u, c, gains, period, delay))
