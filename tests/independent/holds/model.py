"""Independent re-implementation, shares nothing with simcal/: an isolated hold with its fill, as objects.

`Vessel` is what is true about a hold, `run` marches `flows.right_side` through move, soak and hold.
"""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from scipy.interpolate import CubicHermiteSpline

from tests.independent.holds import flows as at
from tests.independent.holds import gases
from tests.independent.holds.flows import CELLS, EXTRA, R
from tests.independent.holds.laws import LAMINAR
from tests.independent.holds.march import march

HOTTEST = 900.0


@dataclass(frozen=True)
class Vessel:
    """Everything true about one hold, SI; times count from isolation, so the move lies before nought."""

    gas: str
    volume: float
    shape: str  # "cylinder", "sphere", "slab"
    bore: float
    thickness: float
    wall: tuple[float, float]  # conductivity, density times heat capacity
    p: float
    came_from: float
    supply: float
    move: float
    soak: float
    hold: float
    overshoot: float = 0.0
    film_rad: float = 3.0
    film_nat: float = 3.0
    film_forced: float = 0.0
    body: tuple[float, float, float] = (1.0, 0.0, 0.0)  # heat capacity, link to wall, link to room
    body_offset: float = 0.0
    wall_offset: float = 0.0
    room0: float = 293.15
    convection: tuple[float, float, float, float] = (0.2, 0.28, 3.0, 0.2)  # C, n, time constant, fade
    jet: float = 0.05
    swirl_tau: float = 2.0
    law: int = 0
    leak: float = 0.0
    beyond: float = 101325.0
    lag: float = 100.0
    seat_law: int = 0
    seat: float = 0.0
    seat_beyond: float = 101325.0
    swell: tuple[int, float, float, float] = (0, 0.0, 1.0, 1.0)
    trap: tuple[float, float, float] = (0.0, 0.0, 1.0)  # volume, K mol/(s Pa2), thermal time constant
    outgassing: tuple[float, float] = (0.0, 1.0)
    pulse: tuple[float, float, float] = (0.0, 0.0, 1.0)
    room: np.ndarray = field(default_factory=lambda: np.full(2, 293.15))
    room_t0: float = 0.0
    room_dt: float = 1.0

    @property
    def begins(self) -> float:
        """Start of the move, s before isolation (negative)."""
        return -(self.soak + self.move)


@dataclass(frozen=True)
class Trace:
    """A hold at the asked times: states [time, place] and what was made of them."""

    time: np.ndarray
    p: np.ndarray
    gas_T: np.ndarray
    wall_T: np.ndarray
    leak_shape: np.ndarray
    seat_shape: np.ndarray
    heat_out: np.ndarray
    enthalpy_out: np.ndarray
    shares: np.ndarray
    body_T: np.ndarray
    moles_trapped: np.ndarray
    T_trapped: np.ndarray


GEOMETRIES = {"slab": 1, "cylinder": 2, "sphere": 3}


def mass_shares(geometry: int, shells: int, finest: float) -> np.ndarray:
    """Shares of the mass of shells that grow from the wall (thickness `finest` radii) to the centre by one ratio."""
    low, high = 1.0, 4.0
    for _ in range(60):
        ratio = 0.5 * (low + high)
        total = finest * sum(ratio**i for i in range(shells))
        low, high = (ratio, high) if total < 1.0 else (low, ratio)
    thick = np.array([low**i for i in range(shells)])[::-1]
    edges = np.concatenate([[0.0], np.cumsum(thick / thick.sum())])
    return np.diff(edges**geometry)


def numbers(v: Vessel, gamma: float) -> np.ndarray:
    """The array `a` of the right hand side, and the first polynomial's needs aside."""
    a = np.zeros(49)
    geometry = GEOMETRIES[v.shape]
    a[[at.VOLUME, at.RADIUS, at.GEOMETRY, at.THICKNESS]] = v.volume, 0.5 * v.bore, geometry, v.thickness
    a[[at.WALL_K, at.WALL_RHOC]] = v.wall
    a[[at.FILM_RAD, at.FILM_NAT, at.FILM_FORCED]] = v.film_rad, v.film_nat, v.film_forced
    a[[at.BODY_C, at.BODY_G, at.BODY_OUT]] = v.body
    a[[at.CONV_C, at.CONV_N, at.CONV_TAU, at.CONV_FADE]] = v.convection
    a[[at.JET, at.SWIRL_TAU, at.MOLAR, at.T0]] = v.jet, v.swirl_tau, gases.molar_mass(v.gas), v.room0
    a[[at.P_FROM, at.P_TO, at.MOVE_START, at.MOVE_TAU]] = v.came_from, v.p, v.begins, v.move / 6.0
    a[at.OVERSHOOT] = v.overshoot
    a[at.H_IN] = gases.enthalpy(v.gas, max(v.supply, v.p), v.room0)
    a[[at.LAW, at.LEAK, at.BEYOND, at.GAMMA, at.LAG]] = v.law, v.leak, v.beyond, gamma, v.lag
    a[[at.SEAT_LAW, at.SEAT, at.SEAT_BEYOND]] = v.seat_law, v.seat, v.seat_beyond
    a[[at.SWELL, at.SWELL_SIZE, at.SWELL_TAU, at.SWELL_POWER]] = v.swell
    a[[at.TRAP_V, at.TRAP_K, at.TRAP_TAU]] = v.trap
    a[[at.GAS_OUT, at.GAS_OUT_T0]] = v.outgassing
    a[[at.PULSE_W, at.PULSE_T, at.PULSE_LONG]] = v.pulse
    a[[at.GRID_T0, at.GRID_DT]] = v.room_t0, v.room_dt
    return a


