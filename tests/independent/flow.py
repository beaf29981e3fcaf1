"""Independent re-implementation, shares nothing with simcal/: flow laws from their published or documented formulas.

Every law gives the mass flow (kg/s) from the side of higher pressure pu to the other pd (Pa). Z, mu (Pa s), cs (C*) and
T (K) belong to the upstream gas; r J/(kg K), mass kg/mol, g the dilute gas's cp/cv.
"""

import math

from numba import njit

ISO, KV, HOLE, TUBE, LAMINAR, SEAT = range(6)

CREEP_BELOW = 0.01  # share of pressure drop below which short restrictions are taken as laminar (documented choice)


@njit
def creeping(x, value, slope):
    """a x + b x^3 that meets value and slope at x = CREEP_BELOW."""
    s = CREEP_BELOW
    b = (slope - value / s) / (2.0 * s * s)
    return (value / s - b * s * s) * x + b * x**3


@njit
def iso_share(x, b):
    """ISO 6358-1:2013, subsonic quarter ellipse."""
    return 1.0 if x >= 1.0 - b else math.sqrt(1.0 - ((1.0 - x - b) / (1.0 - b)) ** 2)


@njit
def iso(pu, pd, T, cs, mass, C, b):
    """C p rho0 sqrt(T0/T) share; other gases by C* sqrt(M) against ideal air of cp/cv 1.4."""
    x = 1.0 - pd / pu
    if x < CREEP_BELOW:
        slope = (1.0 - CREEP_BELOW - b) / (1.0 - b) ** 2 / iso_share(CREEP_BELOW, b)
        share = creeping(x, iso_share(CREEP_BELOW, b), slope)
    else:
        share = iso_share(x, b)
    air = math.sqrt(1.4) * (2.0 / 2.4) ** 3
    return C * pu * 1.185 * math.sqrt(293.15 / T) * share * cs / air * math.sqrt(mass / 0.02896546)


@njit
def kv(pu, pd, T, Z, mass, g, Kv, xT):
    """IEC 60534-2-1: W = N9-form of the gas equation; here in moles, N9 24.6 per kPa at 0 degC and 101.325 kPa."""
    limit = g / 1.4 * xT
    x = 1.0 - pd / pu
    if x < CREEP_BELOW:
        s = CREEP_BELOW
        value = (1.0 - s / (3.0 * limit)) * math.sqrt(s)
        slope = 0.5 / math.sqrt(s) - 0.5 * math.sqrt(s) / limit
        share = creeping(x, value, slope)
    else:
        held = min(x, limit)
        share = (1.0 - held / (3.0 * limit)) * math.sqrt(held)
    normal_m3_per_h = 24.6 * Kv * (pu / 1000.0) * share / math.sqrt(1000.0 * mass * T * Z)
    return normal_m3_per_h / 3600.0 * 101325.0 / (8.314462618 * 273.15) * mass


@njit
def nozzle_share(ratio, g):
    """Isentropic flow over choked flow, of the pressure ratio pd/pu."""
    if ratio <= (2.0 / (g + 1.0)) ** (g / (g - 1.0)):
        return 1.0
    if ratio >= 1.0:
        return 0.0
    psi = math.sqrt(2.0 * g / (g - 1.0) * ratio ** (2.0 / g) * -math.expm1((g - 1.0) / g * math.log(ratio)))
    return psi / math.sqrt(g * (2.0 / (g + 1.0)) ** ((g + 1.0) / (g - 1.0)))


@njit
def hole(pu, pd, T, r, cs, g, area):
    """Cd A C* p / sqrt(r T) times the isentropic share; creeping near equal pressures."""
    x = 1.0 - pd / pu
    if x < CREEP_BELOW:
        s = CREEP_BELOW
        value = nozzle_share(1.0 - s, g)
        step = 1e-5 * s
        slope = (nozzle_share(1.0 - s - step, g) - nozzle_share(1.0 - s + step, g)) / (2.0 * step)
        share = creeping(x, value, slope)
    else:
        share = nozzle_share(pd / pu, g)
    return area * cs * pu / math.sqrt(r * T) * share


