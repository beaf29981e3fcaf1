"""The real-gas critical flow factor C* by the reference library (used only while making a table).

C* is defined as in ISO 9300: through an ideal throat of area A the mass flow of the stagnation state (p0,
T0) is m = A C* p0 / sqrt(r T0). Along the isentrope from rest the mass flux rho w with w^2/2 = h0 - h has
its maximum where w equals the speed of sound; that state is the throat.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcal.tables import library

_TURNS = 40


def _on_isentrope(state: Any, rho: float, T: float, s0: float) -> float:
    """T [K] at density rho [kg/m3] and entropy s0 [J/(kg K)], `state` left there; ValueError on failure."""
    for _ in range(_TURNS):
        library.put(state, rho, T)
        step = (s0 - state.smass()) * T / state.cvmass()
        if not abs(step) < 0.5 * T:
            break
        T += step
        if abs(step) < 1e-9 * T:
            library.put(state, rho, T)
            return T
    raise ValueError("no state on the isentrope")


def _excess(state: Any, h0: float) -> float:
    """h + w^2/2 - h0 [J/kg] with w the speed of sound: zero at the throat."""
    return state.hmass() + 0.5 * state.speed_sound() ** 2 - h0


def throat_factor(
    state: Any, rho0: float, T0: float, r: float, guess: tuple[float, float]
) -> tuple[float, float, float]:
    """(C*, throat density / rho0, throat T / T0) of the stagnation state; ValueError when there is no throat.

    state: library state without phase search; rho0 [kg/m3]; T0 [K]; r [J/(kg K)]; guess: the two ratios.
    """
    library.put(state, rho0, T0)
    p0, h0, s0 = state.p(), state.hmass(), state.smass()
    x, T = guess[0], guess[1] * T0
    T = _on_isentrope(state, x * rho0, T, s0)
    f = _excess(state, h0)
    x_next = x * (1.0 - 1e-3)
    for _ in range(_TURNS):
        x_old, f_old, x = x, f, x_next
        T = _on_isentrope(state, x * rho0, T, s0)
        f = _excess(state, h0)
        if not np.isfinite(f) or f == f_old:
            break
        step = -f * (x - x_old) / (f - f_old)
        x_next = x + max(min(step, 0.05), -0.05)
        if abs(step) < 1e-9:
            flux = x * rho0 * state.speed_sound()
            return flux * np.sqrt(r * T0) / p0, x, T / T0
    raise ValueError("no throat")


def _in_dome(state_sat: Any, rho: float, T: float, T_critical: float) -> bool:
    """True when (rho, T) lies between saturated vapour and saturated liquid."""
    if T_critical < T:
        return False
    vapour, liquid = library.saturation(state_sat, T)
    return vapour < rho < liquid


def critical_flow(
    state: Any, fluid: str, rho: NDArray[np.float64], s: NDArray[np.float64], r: float
) -> tuple[NDArray[np.float64], str]:
    """C* [n_rho, n_s] of stagnation states on a grid, and a sentence on where it is continued.

    Each density is walked from the hottest column to the coldest. Where the throat would lie in the two-
    phase dome, or the library gives no throat, C* goes on linearly in s = 1/T from the nearest valid
    temperature.
    """
    state_sat = library.plain_state(fluid)
    out = np.empty((len(rho), len(s)))
    last = np.empty(len(rho), dtype=int)
    start = (0.63, 0.83)
    for i, rho_i in enumerate(rho):
        row = _row(state, state_sat, max(rho_i, 1e-6), s, r, start)
        if len(row) < 2:
            raise ValueError(f"{fluid}: no critical flow at {1.0 / s[0]:.1f} K")
        start = (row[0][1], row[0][2])
        last[i] = len(row) - 1
        c = np.array([item[0] for item in row])
        beyond = np.arange(1, len(s) - last[i])
        out[i] = np.concatenate([c, c[-1] + (c[-1] - c[-2]) * beyond])
    if last.min() == len(s) - 1:
        return out, "the throat is in one phase over the whole table"
    warmest = 1.0 / s[last.min()]
    return out, (
        f"the throat is in one phase for every density where the stagnation temperature is {warmest:.1f} K or"
        " more; at some densities it would condense from a colder start, and there the factor is continued"
        " linearly in 1/T"
    )


def _row(
    state: Any, state_sat: Any, rho: float, s: NDArray[np.float64], r: float, guess: tuple[float, float]
) -> list[tuple[float, float, float]]:
    """Throats of one stagnation density from the hottest temperature on, up to the first that has none."""
    found: list[tuple[float, float, float]] = []
    for s_j in s:
        try:
            c, x, y = throat_factor(state, rho, 1.0 / s_j, r, guess)
            if _in_dome(state_sat, x * rho, y / s_j, state.T_critical()):
                break
        except ValueError:
            break
        found.append((c, x, y))
        guess = (x, y)
    return found
