"""One closed volume as a body: gas, five shells of wall, the room; temperatures and what moves them, in one pass.

The network engine answers what a bench does; here a record is to be explained, which needs the same curve many
times and its derivative with respect to everything unknown. So this is the smallest model that keeps both heat
scales of a closed volume. Temperatures are excesses over the room at the start:

    C g'   = -F(g - w1) - dilution g + source                  gas
    C1 w1' =  F(g - w1) - L1 (w1 - w2)                         innermost shell
    C5 w5' =  L4 (w4 - w5) - Lo (w5 - room) + heat             outermost shell

F(d) = U d with the film G(d) of `physics.heat.film` in series with half of the first shell. The derivatives of the
discrete solution are exact: every column of unknowns is carried through the same factored matrix.

Two-stage L-stable SDIRK of second order (R. Alexander, SIAM J. Numer. Anal. 14 (1977) 1006); what drives the body is
given as means over each step, so that heat is counted to rounding.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.jit import kernel
from simcal.physics.heat import MULTIPLIER, film

Floats = NDArray[np.float64]

NODES = 6
"""gas and five shells"""
GAMMA = 1.0 - 0.5**0.5
"""diagonal coefficient of Alexander's method"""
TURNS = 6
CLOSE = 1e-9
"""kelvin below which a turn of Newton's rule counts as the last"""

# Columns of derivatives that belong to a formula; those that belong to given drives follow.
HEAT, JUMP, PACE, OUTSIDE, WALL, START, FIRST_KNOT = range(7)


class Body(NamedTuple):
    """What does not change in a run.

    film [8]: arguments of `physics.heat.film`; gas [5]: viscosity, conductivity, cp, cv, beta (SI); shells [5]: heat
    capacity of the shells J/K, innermost first; links [4]: conductance between them W/K; skin: conductance of half of
    the first shell W/K; outside: conductance from the outermost shell to the room W/K.
    """

    film: Floats
    gas: Floats
    shells: Floats
    links: Floats
    skin: float
    outside: float


class Drives(NamedTuple):
    """What moves the body, one row a step, means over the step.

    step [n] s; density [n] kg/m3; capacity [n] J/K of the gas; dilution [n] W/K: heat capacity flow of room-warm gas
    that comes in; source [n] W: compression by a known move, per unit of HEAT; before [n]: 1 until the valves are shut,
    else 0; knots [n, k]: weights of the film's log multipliers; on_gas [n, a], room [n, b], on_wall [n, c]: further
    columns, W into the gas, K of the room, W into the outermost shell.
    """

    step: Floats
    density: Floats
    capacity: Floats
    dilution: Floats
    source: Floats
    before: Floats
    knots: Floats
    on_gas: Floats
    room: Floats
    on_wall: Floats


@kernel
def _flux(body: Body, density: float, d: float, multiplier: float) -> tuple[float, float, float]:
    """(F [W], dF/dd [W/K], dF/d ln(multiplier) [W]) of gas warmer than the wall by d [K]."""
    body.film[MULTIPLIER] = multiplier
    g = body.gas
    G, slope = film(-d, 0.0, density, g[0], g[1], g[2], g[3], g[4], 0.0, body.film)
    U = G * body.skin / (G + body.skin)
    part = U / G * (U / G)
    return U * d, U - d * part * slope, part * G * d