def gamma_of(gas: str) -> float:
    """cp/cv of the dilute gas at 293.15 K."""
    state = gases.at(gas, 1000.0, 293.15)
    return state["cp"] / state["cv"]


def start(v: Vessel, shares: np.ndarray, walls: int) -> np.ndarray:
    """The state before the move: all as warm as the vessel, the seal steeped in what was before."""
    n = shares.size
    y = np.empty(n + walls + EXTRA)
    y[: n + walls] = v.room0 + v.wall_offset
    b = n + walls
    y[b] = v.room0 + v.body_offset
    y[b + 1] = v.came_from
    y[b + 2 : b + 10] = 0.0
    y[b + 4] = v.came_from * max(v.trap[0], 1e-12) / (R * v.room0)
    y[b + 5] = v.room0
    y[b + 10 :] = v.came_from + (v.beyond - v.came_from) * (np.arange(CELLS) + 0.5) / CELLS
    return y


def tolerances(v: Vessel, size: int, n: int, b: int) -> np.ndarray:
    """Error that a step may make in each place: some 1e-8 of the pressure and what that is in the rest."""
    allowed = np.full(size, 1e-4)
    allowed[n : b + 1] = 3e-6
    allowed[b + 1] = 1e-8 * min(v.p, max(v.came_from, 0.05 * v.p))
    allowed[b + 2 : b + 4] = 0.02
    allowed[b + 4] = 1e-7 * max(v.trap[0], 1e-12) * v.p / (R * v.room0)
    allowed[b + 6 : b + 8] = (
        1e-8 * v.p**2 * v.hold if v.law == LAMINAR or v.seat_law == LAMINAR else 1e-8 * v.p * v.hold
    )
    allowed[b + 8 : b + 10] = 1e-7 * v.volume * v.p
    allowed[b + 10 :] = 1e-6 * v.p
    return allowed


class Course:
    """States between the steps of a run by cubics through states and slopes."""

    def __init__(self, pieces: list[tuple[np.ndarray, np.ndarray, np.ndarray]]):
        self.pieces = [(t[0], CubicHermiteSpline(t, y, f)) for t, y, f in pieces]

    def at(self, times: np.ndarray) -> np.ndarray:
        """States [time, place]; a time where two pieces meet is of the later one."""
        which = np.searchsorted([t for t, _ in self.pieces[1:]], times, side="right")
        out = np.empty((times.size, self.pieces[0][1].c.shape[-1]))
        for i, (_, spline) in enumerate(self.pieces):
            out[which == i] = spline(times[which == i])
        return out


def run(
    v: Vessel, times: np.ndarray, shells: int = 16, walls: int = 8, finest: float = 0.003, strictness: float = 1.0
) -> Trace:
    """The hold at `times` (s, ascending, isolation at nought, from the start of the move on)."""
    top_p = 1.03 * max(v.p, v.came_from) + abs(v.overshoot)
    coef, window = gases.tabulate(v.gas, 0.2 * min(v.p, v.came_from), top_p)
    shares = mass_shares(GEOMETRIES[v.shape], shells, finest)
    gamma = gamma_of(v.gas)
    a = numbers(v, gamma)
    y = start(v, shares, walls)
    n, b = shells, shells + walls
    allowed = tolerances(v, y.size, n, b) * strictness
    ends = np.unique([v.begins, min(v.begins + 2.0 * v.move, 0.0), 0.0, v.hold])
    pieces = []
    for t0, t1 in pairwise(ends):
        a[at.CONTROLLED] = float(t0 < 0.0)
        if t0 == 0.0:
            y[b + 6 : b + 10] = 0.0
        longest = v.move / 4.0 if t0 == v.begins else min(0.02 * (t1 - t0), 10.0)
        piece = march(t0, t1, y, a, coef, window, shares, v.room, allowed, longest)
        if piece[0].size == 0 or piece[1][:, :b].max() > HOTTEST:
            raise ArithmeticError("the integrator gave up, or the gas left what a table holds")
        pieces.append(piece)
        y = piece[1][-1].copy()
    kept = Course(pieces).at(times)
    return Trace(
        times, kept[:, b + 1], kept[:, :n], kept[:, n:b], kept[:, b + 6], kept[:, b + 7], kept[:, b + 8],
        kept[:, b + 9], shares, kept[:, b], kept[:, b + 4], kept[:, b + 5],
    )  # fmt: skip