@njit
def colebrook_root(X, rough):
    """1/sqrt(f) of Colebrook 1939 at X = Re sqrt(f)."""
    return -2.0 * math.log10(rough / 3.7 + 2.51 / X)


@njit
def reynolds(X, rough):
    """Re at X = Re sqrt(f): 64/Re to 2300, Colebrook from about 4000 (Haaland's f), a cubic of logarithms between."""
    X1 = 8.0 * math.sqrt(2300.0)
    if X <= X1:
        return X * X / 64.0
    X2 = 4000.0 / (-1.8 * math.log10((rough / 3.7) ** 1.11 + 6.9 / 4000.0))
    if X >= X2:
        return X * colebrook_root(X, rough)
    root = colebrook_root(X2, rough)
    shear = 2.51 / X2
    power = 1.0 + 2.0 / math.log(10.0) * shear / (rough / 3.7 + shear) / root  # d ln Re / d ln X at X2
    w = math.log(X2 / X1)
    t = math.log(X / X1) / w
    y1, y2 = math.log(2300.0), math.log(X2 * root)
    smooth = (1.0 + 2.0 * t) * (1.0 - t) ** 2 * y1 + t * t * (3.0 - 2.0 * t) * y2
    return math.exp(smooth + w * (t * (1.0 - t) ** 2 * 2.0 - t * t * (1.0 - t) * power))


@njit
def piece_share(share, g, n):
    """Nozzle flow of one of n pieces over the bore's choked flow, from that of a whole nozzle (documented choice).

    Fourth powers of resistances in series: the nth part of the head's for small drops; fully open, what is left of
    1/C* squared once the n - 1 pieces before have taken their parts of the head.
    """
    if n < 2.0 or share <= 0.0:
        return share
    psi_square = g * (2.0 / (g + 1.0)) ** ((g + 1.0) / (g - 1.0))
    small = n**0.5 * share
    open_wide = 1.0 / (1.0 - psi_square * (n - 1.0) / n)  # its square
    return (small**-4 + open_wide**-2 - n**-2) ** -0.25


@njit
def tube(pu, pd, T, Z, mu, cs, r, g, bore, length, rough, n):
    """Wall friction of isothermal gas, Knudsen's slip beside it, the bore's nozzle (shared by n pieces) behind both."""
    drop = pu - pd
    if drop <= 0.0:
        return 0.0
    X = math.sqrt(bore**3 * drop * (pu + pd) / (Z * r * T * length)) / mu
    friction = math.pi * bore * mu / 4.0 * reynolds(X, rough / bore)
    speed = math.sqrt(r * T)
    k = bore * 0.5 * (pu + pd) / (mu * speed)
    molecular = bore**3 / (6.0 * length) * math.sqrt(2.0 * math.pi) * speed
    total = friction + (1.0 + k) / (1.0 + 1.24 * k) * molecular * drop / (Z * r * T)
    ideal = math.pi / 4.0 * bore * bore * cs * pu / speed * piece_share(nozzle_share(pd / pu, g), g, n)
    return total / math.sqrt(1.0 + (total / ideal) ** 2)


@njit
def laminar(pu, pd, T, Z, mu, K):
    return K * (pu * pu - pd * pd) / (Z * T * mu)


@njit
def flow(law, pu, pd, T, Z, mu, cs, r, mass, g, a):
    """The law by its code; a: its numbers."""
    if law == ISO:
        return iso(pu, pd, T, cs, mass, a[0], a[1])
    if law == TUBE:
        return tube(pu, pd, T, Z, mu, cs, r, g, a[0], a[1], a[2], a[3])
    if law == HOLE:
        return hole(pu, pd, T, r, cs, g, a[0])
    if law == KV:
        return kv(pu, pd, T, Z, mass, g, a[0], a[1])
    if law == LAMINAR:
        return laminar(pu, pd, T, Z, mu, a[0])
    return laminar(pu, pd, T, Z, mu, a[0]) + a[1] * (pu - pd) / math.sqrt(T)
