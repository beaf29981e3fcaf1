"""Independent re-implementation, shares nothing with simcal/: an estimator that is told more than any judge can know.

It is told the room's course, the state at isolation (gas, wall, body), and the wall with what hangs on it; it does not
know the film coefficients (inside or out), creep, the drift of the sensor, the law of the leak or its size. One gas
node and the wall's shells, a film that varies with ln t, linearised at the best fit; the leak is averaged over laws,
creeps and sizes. Its share of undecided on hard records is the yardstick of a judge's; its intervals are as they come,
without any calibration.
"""

import math
from typing import Any

import numpy as np
from numba import njit
from scipy.linalg import cho_factor, cho_solve, solve_triangular
from scipy.stats import norm

from tests.independent.holds import gases, laws
from tests.independent.holds.confounders import lagged
from tests.independent.holds.model import GEOMETRIES

KNOTS = 7
FILM_OUT = (9.0, 0.35)
FLOOR = {1: 2.29, 2: 5.13, 3: 5.66}
"""Nu of still gas in a rigid slab, cylinder, sphere: lambda V/(A k) bore from the eigenvalue of the sealed vessel"""


@njit
def warmth(t, film_log, outside, room, gas, wall, links, start, source):
    """Excess temperatures [time, gas and wall nodes and body] at t, by a two-stage L-stable step (SDIRK 2).

    gas: heat capacity, A k/bore, Ra per K, floor of Nu, C, n. wall: heat capacities of the nodes, body last. links:
    conductances from node to node (first half of the first shell), body last; outside: W/K of the film, of the body.
    """
    n = start.size
    out = np.empty((t.size, n))
    out[0] = start
    y = start.copy()
    y2 = np.empty(n)
    low, mid, up, right = np.empty(n), np.empty(n), np.empty(n), np.empty(n)
    k1, k2 = np.empty(n), np.empty(n)
    gamma = 1.0 - math.sqrt(0.5)
    for step in range(1, t.size):
        h = t[step] - t[step - 1]
        if h <= 0.0:
            out[step] = y
            continue
        gap = math.sqrt((y[0] - y[1]) ** 2 + 4e-4)
        for _ in range(2):
            nusselt = (gas[3] ** 3 + (gas[4] * (gas[2] * gap) ** gas[5]) ** 3) ** (1.0 / 3.0)
            own = gas[1] * nusselt * math.exp(0.5 * (film_log[step] + film_log[step - 1]))
            first = 1.0 / (1.0 / own + 1.0 / links[0])
            for stage in range(2):
                around = room[step - 1] + (gamma if stage == 0 else 1.0) * (room[step] - room[step - 1])
                for i in range(n):
                    heat = gas[0] if i == 0 else wall[i - 1]
                    left = 0.0 if i == 0 else (first if i == 1 else links[i - 1])
                    next_one = 0.0 if i == n - 1 else (first if i == 0 else links[i])
                    loss = outside[0] if i == n - 2 else (outside[1] if i == n - 1 else 0.0)
                    x = y[i] + (0.0 if stage == 0 else (1.0 - gamma) * h * k1[i])
                    x_left = 0.0 if i == 0 else y[i - 1] + (0.0 if stage == 0 else (1.0 - gamma) * h * k1[i - 1])
                    x_right = 0.0 if i == n - 1 else y[i + 1] + (0.0 if stage == 0 else (1.0 - gamma) * h * k1[i + 1])
                    slope = left * (x_left - x) + next_one * (x_right - x) + loss * (around - x)
                    if i == 0:
                        slope += source[step]
                    low[i] = -gamma * h * left / heat
                    up[i] = -gamma * h * next_one / heat
                    mid[i] = 1.0 + gamma * h * (left + next_one + loss) / heat
                    right[i] = slope / heat
                for i in range(1, n):
                    share = low[i] / mid[i - 1]
                    mid[i] -= share * up[i - 1]
                    right[i] -= share * right[i - 1]
                right[n - 1] /= mid[n - 1]
                for i in range(n - 2, -1, -1):
                    right[i] = (right[i] - up[i] * right[i + 1]) / mid[i]
                for i in range(n):
                    if stage == 0:
                        k1[i] = right[i]
                    else:
                        k2[i] = right[i]
            for i in range(n):
                y2[i] = y[i] + h * ((1.0 - gamma) * k1[i] + gamma * k2[i])
            gap = math.sqrt((0.5 * (y[0] + y2[0] - y[1] - y2[1])) ** 2 + 4e-4)
        for i in range(n):
            y[i] = y2[i]
            out[step, i] = y[i]
    return out


