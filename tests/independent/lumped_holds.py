"""Independent re-implementation, shares nothing with simcal/: holds of one gas and one wall, by the matrix exponential.

Ideal nitrogen, a film that does not change, a wall of one temperature, a room that drifts, cycles and wanders. It is
cruder than the judge's own model and has none of its forms: no fading film, no shells, no knots.
"""

import math

import numpy as np
from scipy.linalg import expm

R, T, M = 8.314462618, 293.15, 0.0280134
CP, CV, K, MU = 1040.0, 743.0, 0.0255, 17.6e-6
STEP = 0.25


def room(rng, n, drift, cycle):
    """K, from 0 at the start: drift of standard deviation drift/2 (K/s), a cycle, an Ornstein-Uhlenbeck wander."""
    t = STEP * np.arange(n)
    period, phase = rng.uniform(200.0, 1500.0), rng.uniform(0.0, 2.0 * math.pi)
    wander, keep = np.zeros(n), math.exp(-STEP / 200.0)
    kicks = rng.normal(0.0, 0.2 * cycle * math.sqrt(1.0 - keep * keep), n)
    for i in range(1, n):
        wander[i] = keep * wander[i - 1] + kicks[i]
    swing = cycle * (np.sin(2.0 * math.pi * t / period + phase) - math.sin(phase))
    return rng.normal(0.0, 0.5 * drift) * t + swing + wander


def hold(rng, part, like=None):
    """One record and its truth: a dict of SI numbers. `part`: "clear" or "hard".

    like: what this returned for an equal `rng`; then the same vessel with the same leak and limit comes to its pressure
    from the other side, with a room and noise of its own.
    """
    own = np.random.default_rng([int(rng.integers(1 << 60)), like is not None])
    volume, p = 10.0 ** rng.uniform(-5.0, -3.0), 10.0 ** rng.uniform(5.3, 6.7)
    came = p * rng.uniform(0.2, 1.6)
    move, soak, watch = rng.uniform(2.0, 15.0), 10.0 ** rng.uniform(1.0, 2.5), 10.0 ** rng.uniform(1.8, 2.8)
    bore = (4.0 * volume / math.pi / rng.uniform(1.5, 6.0)) ** (1.0 / 3.0)
    length, thick = 4.0 * volume / (math.pi * bore**2), rng.uniform(0.002, 0.005)
    wall = 3.41e6 * (math.pi * (bore + thick) * thick * length + 0.5 * math.pi * bore**2 * thick)
    mass = p * volume * M / (R * T)
    rayleigh = 9.81 / T * bore**3 * (mass / volume) ** 2 * CP / (MU * K)  # of one kelvin
    nusselt = (5.13 + 0.13 * rayleigh ** (1.0 / 3.0)) * 10.0 ** rng.uniform(-0.3, 0.3)
    inner = nusselt * K / bore * (math.pi * bore * length + 0.5 * math.pi * bore**2)
    outer = rng.uniform(5.0, 14.0) * math.pi * (bore + 2.0 * thick) * (length + 2.0 * thick)
    n = int((move + soak + watch) / STEP) + 1
    t = STEP * np.arange(n) - move - soak
    if like is not None:
        came = p + 0.6 * (p - came)
    drift, cycle = 10.0 ** rng.uniform(-1.0, 0.3) / 3600.0, 10.0 ** rng.uniform(-2.0, -0.7)
    air = room(own, n, drift, cycle)
    offset = own.normal(0.0, 0.05)
    states = course(t, move, soak, volume * (p - came) / move, (mass, inner, wall, outer), air, offset)
    after = t >= 0.0
    warm = states[after, 0]
    thermal = p / T * (warm - warm[0])
    noise = p * 10.0 ** rng.uniform(-6.3, -5.0)
    sheet = p * 10.0 ** rng.uniform(-6.0, -4.5) / 3600.0
    other = math.sqrt(
        thermal[-1] ** 2
        + (p / T) ** 2 * ((0.5 * drift * watch) ** 2 + cycle**2)
        + (0.5 * sheet * watch) ** 2
        + noise**2
    )
    size = other * (rng.uniform(10.0, 40.0) if part == "clear" else rng.uniform(0.5, 8.0))
    if part == "hard":
        size = min(size, 0.03 * p)
    share = (
        rng.choice([0.0, rng.uniform(0.0, 0.33), rng.uniform(3.0, 10.0)]) if part == "clear" else rng.uniform(0.0, 3.0)
    )
    if like is not None:
        size = like["permitted"] * watch * R * T / volume
    fall = share * size
    if fall > 0.1 * p:
        return hold(rng, part)  # nobody judges a hold that empties the vessel
    seconds = t[after]
    k = fall / p / watch
    leak = p * -np.expm1(-k * seconds)  # a choked hole: exponential
    wrong = own.normal(0.0, 0.5 * sheet) * seconds + own.normal(0.0, noise, len(seconds))
    reading = p + thermal - leak + wrong
    rate = volume / (R * T)
    spread = rng.uniform(0.01, 0.04)
    return {
        "time": seconds[1:], "pressure": reading[1:], "volume": volume * (1.0 + rng.normal(0.0, spread)),
        "spread": spread, "bore": bore, "thickness": thick, "came": came, "move": move, "soak": soak,
        "drift": drift, "cycle": cycle, "sheet": sheet, "noise": noise,
        "permitted": size * rate / watch, "leak": leak[-1] * rate / watch, "told": rng.uniform() < 0.6,
    }  # fmt: skip


def course(t, move, soak, power, body, air, offset):
    """Gas and wall over the room at the start, K [n, 2]; heat of the move, then constant pressure, then volume."""
    mass, inner, wall, outer = body
    out = np.empty((len(t), 2))
    state = np.full(2, offset)
    flows = {}
    for name, capacity in (("open", mass * CP), ("shut", mass * CV)):
        matrix = np.array([[-inner / capacity, inner / capacity], [inner / wall, -(inner + outer) / wall]])
        whole = np.zeros((4, 4))
        whole[:2, :2] = matrix * STEP
        whole[0, 2], whole[1, 3] = STEP / capacity, STEP * outer / wall
        flows[name] = expm(whole)[:2]
    for i in range(len(t)):
        out[i] = state
        gives = power if t[i] < -soak and t[i] >= -soak - move - STEP else 0.0
        state = flows["open" if t[i] < 0.0 else "shut"] @ np.array([state[0], state[1], gives, air[i]])
    return out
