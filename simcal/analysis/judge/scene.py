"""One hold with one past, ready to be computed: its grid, its drives, and the explained reading with derivatives."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.judge.bins import Binned
from simcal.analysis.judge.case import Case
from simcal.analysis.judge.history import History
from simcal.analysis.judge.shapes import Course, Move, leak_courses
from simcal.engine import vessel
from simcal.engine.vessel import Body, Drives
from simcal.physics import convection, gas, heat, shapes

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

AFTER_KNOTS = 8
KNOTS = 2 + AFTER_KNOTS
"""logs of the film's multiplier: during the move, while soaking, and over the logarithm of time afterwards"""
SOONEST = 0.3
"""s, added to the time before its logarithm is taken"""
ROOM_KNOTS = 24
HAND_KNOTS = 12
DRAUGHT = 1.4
"""of still air's film outside: a room with people and fans in it"""
LONG_PIECE = 0.08
"""of a past's length: longer pieces between its points are refined"""
STIRRED = math.log(3.0)
"""expected log multiplier of the film while gas blows in"""


class State(NamedTuple):
    """The gas at isolation, at rest at the room's temperature: SI properties and slopes of the pressure."""

    p: float
    rho: float
    dp_drho: float
    dp_dT: float
    cv: float
    cp: float
    beta: float
    viscosity: float
    conductivity: float


def state(case: Case, p: float) -> State:
    """Properties of the case's gas at pressure p [Pa] and the room's temperature."""
    T = case.room
    rho = gas.density(case.table, p, T)
    _p, dp_drho, dp_dT, _u, _u_rho, cv = gas.properties(case.table, rho, T)
    viscosity, conductivity, _c = gas.transport(case.table, rho, T)
    cp = cv + T * dp_dT**2 / (rho**2 * dp_drho)
    return State(p, rho, dp_drho, dp_dT, cv, cp, dp_dT / (rho * dp_drho), viscosity, conductivity)


@dataclass(frozen=True)
class Scene:
    """Everything a run needs, and where on its grid the blocks of the record lie."""

    case: Case
    binned: Binned
    history: History
    state: State
    time: Vector  # grid, s since isolation
    at: NDArray[np.int64]  # index on the grid of each block
    body: Body
    drives: Drives
    laws: tuple[Course, ...]
    fallen: Matrix  # [grid, law] share of the watch's fall that has happened
    dp_dT: Vector  # [grid]
    room_time: Vector
    hand_time: Vector
    after_knots: Vector  # ln(t + SOONEST) of the film's knots after isolation

    @property
    def columns(self) -> int:
        """Columns of derivatives of a run."""
        return vessel.FIRST_KNOT + KNOTS + len(self.laws) + ROOM_KNOTS + HAND_KNOTS


class Run(NamedTuple):
    """Temperatures on the grid [n, 3] (gas, inner shell, outer shell) and derivatives of gas and outer shell [n, m]."""

    temperature: Matrix
    d_gas: Matrix
    d_outer: Matrix


def build(case: Case, binned: Binned, history: History, p0: float) -> Scene:
    """The scene of one hold with one past."""
    st = state(case, p0)
    time, pressure = _grid(binned, history)
    h = np.diff(time)
    middle = 0.5 * (time[1:] + time[:-1])
    before = (middle < 0.0).astype(np.float64)
    p_middle = 0.5 * (pressure[1:] + pressure[:-1])
    density = st.rho * p_middle / st.p
    rise = np.diff(pressure) / h * before
    inflow = np.maximum(rise, 0.0) / st.dp_drho * case.volume
    capacity = density * case.volume * np.where(before > 0.0, st.cp, st.cv)
    move = Move(history.points[0][1], history.rested)
    laws = tuple(leak_courses(middle, p_middle, case.barometer, case.length, move, case.gas))
    flow = np.stack([course.flow for course in laws], axis=1) * (h * (1.0 - before))[:, None]
    fallen = np.vstack([np.zeros(len(laws)), np.cumsum(flow, axis=0)])
    over = np.array([np.interp(case.watch, time, fallen[:, k]) @ (-1.0, 1.0) for k in range(len(laws))])
    fallen /= np.where(over > 0.0, over, 1.0)
    chi = case.room * st.dp_dT / (st.rho * st.dp_drho)
    room_time = np.linspace(time[0], time[-1], ROOM_KNOTS)
    hand_time = np.linspace(0.0, time[-1], HAND_KNOTS)
    after = np.linspace(math.log(SOONEST), math.log(time[-1] + SOONEST), AFTER_KNOTS)
    drives = Drives(
        step=h,
        density=density,
        capacity=capacity,
        dilution=inflow * st.cp,
        source=case.volume * st.beta * case.room * rise,
        before=before,
        knots=_film_knots(middle, rise, after),
        on_gas=-case.volume * chi * np.diff(fallen, axis=0) / h[:, None],
        room=_hats(middle, room_time),
        on_wall=_hats(middle, hand_time),
    )
    at = np.searchsorted(time, binned.time - 1e-12)
    dp_dT = st.dp_dT * pressure / st.p
    return Scene(
        case, binned, history, st, time, at, body(case, st), drives, laws, fallen, dp_dT, room_time, hand_time, after
    )