class Thermal:
    """The lumped hold that is told its wall: pressure of the thermal part, and of a leak's own cooling."""

    def __init__(self, told: dict[str, Any], t: np.ndarray):
        v, course = told["vessel"], told["course"]
        own = gases.at(v.gas, v.p, v.room0)
        walls = told["wall_T"].size
        g = GEOMETRIES[v.shape]
        area = g * v.volume / (0.5 * v.bore)
        edges = 0.5 * v.bore + v.thickness * np.linspace(0.0, 1.0, walls + 1)
        lever = v.volume * g / (0.5 * v.bore) ** g
        shells = v.wall[1] * lever / g * np.diff(edges**g)
        step = v.thickness / walls
        between = v.wall[0] * lever * edges[1:-1] ** (g - 1) / step
        links = np.concatenate([[2.0 * v.wall[0] * area / step], between, [v.body[1]]])
        self.t, self.own, self.volume = t, own, v.volume
        # room, wall and body as excess over the room at the start of the move
        self.room = course.at(t)
        self.start = np.concatenate([[told["gas_T"]], told["wall_T"], [told["body_T"]]]) - v.room0
        self.wall = np.concatenate([shells, [v.body[0]]])
        self.links = links
        self.face = lever * edges[-1] ** (g - 1)
        self.body_out = v.body[2]
        per_K = 9.80665 * own["beta"] * v.bore**3 * own["rho"] ** 2 * own["cp"] / (own["mu"] * own["k"])
        self.gas = np.array([own["rho"] * own["cv"] * v.volume, area * own["k"] / v.bore, per_K, FLOOR[g], 0.27, 0.29])
        self.knots = np.linspace(math.log(0.3), math.log(t[-1] + 0.3), KNOTS)

    def film(self, c: np.ndarray) -> np.ndarray:
        """ln of the film's factor at the times."""
        return np.interp(np.log(self.t + 0.3), self.knots, c)

    def states(self, c: np.ndarray, ln_out: float, source: np.ndarray) -> np.ndarray:
        """Excess temperatures [time, node]."""
        outside = np.array([math.exp(ln_out) * self.face, self.body_out])
        return warmth(
            self.t, self.film(c), outside, self.room, self.gas, self.wall, self.links, self.start, source
        )  # fmt: skip

    def pressure(self, c: np.ndarray, ln_out: float, loss: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Pressure less a constant, and the part of the gap between gas and wall, Pa; `loss` Pa/s at constant T."""
        own = self.own
        # gas that stays works on gas that leaves: dT = T dp/dT / (rho^2 cv) drho
        heat = -own["dp_dT"] * 293.15 / own["rho"] * self.volume * own["drho_dp"] * loss
        found = self.states(c, ln_out, heat)
        gone = np.concatenate([[0.0], np.cumsum(np.diff(self.t) * 0.5 * (loss[1:] + loss[:-1]))])
        return own["dp_dT"] * found[:, 0] - gone, own["dp_dT"] * (found[:, 0] - found[:, 1])


def bins(
    t: np.ndarray, p: np.ndarray, hold: float, count: int = 80
) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    """Times, means and counts of blocks after isolation without spikes, and the noise of one sample."""
    own = t >= 0.0
    t, p = t[own], p[own]
    step = np.diff(p)
    noise = 1.4826 * float(np.median(np.abs(step - np.median(step)))) / math.sqrt(2.0)
    wide = np.pad(p, 2, mode="edge")
    middle = np.median(np.stack([wide[i : i + p.size] for i in range(5)]), axis=0)
    off = np.abs(p - middle)
    limit = 6.0 * max(noise, 1.4826 * float(np.median(off))) + 3.0 * float(np.min(np.abs(step[step != 0]), initial=1e9))
    good = (off < limit) | (t < 3.0)
    t, p = t[good], p[good]
    edges = np.unique(np.concatenate([np.linspace(0.0, hold, count // 2), np.geomspace(0.2, hold, count // 2)]))
    place = np.clip(np.searchsorted(edges, t, side="right") - 1, 0, edges.size - 2)
    n = np.bincount(place, minlength=edges.size - 1)
    used = n > 0
    mean_t = np.bincount(place, t, edges.size - 1)[used] / n[used]
    mean_p = np.bincount(place, p, edges.size - 1)[used] / n[used]
    return mean_t, mean_p, n[used], noise


def courses(t: np.ndarray, p: np.ndarray, told: dict[str, Any], barometer: float) -> list[tuple[float, np.ndarray]]:
    """Weights and courses of a leak's flow, mean 1 over the hold, from the smoothed reading p (Pa abs) at t.

    Steady, hole, laminar, molecular, and a seal that gas permeates, steeped before the move, for several lags.
    """
    v = told["vessel"]
    dilute = gases.at(v.gas, 1000.0, 293.15)
    gamma = dilute["cp"] / dilute["cv"]
    found = [(0.1, np.ones(t.size))]
    for weight, law in ((0.3, laws.HOLE), (0.25, laws.LAMINAR), (0.15, laws.MOLECULAR)):
        found.append((weight, np.array([laws.shape(law, x, barometer, 293.15, gamma) for x in p])))
    for beyond in (0.0, barometer):
        for lag in (0.05, 0.15, 0.4, 1.0, 2.5, 6.0):
            x = 1.0 / (6.0 * lag * t[-1])  # D/L^2, 1/s
            late = t + v.soak + 0.5 * v.move
            early = sum(np.exp(-((k * math.pi) ** 2) * x * late) for k in range(1, 60))
            found.append((0.2 / 12.0, v.p - beyond + 2.0 * (v.p - v.came_from) * early))
    means = [np.trapezoid(course, t) / t[-1] for _, course in found]
    return [
        (w, course / m) for (w, course), m in zip(found, means, strict=True) if abs(m) > 1e-2 * np.abs(course).max()
    ]


def judge(
    time_s: np.ndarray, pressure_Pa: np.ndarray, temperature_K: np.ndarray | None, about: dict, told: dict
) -> dict[str, Any]:
    """`verdict`, `low`, `high`, `median` (mol/s out, mean of the watch)."""
    hold = about["watch_until"] - about["isolated_at"]
    t, y, n, noise = bins(time_s - about["isolated_at"], pressure_Pa, hold)
    fine = np.unique(np.concatenate([[0.0], np.geomspace(0.05, hold, 140), np.linspace(0.0, hold, 120), t]))
    where = np.searchsorted(fine, t)
    heat = Thermal(told, fine)
    p0 = float(np.median(y)) + (about["barometer"] if about["reading"] == "gauge" else 0.0)
    own = heat.own
    per_Pa = about["capacity"] * own["drho_dp"] / gases.molar_mass(about["gas"])  # mol for one Pa
    limit = about["permitted_leak"] / per_Pa
    base = noise_covariance(about, heat, t, n, noise, p0, where)
    smooth = np.interp(fine, t, y) + (about["barometer"] if about["reading"] == "gauge" else 0.0)
    flows = courses(fine, smooth, told, about["barometer"])
    fit = fitted(heat, t, y, where, base, limit, hold, flows)
    mixture = averaged(fit, heat, where, about, limit, hold, p0, flows)
    low, middle, high = (quantile(mixture, q) * per_Pa for q in (0.025, 0.5, 0.975))
    permitted = about["permitted_leak"]
    verdict = "undecided"
    if low > permitted or high < -permitted:
        verdict = "leak"
    elif -permitted < low and high < permitted:
        verdict = "tight"
    return {"verdict": verdict, "low": low, "high": high, "median": middle}


def noise_covariance(
    about: dict, heat: Thermal, t: np.ndarray, n: np.ndarray, noise: float, p0: float, where: np.ndarray
) -> np.ndarray:
    """Noise of the block means, resolution, flicker, drift, zero shift, barometer, Pa^2."""
    sheet = about["sensor"]
    white = max(sheet["noise"], noise)
    gap = np.abs(t[:, None] - t[None, :])
    k = np.diag(white**2 / n + sheet["resolution"] ** 2 / 12.0 / np.sqrt(n) + (1e-7 * p0) ** 2)
    for tau, share in ((5.0, 0.3), (50.0, 1.0), (350.0, 1.0)):
        k += (0.25 * white) ** 2 * share * np.exp(-gap / tau)
    k += (0.5 * sheet["drift"]) ** 2 * np.outer(t, t)
    body = lagged(heat.t, heat.room, 800.0)[where]
    k += (0.5 * sheet["zero_shift"]) ** 2 * np.outer(body, body)
    if about["reading"] == "gauge":
        weather = about.get("barometer_drift", 100.0 / 3600.0)
        k += (0.5 * weather) ** 2 * np.outer(t, t)
        k += (0.15 * weather * 3600.0) ** 2 * np.minimum(t[:, None], t[None, :]) / 3600.0
    return k


def film_prior() -> np.ndarray:
    """Covariance of the film's knots: a common factor and one that varies with ln t."""
    place = np.arange(KNOTS, dtype=float)
    return 0.4**2 + 0.25**2 * np.exp(-np.abs(place[:, None] - place[None, :]) * 1.3 / 1.5) + 1e-9 * np.eye(KNOTS)


def fitted(
    heat: Thermal,
    t: np.ndarray,
    y: np.ndarray,
    where: np.ndarray,
    base: np.ndarray,
    limit: float,
    hold: float,
    flows: list[tuple[float, np.ndarray]],
) -> dict[str, Any]:
    """Gauss-Newton for film, outside, constant and a steady leak; what is left there, with its columns."""
    prior = np.zeros((KNOTS + 1, KNOTS + 1))
    prior[:KNOTS, :KNOTS] = film_prior()
    prior[KNOTS, KNOTS] = FILM_OUT[1] ** 2
    mean = np.concatenate([np.zeros(KNOTS), [math.log(FILM_OUT[0])]])
    theta, q = mean.copy(), 0.0
    ones = np.ones(heat.t.size)

    def model(x, rate):
        p, gap = heat.pressure(x[:KNOTS], x[KNOTS], rate * ones)
        return p[where], gap[where]

    other = np.zeros((t.size, t.size))
    for weight, course in flows:  # what another course of the leak than a steady one would change
        off = np.concatenate([[0.0], np.cumsum(np.diff(heat.t) * 0.5 * (course[1:] + course[:-1]))]) - heat.t
        other += weight * np.outer(off[where], off[where])
    wide = 30.0 * max(float(np.ptp(y)), limit * hold)
    best: dict[str, Any] = {}
    for _ in range(9):
        p, gap = model(theta, q)
        apart = np.abs(np.subtract.outer(np.log(t + 0.3), np.log(t + 0.3)))
        k = base + 0.03**2 * np.outer(gap, gap) * np.exp(-apart / 0.7) + q * q * other
        columns = np.empty((t.size, KNOTS + 3))
        for i in range(KNOTS + 1):
            moved = theta.copy()
            moved[i] += 1e-3
            columns[:, i] = (model(moved, q)[0] - p) / 1e-3
        little = max(1e-3 * limit, 1e-3 * abs(q))
        columns[:, KNOTS + 1] = (model(theta, q + little)[0] - p) / little
        columns[:, KNOTS + 2] = 1.0
        sd = np.zeros((KNOTS + 3, KNOTS + 3))
        sd[: KNOTS + 1, : KNOTS + 1] = np.linalg.inv(prior)
        sd[KNOTS + 1, KNOTS + 1] = 1.0 / (100.0 * limit + wide / hold) ** 2
        sd[KNOTS + 2, KNOTS + 2] = 1.0 / wide**2
        factor = cho_factor(k)
        rest = y - p
        centred = rest - rest.mean()
        pull = columns.T @ cho_solve(factor, centred)
        pull[: KNOTS + 1] += np.linalg.solve(prior, mean - theta)
        pull[KNOTS + 1] -= sd[KNOTS + 1, KNOTS + 1] * q
        move = np.linalg.solve(columns.T @ cho_solve(factor, columns) + sd, pull)
        best = {"k": k, "rest": rest, "columns": columns, "theta": theta, "q": q, "prior": prior, "mean": mean}
        best["wide"] = wide
        largest = np.abs(move[: KNOTS + 1]).max()
        damp = min(1.0, 0.7 / max(largest, 1e-12))
        theta = theta + damp * move[: KNOTS + 1]
        q = q + damp * move[KNOTS + 1]
        if largest < 1e-3:
            break
    return best


def averaged(
    fit: dict,
    heat: Thermal,
    where: np.ndarray,
    about: dict,
    limit: float,
    hold: float,
    p0: float,
    flows: list[tuple[float, np.ndarray]],
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Weights, means and standard deviations (Pa/s, mean of the watch) over laws, creeps and sizes of the leak."""
    t = heat.t[where]
    films = fit["columns"][:, : KNOTS + 1]
    k = fit["k"] + films @ fit["prior"] @ films.T + fit["wide"] ** 2
    lower = np.linalg.cholesky(k)

    def white(x):
        return solve_triangular(lower, x, lower=True)

    base = heat.pressure(fit["theta"][:KNOTS], fit["theta"][KNOTS], np.zeros(heat.t.size))[0]
    # the record less the thermal part at the fit, moved to the prior mean of the film
    rest = fit["rest"] - fit["rest"].mean() + films @ (fit["theta"] - fit["mean"])
    rest += fit["q"] * fit["columns"][:, KNOTS + 1]
    r = white(rest)
    from_watch = about["watch_from"] - about["isolated_at"]
    weights, means, sds = [], [], []
    for law_weight, course in flows:
        with_leak = heat.pressure(fit["theta"][:KNOTS], fit["theta"][KNOTS], limit * course)[0]
        column = white(((with_leak - base) / limit)[where])
        watched = heat.t >= from_watch
        scale = np.trapezoid(course[watched], heat.t[watched]) / (heat.t[-1] - heat.t[watched][0])
        for creep_weight, extra in creeps(t, hold, p0):
            rr, cc, shift = r @ r, column @ r, column @ column
            log_det = 0.0
            if extra is not None:
                e = white(extra)
                inner = np.eye(e.shape[1]) + e.T @ e
                log_det = np.linalg.slogdet(inner)[1]
                er, ec = e.T @ r, e.T @ column
                solved_r, solved_c = np.linalg.solve(inner, er), np.linalg.solve(inner, ec)
                rr, cc, shift = rr - er @ solved_r, cc - ec @ solved_r, shift - ec @ solved_c
            for size_weight, size in ((0.3, 0.0), (0.42, 2.5 * limit), (0.28, 20.0 * limit)):
                precision = shift + (1.0 / size**2 if size else 0.0)
                mean = cc / precision if size else 0.0
                chi = rr - (cc * cc / precision if size else 0.0)
                gain = -0.5 * math.log(precision * size**2) if size else 0.0
                nu, count = 20.0, r.size
                weight = math.log(law_weight * creep_weight * size_weight) - 0.5 * log_det + gain
                weights.append(weight - 0.5 * (count + nu) * math.log1p(chi / nu))
                means.append(mean * scale)
                spread = math.sqrt(max(1.0, (nu + chi) / (nu + count)) / precision) if size else 0.0
                sds.append(math.hypot(spread * scale, about["spreads"]["capacity"] / about["capacity"] * mean * scale))
    weights = np.exp(np.array(weights) - max(weights))
    return weights / weights.sum(), np.array(means), np.maximum(np.array(sds), 1e-9 * limit)


def creeps(t: np.ndarray, hold: float, p0: float) -> list[tuple[float, np.ndarray | None]]:
    """Weights and columns of what gives way: none, or one shape of a size with the others at a quarter of it."""
    shapes = [1.0 - np.exp(-t / (x * hold)) for x in (0.1, 0.3, 1.0, 3.0)]
    shapes += [np.log1p(t / x) / np.log1p(hold / x) for x in (3.0, 30.0)]
    stack = np.stack(shapes, axis=1)
    found: list[tuple[float, np.ndarray | None]] = [(0.7, None)]
    sizes = (1e-5, 1e-4, 1e-3, 1e-2)
    for i in range(len(shapes)):
        for size in sizes:
            share = np.full(len(shapes), 0.25)
            share[i] = 1.0
            found.append((0.3 / len(shapes) / len(sizes), stack * share * size * p0))
    return found


def quantile(mixture: tuple[np.ndarray, np.ndarray, np.ndarray], q: float) -> float:
    """By bisection in the mixture of normal laws."""
    weights, means, sds = mixture
    low, high = float((means - 9.0 * sds).min()), float((means + 9.0 * sds).max())
    for _ in range(80):
        half = 0.5 * (low + high)
        low, high = (half, high) if weights @ norm.cdf((half - means) / sds) < q else (low, half)
    return 0.5 * (low + high)
