"""Independent re-implementation, shares nothing with simcal/: the right hand side of the finer hold.

Gas shells keep their shares of the mass (Lagrangian); the pressure is one number, conduction is molecular plus an eddy
part that grows with the third power of the distance from the wall over the boundary layer of the Nusselt number of the
moment, so that it fades with the difference in temperature. Enthalpy balance of a shell and constant volume:

    m_i cp_i dT_i = Q_i dt + V_i beta_i T_i dp,      sum V_i beta_i dT_i - sum V_i kappa_i dp + V dM/M = dV

The wall is a body by shells, its outside sees the room through still air and radiation. Before t = 0 the pressure
follows the controller and what the controller lets in is reckoned; after it the pressure is free.
"""

import math

import numpy as np
from numba import njit

from tests.independent.holds import gases
from tests.independent.holds.laws import CELLS, PERMEATION, shape, swelling

R = gases.R
G = 9.80665

# the places of the numbers in the array `a` that the compiled right hand side reads
(
    VOLUME, RADIUS, GEOMETRY, THICKNESS, WALL_K, WALL_RHOC, FILM_RAD, FILM_NAT, FILM_FORCED, BODY_C, BODY_G, BODY_OUT,
    CONV_C, CONV_N, CONV_TAU, CONV_FADE, JET, SWIRL_TAU, MOLAR, CONTROLLED, T0, P_FROM, P_TO, MOVE_START, MOVE_TAU,
    H_IN, LAW, LEAK, BEYOND, GAMMA, LAG, SEAT_LAW, SEAT, SEAT_BEYOND, SWELL, SWELL_SIZE, SWELL_TAU, SWELL_POWER,
    TRAP_V, TRAP_K, TRAP_TAU, GAS_OUT, GAS_OUT_T0, PULSE_W, PULSE_T, PULSE_LONG, GRID_T0, GRID_DT, OVERSHOOT,
) = range(49)  # fmt: skip
EXTRA = 10 + CELLS
"""behind the shells: body, p, Nu, swirl, mol trapped, T trapped, two shape integrals, heat and enthalpy out, cells"""


@njit
def between_points(series, place):
    """A series between its points by cubics with central slopes, so that the integrator meets no corner."""
    place = min(max(place, 0.0), series.size - 1.001)
    i = int(place)
    x = place - i
    left, right = series[i], series[i + 1]
    rise = 0.5 * (right - series[max(i - 1, 0)])
    leave = 0.5 * (series[min(i + 2, series.size - 1)] - left)
    bend = right - left
    return left + x * (rise + x * (3.0 * bend - 2.0 * rise - leave + x * (rise + leave - 2.0 * bend)))