def run(scene: Scene, theta: Vector, fall: float = 0.0) -> Run:
    """Temperatures of a scene with the parameters of `engine.vessel.respond` and a hole that takes `fall` Pa."""
    n, m = len(scene.time), scene.columns
    out, d_gas, d_outer = np.empty((n, 3)), np.empty((n, m)), np.empty((n, m))
    states, columns, work = np.empty((2, vessel.NODES)), np.empty((3, vessel.NODES, m)), np.empty((4, vessel.NODES))
    vessel.respond(scene.body, scene.drives, theta, fall, out, d_gas, d_outer, states, columns, work)
    return Run(out, d_gas, d_outer)


def body(case: Case, st: State) -> Body:
    """The wall in five shells of equal thickness and the film inside it."""
    wall = case.wall
    area, diameter = shapes.inner(wall.shape, case.volume, wall.bore)
    outer_area, outer_diameter = shapes.outer(wall.shape, case.volume, wall.bore, wall.thickness)
    count = vessel.NODES - 1
    thick = wall.thickness / count
    total = shapes.wall_heat_capacity(
        wall.shape, case.volume, wall.bore, wall.thickness, wall.density, wall.specific_heat
    )
    share = (np.arange(count) + 0.5) / count
    areas = area + (outer_area - area) * share
    between = area + (outer_area - area) * np.arange(1, count) / count
    kind = heat.FILMS[wall.shape] if wall.film is None else heat.FIXED
    film = np.zeros(8)
    film[heat.KIND], film[heat.AREA], film[heat.DIAMETER], film[heat.MULTIPLIER] = kind, area, diameter, 1.0
    film[heat.COEFFICIENT] = wall.film or 0.0
    outside = wall.outside or DRAUGHT * convection.outside_film(wall.shape, outer_diameter, case.room + 1.0, case.room)
    return Body(
        film=film,
        gas=np.array([st.viscosity, st.conductivity, st.cp, st.cv, st.beta]),
        shells=total * areas / areas.sum(),
        links=wall.conductivity * between / thick,
        skin=wall.conductivity * area / (0.5 * thick),
        outside=outside * outer_area,
    )


def _grid(binned: Binned, history: History) -> tuple[Vector, Vector]:
    """Times and smoothed pressures of the grid: the past's points refined, then the blocks and a finer early part."""
    past = history.points
    pieces = []
    fine = np.concatenate([[0.0], np.geomspace(0.01, 0.75, 9)])
    long = LONG_PIECE * (past[-1][0] - past[0][0])
    for (start, p_start), (end, p_end) in itertools.pairwise(past):
        inner = start + (end - start) * (fine if end - start > long else fine[:1])
        pieces.append(np.column_stack([inner, np.interp(inner, (start, end), (p_start, p_end))]))
    early = np.vstack(pieces)
    last = float(binned.time[-1])
    after = np.unique(np.concatenate([[0.0], binned.time, np.geomspace(last / 2000.0, last, 30)]))
    keep = np.concatenate([[True], (np.diff(after) > 1e-7 * last) | np.isin(after[1:], binned.time)])
    after = after[keep]
    p_after = np.interp(after, binned.time, _smooth(binned))
    return np.concatenate([early[:, 0], after]), np.concatenate([early[:, 1], p_after])


def _smooth(binned: Binned) -> Vector:
    """Block means with their neighbours' say, enough for the slow course that a leak law follows."""
    value, weight = binned.value, 1.0 / np.maximum(binned.sd, 1e-12) ** 2
    if len(value) < 5:
        return value
    kernel = np.array([1.0, 2.0, 3.0, 2.0, 1.0])
    pad = np.pad(value * weight, 2, mode="reflect"), np.pad(weight, 2, mode="reflect")
    smoothed = np.convolve(pad[0], kernel, "valid") / np.convolve(pad[1], kernel, "valid")
    smoothed[:2], smoothed[-2:] = value[:2], value[-2:]
    return np.asarray(smoothed)


def _film_knots(middle: Vector, rise: Vector, after: Vector) -> Matrix:
    """Weights [n, KNOTS] of the film's log multipliers in each step."""
    weights = np.zeros((len(middle), KNOTS))
    before = middle < 0.0
    moving = before & (np.abs(rise) > 0.02 * np.max(np.abs(rise), initial=1e-30))
    weights[moving, 0] = 1.0
    weights[before & ~moving, 1] = 1.0
    weights[~before, 2:] = _hats(np.log(middle[~before] + SOONEST), after)
    return weights


def _hats(x: Vector, knots: Vector) -> Matrix:
    """Weights [n, k] of linear interpolation between knots."""
    position = np.clip(np.interp(x, knots, np.arange(len(knots))), 0.0, len(knots) - 1.0)
    return np.maximum(1.0 - np.abs(position[:, None] - np.arange(len(knots))), 0.0)