@kernel
def _stage(
    body: Body,
    drives: Drives,
    i: int,
    theta: Floats,
    fall: float,
    x: Floats,
    dx: Floats,
    base: Floats,
    dbase: Floats,
    work: Floats,
) -> None:
    """Solve C (x - base)/(GAMMA h) + A(x) = s for x and its derivatives dx, in place; x holds the first guess.

    work [4, NODES]: diagonal, side, right side, capacity over GAMMA h.
    """
    diagonal, side, right, inertia = work[0], work[1], work[2], work[3]
    before = drives.before[i]
    pace = np.exp(theta[PACE]) if before > 0.0 else 1.0
    per = 1.0 / (GAMMA * drives.step[i] * pace)
    thick, outside = np.exp(theta[WALL]), body.outside * np.exp(theta[OUTSIDE])
    k = drives.knots.shape[1]
    log_film = 0.0
    for j in range(k):
        log_film += drives.knots[i, j] * theta[FIRST_KNOT + j]
    multiplier = np.exp(log_film)
    move = drives.source[i] * theta[HEAT] / pace
    source = move + fall * drives.on_gas[i, 0]
    dilution = drives.dilution[i] / pace
    inertia[0] = drives.capacity[i] * per
    for j in range(1, NODES):
        inertia[j] = body.shells[j - 1] * thick * per
    for _turn in range(TURNS):
        F, F_d, F_c = _flux(body, drives.density[i], x[0] - x[1], multiplier)
        diagonal[0] = inertia[0] + F_d + dilution
        side[0] = -F_d
        right[0] = inertia[0] * (base[0] - x[0]) - F - dilution * x[0] + source
        diagonal[1] = inertia[1] + F_d
        right[1] = inertia[1] * (base[1] - x[1]) + F
        for j in range(1, NODES - 1):
            link = body.links[j - 1]
            flow = link * (x[j] - x[j + 1])
            side[j] = -link
            diagonal[j] += link
            right[j] -= flow
            diagonal[j + 1] = inertia[j + 1] + link
            right[j + 1] = inertia[j + 1] * (base[j + 1] - x[j + 1]) + flow
        diagonal[NODES - 1] += outside
        right[NODES - 1] -= outside * x[NODES - 1]
        for j in range(1, NODES):
            ratio = side[j - 1] / diagonal[j - 1]
            diagonal[j] -= ratio * side[j - 1]
            right[j] -= ratio * right[j - 1]
        largest = 0.0
        ahead = 0.0
        for j in range(NODES - 1, -1, -1):
            ahead = (right[j] - (side[j] * ahead if j < NODES - 1 else 0.0)) / diagonal[j]
            x[j] += ahead
            largest = max(largest, abs(ahead))
        if largest < CLOSE:
            break
    F, F_d, F_c = _flux(body, drives.density[i], x[0] - x[1], multiplier)
    for j in range(NODES):
        for c in range(dx.shape[1]):
            dx[j, c] = inertia[j] * dbase[j, c]
    dx[0, HEAT] += drives.source[i] / pace
    if before > 0.0:  # a slower move sheds the same heat over a longer time
        for j in range(NODES):
            dx[j, PACE] += inertia[j] * (x[j] - base[j])
        dx[0, PACE] += dilution * x[0] - move
    dx[NODES - 1, OUTSIDE] -= outside * x[NODES - 1]
    for j in range(1, NODES):
        dx[j, WALL] -= inertia[j] * (x[j] - base[j])
    for j in range(k):
        weighted = F_c * drives.knots[i, j]
        dx[0, FIRST_KNOT + j] -= weighted
        dx[1, FIRST_KNOT + j] += weighted
    at = FIRST_KNOT + k
    for c in range(drives.on_gas.shape[1]):
        dx[0, at + c] += drives.on_gas[i, c]
    at += drives.on_gas.shape[1]
    for c in range(drives.room.shape[1]):
        dx[NODES - 1, at + c] += outside * drives.room[i, c]
    at += drives.room.shape[1]
    for c in range(drives.on_wall.shape[1]):
        dx[NODES - 1, at + c] += drives.on_wall[i, c]
    for j in range(1, NODES):
        ratio = side[j - 1] / diagonal[j - 1]
        for c in range(dx.shape[1]):
            dx[j, c] -= ratio * dx[j - 1, c]
    for c in range(dx.shape[1]):
        dx[NODES - 1, c] /= diagonal[NODES - 1]
    for j in range(NODES - 2, -1, -1):
        for c in range(dx.shape[1]):
            dx[j, c] = (dx[j, c] - side[j] * dx[j + 1, c]) / diagonal[j]


@kernel
def respond(
    body: Body,
    drives: Drives,
    theta: Floats,
    fall: float,
    out: Floats,
    d_gas: Floats,
    d_outer: Floats,
    states: Floats,
    columns: Floats,
    work: Floats,
) -> None:
    """Run the body through all steps; write temperatures and their derivatives at the start and after each step.

    theta [6 + k]: HEAT factor of the known move, JUMP K of the gas when the valves shut, PACE, OUTSIDE, WALL logs of
        the time scale before, of the outer film and of the wall's capacity, START K of everything at first, then the
        logs of the film's multipliers.
    fall: how much of the first column of on_gas acts.
    out [n + 1, 3]: gas, inner and outer shell, K over the room at the start; d_gas, d_outer [n + 1, m]: derivatives of
        the gas and the outermost shell: those of theta, then the columns of on_gas, room and on_wall.
    states [2, NODES], columns [3, NODES, m], work [4, NODES]: scratch.
    """
    x, base = states[0], states[1]
    dx, dbase, dnew = columns[0], columns[1], columns[2]
    m, n = dx.shape[1], drives.step.shape[0]
    for j in range(NODES):
        x[j] = theta[START]
        for c in range(m):
            dx[j, c] = 0.0
        dx[j, START] = 1.0
    for i in range(n + 1):
        if i < n and drives.before[i] == 0.0 and (i == 0 or drives.before[i - 1] != 0.0):
            x[0] += theta[JUMP]
            dx[0, JUMP] += 1.0
        out[i, 0], out[i, 1], out[i, 2] = x[0], x[1], x[NODES - 1]
        for c in range(m):
            d_gas[i, c] = dx[0, c]
            d_outer[i, c] = dx[NODES - 1, c]
        if i == n:
            break
        for j in range(NODES):
            base[j] = x[j]
        _stage(body, drives, i, theta, fall, x, dnew, base, dx, work)
        ahead = (1.0 - GAMMA) / GAMMA
        for j in range(NODES):
            base[j] += ahead * (x[j] - base[j])
            for c in range(m):
                dbase[j, c] = dx[j, c] + ahead * (dnew[j, c] - dx[j, c])
        _stage(body, drives, i, theta, fall, x, dx, base, dbase, work)