@njit
def right_side(t, y, a, coef, window, shares, room, out):
    """The slopes of the state y in `out`; y = [gas shells from the centre, wall shells from inside, EXTRA]."""
    n = shares.size
    m = y.size - n - EXTRA
    b = n + m
    p = y[b + 1]
    since = t - a[MOVE_START]
    controlled = a[CONTROLLED] > 0.5
    rate = 0.0
    if controlled and since > 0.0:  # smooth move: a tanh that begins and ends at the two pressures, then a bump
        x = (since / a[MOVE_TAU] - 3.0) * 0.9
        c = 1.0 / math.cosh(x) ** 2 if abs(x) < 300.0 else 0.0
        full = 2.0 / (1.0 + math.tanh(2.7))
        rate = (a[P_TO] - a[P_FROM]) * 0.5 * full * c * 0.9 / a[MOVE_TAU]
        u = (since - 7.5 * a[MOVE_TAU]) / (1.5 * a[MOVE_TAU])
        rate += -2.0 * u * math.exp(-u * u) / (1.5 * a[MOVE_TAU]) * a[OVERSHOOT]

    # gas of each shell: collapse the polynomials in p once, then Horner in T
    sp = (p - window[0]) / window[1]
    degree_T, degree_p = coef.shape[1], coef.shape[2]
    flat = np.zeros((5, degree_T))
    for q in range(4):
        for i in range(degree_T):
            value = 0.0
            slope = 0.0
            for j in range(degree_p - 1, -1, -1):
                slope = slope * sp + value
                value = value * sp + coef[q, i, j]
            flat[q, i] = value
            if q == 0:
                flat[4, i] = slope / window[1]
    props = np.empty((8, n))  # Z, Z_T, Z_p, h, cp, k, mu, rho
    for i in range(n):
        s = (y[i] - window[2]) / window[3]
        z = zt = zp = h = ht = k = mu = 0.0
        for j in range(degree_T - 1, -1, -1):
            zt = zt * s + z
            z = z * s + flat[0, j]
            zp = zp * s + flat[4, j]
            ht = ht * s + h
            h = h * s + flat[1, j]
            k = k * s + flat[2, j]
            mu = mu * s + flat[3, j]
        props[0, i], props[1, i], props[2, i] = z, zt / window[3], zp
        props[3, i], props[4, i], props[5, i], props[6, i] = h, ht / window[3], k, mu
        props[7, i] = p / (z * window[4] * y[i])
    bulk = 0.0
    for i in range(n):
        bulk += shares[i] / props[7, i]
    mass = a[VOLUME] / bulk
    mean_T = mean_h = 0.0
    for i in range(n):
        mean_T += shares[i] * y[i]
        mean_h += shares[i] * props[3, i]

    # convection: the Nusselt number runs after that of the moment; a swirl of the jet dies by itself
    middle = n // 2
    rho, cp, k, mu = props[7, middle], props[4, middle], props[5, middle], props[6, middle]
    beta = 1.0 / y[middle] + props[1, middle] / props[0, middle]
    gap = math.sqrt((mean_T - y[n]) ** 2 + 1e-6)
    bore = 2.0 * a[RADIUS]
    ra = G * beta * gap * bore**3 * rho * rho * cp / (mu * k)
    fade = 1.0
    if since > 0.0:
        fade = 1.0 - a[CONV_FADE] * (1.0 - math.exp(-since / 90.0))
    wanted = fade * a[CONV_C] * ra ** a[CONV_N]
    out[b + 2] = (wanted - y[b + 2]) / a[CONV_TAU]
    nusselt = max(y[b + 2], 0.0) + max(y[b + 3], 0.0)

    # heat between the shells, W inwards to shell i from shell i + 1
    area_out = a[GEOMETRY] * a[VOLUME] / a[RADIUS]
    heat = np.zeros(n + 1)
    inner = 0.0
    before = 0.0
    volume = 0.0
    power = 1.0 / a[GEOMETRY]
    layer = bore / (1.2092 * nusselt + 1e-9)  # integral of 1/(1 + x^3) from nought to infinity is 1.2092
    for i in range(n):
        volume += shares[i] / props[7, i] * mass
        outer = a[RADIUS] * min(volume / a[VOLUME], 1.0) ** power
        centre = 0.5 * (inner + outer)
        if i > 0:
            x = (a[RADIUS] - inner) / layer
            kk = 0.5 * (props[5, i] + props[5, i - 1]) * (1.0 + min(x * x * x, 1e6))
            area = area_out * (inner / a[RADIUS]) ** (a[GEOMETRY] - 1.0)
            heat[i] = kk * area * (y[i] - y[i - 1]) / (centre - before)
        before = centre
        inner = outer
    step = a[THICKNESS] / m
    resist = (a[RADIUS] - before) / (props[5, n - 1] * area_out) + 0.5 * step / (a[WALL_K] * area_out)
    heat[n] = (y[n] - y[n - 1]) / resist

    # what crosses, mol/s out
    law = int(a[LAW])
    unit = shape(law, p, a[BEYOND], mean_T, a[GAMMA])
    cells = b + 10
    if law == PERMEATION:
        unit = (p - y[cells]) * 2.0 * CELLS
        for i in range(CELLS):
            left = unit if i == 0 else (y[cells + i - 1] - y[cells + i]) * CELLS
            right = (
                (y[cells + i] - y[cells + i + 1]) * CELLS if i < CELLS - 1 else (y[cells + i] - a[BEYOND]) * 2.0 * CELLS
            )
            out[cells + i] = CELLS * (left - right) / (6.0 * a[LAG])
    else:
        for i in range(CELLS):
            out[cells + i] = 0.0
    seat = shape(int(a[SEAT_LAW]), p, a[SEAT_BEYOND], mean_T, a[GAMMA])
    leaving = a[LEAK] * unit + a[SEAT] * seat
    out[b + 6] = unit
    out[b + 7] = seat
    trapped = 0.0
    if a[TRAP_V] > 0.0:
        moles, T_trap = y[b + 4], y[b + 5]
        p_trap = moles * props[0, n - 1] * R * T_trap / a[TRAP_V]
        trapped = a[TRAP_K] * (p * p - p_trap * p_trap)
        cv = R / (a[GAMMA] - 1.0)
        brought = trapped * (cv + R) * (y[n - 1] if trapped > 0.0 else T_trap)
        out[b + 4] = trapped
        out[b + 5] = (brought - trapped * cv * T_trap) / (moles * cv) - (T_trap - y[n + m - 1]) / a[TRAP_TAU]
    else:
        out[b + 4] = out[b + 5] = 0.0
    given = 0.0
    if a[GAS_OUT] > 0.0 and since > 0.0:
        given = a[GAS_OUT] * (since + a[GAS_OUT_T0]) ** -0.8
    passing = -(leaving + trapped - given) * a[MOLAR]  # kg/s in, of the state of the gas

    # pressure, or the flow that the controller needs for it
    grow = swelling(int(a[SWELL]), since, a[SWELL_SIZE], a[SWELL_TAU], a[SWELL_POWER])
    pull = a[VOLUME] / mass * passing - a[VOLUME] * grow
    stiff = 0.0
    taken = 0.0
    for i in range(n):
        own = shares[i] * mass
        v = own / props[7, i]
        be = 1.0 / y[i] + props[1, i] / props[0, i]
        ka = 1.0 / p - props[2, i] / props[0, i]
        pull += be * v * (heat[i + 1] - heat[i]) / (own * props[4, i])
        stiff += v * ka - v * v * be * be * y[i] / (own * props[4, i])
        taken += be * v * shares[i] * (a[H_IN] - props[3, i]) / (own * props[4, i])
    inflow = 0.0
    if controlled:
        need = stiff * rate - pull
        inflow = need / (a[VOLUME] / mass)
        if inflow > 0.0:
            inflow = need / (a[VOLUME] / mass + taken)
        dp = rate
    else:
        dp = pull / stiff
    out[b + 1] = dp
    for i in range(n):
        own = shares[i] * mass
        v = own / props[7, i]
        be = 1.0 / y[i] + props[1, i] / props[0, i]
        gain = heat[i + 1] - heat[i] + v * be * y[i] * dp
        if inflow > 0.0:
            gain += inflow * shares[i] * (a[H_IN] - props[3, i])
        out[i] = gain / (own * props[4, i])
    swirl = 0.0
    if inflow > 0.0:
        swirl = a[JET] * (inflow / mu) ** 0.67
    out[b + 3] = (swirl - y[b + 3]) / (0.3 if swirl > y[b + 3] else a[SWIRL_TAU] * (1.0 + max(since, 0.0) / 30.0))

    # wall and body
    around = between_points(room, (t - a[GRID_T0]) / a[GRID_DT])
    inward = -heat[n]
    lever = a[VOLUME] * a[GEOMETRY] / a[RADIUS] ** a[GEOMETRY]  # area at radius r is lever * r^(geometry - 1)
    for j in range(m):
        r_in = a[RADIUS] + j * step
        r_out = r_in + step
        held = a[WALL_RHOC] * lever / a[GEOMETRY] * (r_out ** a[GEOMETRY] - r_in ** a[GEOMETRY])
        if j < m - 1:
            outward = a[WALL_K] * lever * r_out ** (a[GEOMETRY] - 1.0) * (y[n + j] - y[n + j + 1]) / step
        else:
            face = lever * r_out ** (a[GEOMETRY] - 1.0)
            off = y[n + j] - around
            film = a[FILM_RAD] + a[FILM_FORCED] + a[FILM_NAT] * (off * off + 0.01) ** 0.125
            lost = film * face * off
            to_body = a[BODY_G] * (y[n + j] - y[b])
            x = (t - a[PULSE_T]) / a[PULSE_LONG]
            pulse = a[PULSE_W] * math.exp(-x * x)
            outward = lost + to_body - pulse
            away = a[BODY_OUT] * (y[b] - around)
            out[b] = (to_body - away) / a[BODY_C]
            out[b + 8] = lost + away - pulse
        out[n + j] = (inward - outward) / held
        inward = outward
    out[b + 9] = -(passing + min(inflow, 0.0)) * mean_h - max(inflow, 0.0) * a[H_IN]
