"""Independent re-implementation, shares nothing with simcal/: seeded records by part, with their truth.

`record(part, seed, i)` is the same record for any count. Parts:

clear-cut   S >= 10 u, capacity within 10 %, true leak at most a third or at least three times the limit, no confounder
hard        S between 0.8 and 20 u, half of the leaks within 0.5 to 2 times the limit, unsteady room, short soak
confounded  as hard, with one or two things that imitate a leak by 0.1 to 3 times S

S is the change that the permitted rate makes during the watch, u the root sum of squares of what is not a leak.
"""

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline

from tests.independent.holds import gases, laws
from tests.independent.holds.cases import DEFAULTS, Bench, between, drawn_bench, rounded, sensitivities
from tests.independent.holds.confounders import barometer_walk, lagged, room_course, sensor_drift, step_shift
from tests.independent.holds.logger import read_pressure, read_temperature, stamps
from tests.independent.holds.model import Trace, Vessel, run

PARTS = ("clear-cut", "hard", "confounded")
KINDS = ("creep", "trapped", "seat", "outgassing", "pulse", "door", "step_shift")
SHELLS, WALLS, FINEST = 18, 8, 0.0015
MOST_LIMIT, MOST_LEAK = 0.03, 0.12
"""largest shares of the pressure that the limit, and the leak, take away during a watch"""


@dataclass(frozen=True)
class Record:
    """What a judge gets (`time_s`, `pressure_Pa`, `temperature_K`, `about`) and what it does not (`truth`, `told`)."""

    part: str
    index: int
    time_s: np.ndarray
    pressure_Pa: np.ndarray
    temperature_K: np.ndarray | None
    about: dict[str, Any]
    truth: dict[str, Any]
    told: dict[str, Any] = field(repr=False)


@dataclass(frozen=True)
class Ranges:
    """Where the confounders' numbers are drawn from: sizes over S, times over the hold, exponents, share of pairs."""

    size: tuple[float, float] = (0.1, 3.0)
    creep: tuple[float, float] = (0.05, 3.0)
    tau: tuple[float, float] = (0.1, 3.0)  # of trapped volumes, and of sensors that recover
    stretched: tuple[float, float] = (0.3, 0.8)
    power: tuple[float, float] = (0.05, 0.35)
    recovering: tuple[float, float] = (0.4, 0.9)
    single: float = 0.75


USUAL = Ranges()
OTHER = Ranges((0.03, 6.0), (0.05, 10.0), (0.05, 10.0), (0.2, 1.0), (0.02, 0.5), (0.3, 1.0), 0.5)
"""wider ones, so that no judge is fitted to the usual: single exponentials, courses that are almost straight"""


@dataclass(frozen=True)
class Added:
    """Confounders of a record: those inside the vessel stand in `vessel`, `step` Pa is the sensor's."""

    names: tuple[str, ...]
    vessel: Vessel
    step: tuple[float, float, float] = (0.0, 1.0, 1.0)


def grid(vessel: Vessel, wait: float) -> np.ndarray:
    """Times that a trace is kept at: fine after the move and after isolation."""
    late = np.concatenate([[0.0], np.geomspace(0.02, vessel.hold, 160), np.linspace(0.0, vessel.hold, 160), [wait]])
    soak = -vessel.soak + np.concatenate([[0.0], np.geomspace(0.02, 1.0, 30) * vessel.soak, [vessel.soak]])
    early = np.linspace(vessel.begins, -vessel.soak, 25)
    return np.unique(np.concatenate([early, np.minimum(soak, 0.0), late]))


def trace_of(vessel: Vessel, wait: float) -> Trace:
    """The run at its grid; ArithmeticError when the gas leaves its table."""
    trace = run(vessel, grid(vessel, wait), SHELLS, WALLS, FINEST)
    if not (
        trace.gas_T.min() > gases.LOW_T[vessel.gas]
        and trace.gas_T.max() < gases.HIGH_T[vessel.gas]
        and np.isfinite(trace.p).all()
    ):
        raise ArithmeticError("the gas left its table")
    return trace


def in_room(bench: Bench, vessel: Vessel) -> Vessel:
    """The vessel in the course of the bench's room."""
    course = bench.course
    return replace(vessel, room=vessel.room0 + course.K, room_t0=course.t0, room_dt=course.dt)


def at_watch(trace: Trace, series: np.ndarray, wait: float) -> tuple[float, float]:
    """A series where the watch begins and at the end."""
    return float(np.interp(wait, trace.time, series)), float(series[-1])


def change(trace: Trace, wait: float) -> float:
    """Pressure at the end of the watch less that at its start, Pa."""
    first, last = at_watch(trace, trace.p, wait)
    return last - first


def uncertainty(bench: Bench, cooling: float) -> dict[str, float]:
    """Non-leak changes of the watch, Pa: a size of unknown sign counts with half of it, as its standard deviation."""
    own, stated = sensitivities(bench.vessel), bench.stated
    watch = bench.vessel.hold - bench.wait
    drift = DEFAULTS["room_drift"] if stated.room_drift is None else stated.room_drift
    cycle = DEFAULTS["room_cycle"] if stated.room_cycle is None else stated.room_cycle
    weather = DEFAULTS["barometer_drift"] if stated.barometer_drift is None else stated.barometer_drift
    return {
        "room_drift": own["dp_dT"] * 0.5 * drift * watch,
        "room_cycle": own["dp_dT"] * cycle,
        "sensor_drift": 0.5 * stated.drift * watch,
        "zero_shift": 0.5 * stated.zero_shift * math.hypot(0.5 * drift * watch, cycle),
        "barometer": 0.5 * weather * watch if bench.gauge else 0.0,
        "resolution": stated.resolution * math.sqrt(2.0 / 12.0),
        "noise": stated.noise * math.sqrt(2.0 / 10.0),
        "cooling": cooling,
    }


def share_of_limit(rng: np.random.Generator, part: str, clear: bool) -> float:
    """|true leak| over the permitted one."""
    if part == "clear-cut":
        if rng.uniform() < 0.5:
            return 0.0 if rng.uniform() < 0.4 else between(rng, 0.01, 0.32)
        return between(rng, 3.3, 30.0)
    if clear:
        return between(rng, 0.4, 2.8)
    if rng.uniform() < 0.15:
        return 0.0
    return between(rng, 0.5, 2.0) if rng.uniform() < 0.55 else between(rng, 0.05, 8.0)


def confound(rng: np.random.Generator, bench: Bench, S: float, permitted: float, ranges: Ranges) -> tuple[Added, Bench]:
    """One or two things that imitate a leak, each by some share or multiple of S during the watch."""
    v, wait = bench.vessel, bench.wait
    step = v.p - v.came_from
    own = sensitivities(v)
    stiff = own["rho"] / own["drho_dp"]  # Pa for d ln V
    kinds = [k for k in KINDS if k != "outgassing" or v.p < 5e5]
    names = tuple(str(k) for k in rng.choice(kinds, 1 if rng.uniform() < ranges.single else 2, replace=False))
    shift = (0.0, 1.0, 1.0)
    for name in names:
        size = between(rng, *ranges.size) * S
        away = -v.begins
        if name == "creep":
            kind = int(rng.choice([laws.STRETCHED, laws.POWER]))
            tau, power = between(rng, *ranges.creep) * v.hold, rng.uniform(*ranges.stretched)
            if kind == laws.POWER:
                tau, power = between(rng, 1.0, 60.0), rng.uniform(*ranges.power)
            grown = laws.swollen(kind, v.hold + away, 1.0, tau, power) - laws.swollen(
                kind, wait + away, 1.0, tau, power
            )
            amount = min(size / (stiff * grown), 0.02 / laws.swollen(kind, v.hold + away, 1.0, tau, power))
            v = replace(v, swell=(kind, math.copysign(amount, step), tau, power))
        elif name == "trapped":
            tau = between(rng, *ranges.tau) * v.hold
            left = math.exp(-(v.soak + wait) / tau) - math.exp(-(v.soak + v.hold) / tau)
            volume = min(size / (abs(step) * max(left, 1e-6)), 0.05) * v.volume
            v = replace(v, trap=(volume, volume / (2.0 * v.p * gases.R * v.room0 * tau), between(rng, 1.0, 200.0)))
        elif name == "seat":
            behind = v.p * rng.uniform(1.05, 1.5) if v.p < 1.8e7 else v.p * 1.1
            law = int(rng.choice([laws.LAMINAR, laws.HOLE]))
            gamma = 5.0 / 3.0 if v.gas in ("helium", "argon") else 1.4
            unit = abs(laws.shape(law, v.p, behind, v.room0, gamma))
            v = replace(v, seat_law=law, seat_beyond=behind, seat=size / S * permitted / unit)
            bench = replace(bench, vented=False)
        elif name == "outgassing":
            t0 = between(rng, 1.0, 30.0)
            given = 5.0 * ((v.hold + away + t0) ** 0.2 - (wait + away + t0) ** 0.2)
            v = replace(v, outgassing=(size / S * permitted * (v.hold - wait) / given, t0))
        elif name == "pulse":
            heat = size / (own["dp_dT"]) * _heat_of(v)
            when, long = rng.uniform(0.2, 1.0) * v.hold, between(rng, 8.0, 60.0)
            v = replace(v, pulse=(rng.choice([1.0, 1.0, -1.0]) * heat / (long * math.sqrt(math.pi)), when, long))
        elif name == "door":
            stated = bench.stated
            drift, cycle = stated.room_drift or DEFAULTS["room_drift"], stated.room_cycle or DEFAULTS["room_cycle"]
            bench = replace(
                bench,
                course=room_course(rng, v.begins, v.hold, drift, cycle, unsteady=True, door=rng.uniform(0.3, 2.0)),
            )
        else:
            tau, power = between(rng, *ranges.tau) * v.hold, rng.uniform(*ranges.recovering)
            faded = step_shift(np.array([wait + v.soak, v.hold + v.soak]), 1.0, tau, power)
            amount = min(size / max(faded[0] - faded[1], 1e-6), 5e-4 * abs(step) + 2.0 * S)
            shift = (float(rng.choice([-1.0, 1.0])) * amount, tau, power)
    return Added(names, v, shift), bench


def _heat_of(v: Vessel) -> float:
    """J/K of the wall."""
    geometry = {"slab": 1, "cylinder": 2, "sphere": 3}[v.shape]
    return v.wall[1] * v.volume * ((1.0 + 2.0 * v.thickness / v.bore) ** geometry - 1.0)


def record(part: str, seed: int, index: int, ranges: Ranges = USUAL) -> Record:
    """The record of that part, seed and index; draws that break the part's rule are drawn again in the same stream."""
    rng = np.random.default_rng([seed, PARTS.index(part), index])
    for _ in range(200):
        try:
            found = attempt(rng, part, index, ranges)
        except ArithmeticError:
            continue
        if found is not None:
            return found
    raise RuntimeError(f"no record of {part} in 200 draws")


def attempt(rng: np.random.Generator, part: str, index: int, ranges: Ranges = USUAL) -> Record | None:
    """One draw, or None where it breaks the rule of its part."""
    bench = drawn_bench(rng, part)
    still = trace_of(bench.vessel, bench.wait)
    watch = bench.vessel.hold - bench.wait
    terms = uncertainty(bench, abs(change(still, bench.wait)))
    u = math.sqrt(sum(x * x for x in terms.values()))
    factor = between(rng, 10.5, 100.0) if part == "clear-cut" else between(rng, 0.8, 20.0)
    own = sensitivities(bench.vessel)
    per_mol = gases.molar_mass(bench.vessel.gas) / (bench.vessel.volume * own["drho_dp"])  # Pa for one mol
    permitted = rounded(factor * u / (per_mol * watch), 3)
    S = permitted * per_mol * watch
    share = share_of_limit(rng, part, 10.0 * u <= S)
    if MOST_LIMIT * bench.vessel.p < S or share * S > MOST_LEAK * bench.vessel.p:
        return None
    added = Added((), bench.vessel)
    if part == "confounded":
        added, bench = confound(rng, bench, S, permitted, ranges)
    first, last = at_watch(still, still.leak_shape, bench.wait)
    if bench.vessel.law == laws.PERMEATION and not steeped(bench, (last - first) / watch, part):
        return None
    vessel = in_room(bench, replace(added.vessel, leak=share * permitted * watch / abs(last - first)))
    whole = trace_of(vessel, bench.wait)
    net = net_leak(vessel, whole, bench.wait)
    if part == "clear-cut" and not (abs(net) <= permitted / 3.0 or abs(net) >= 3.0 * permitted):
        return None
    truth = {
        "leak_mol_per_s": net, "permitted_mol_per_s": permitted, "S_Pa": S, "u_Pa": u, "u_parts_Pa": terms,
        "law": vessel.law, "confounders": added.names, "change_Pa": change(whole, bench.wait),
    }  # fmt: skip
    truth["parts_Pa"] = parts(bench, vessel, whole, bool(added.names))
    return seen(rng, part, index, bench, added, vessel, whole, truth)


def steeped(bench: Bench, flux: float, part: str) -> bool:
    """Whether a seal takes up so little any more that what leaves the gas is mostly what gets through."""
    through = bench.vessel.p - bench.vessel.beyond
    most = 1.5 if part == "clear-cut" else 3.0
    return through != 0.0 and 1.0 / most <= flux / through <= most


def net_leak(vessel: Vessel, trace: Trace, wait: float) -> float:
    """mol/s out, mean of the watch: leak and seat; what stays inside or comes off the wall does not count."""
    leak, seat = at_watch(trace, trace.leak_shape, wait), at_watch(trace, trace.seat_shape, wait)
    return (vessel.leak * (leak[1] - leak[0]) + vessel.seat * (seat[1] - seat[0])) / (vessel.hold - wait)


def parts(bench: Bench, vessel: Vessel, whole: Trace, added: bool) -> dict[str, float]:
    """Change of the true pressure during the watch: thermal (no leak, no confounder, true room), leak, and the rest."""
    bare = in_room(bench, replace(bench.vessel, pulse=vessel.pulse))
    thermal = without = change(trace_of(bare, bench.wait), bench.wait)
    if added:
        without = change(trace_of(replace(vessel, leak=0.0, seat=0.0), bench.wait), bench.wait)
    total = change(whole, bench.wait)
    return {"leak": total - without, "thermal": thermal, "other": without - thermal}


def seen(
    rng: np.random.Generator,
    part: str,
    index: int,
    bench: Bench,
    added: Added,
    vessel: Vessel,
    whole: Trace,
    truth: dict,
) -> Record:
    """What stands in the logger's file and what the user says about it."""
    t = stamps(rng, -bench.pre, vessel.hold, bench.logger)
    fine = np.unique(np.concatenate([t, whole.time[whole.time >= vessel.begins]]))
    pressure = np.empty(fine.size)
    before, after = whole.time <= 0.0, whole.time >= 0.0
    pressure[fine <= 0.0] = np.interp(fine[fine <= 0.0], whole.time[before], whole.p[before])
    pressure[fine > 0.0] = CubicSpline(whole.time[after], whole.p[after])(fine[fine > 0.0])
    stated = bench.stated
    span = vessel.hold + bench.pre
    total = float(np.clip(rng.normal(0.0, 0.5), -1.0, 1.0)) * stated.drift * span
    body = lagged(fine, bench.course.at(fine), between(rng, 200.0, 2000.0))
    shift = float(np.clip(rng.normal(0.0, 0.5), -1.0, 1.0)) * stated.zero_shift * body
    weather_drift = DEFAULTS["barometer_drift"] if stated.barometer_drift is None else stated.barometer_drift
    weather = barometer_walk(rng, fine, weather_drift)
    shown = pressure + sensor_drift(fine + bench.pre, span, total) + shift
    shown += step_shift(fine + vessel.soak, *added.step)
    if bench.gauge:
        shown -= bench.barometer + weather - weather[np.searchsorted(fine, 0.0)]
    where = np.searchsorted(fine, t)
    reading = read_pressure(rng, t, np.interp(t, fine, shown), bench.logger)
    temperature = None
    if bench.thermometer is not None:
        wall = np.interp(fine, whole.time, whole.wall_T[:, -1])
        around = vessel.room0 + bench.course.at(fine)
        temperature = read_temperature(rng, fine, wall, around, bench.thermometer)[where]
    zero = int(np.searchsorted(whole.time, 0.0))
    told = {
        "vessel": vessel, "course": bench.course, "gas_T": float(whole.gas_T[zero] @ whole.shares),
        "wall_T": whole.wall_T[zero], "gauge": bench.gauge, "body_T": float(whole.body_T[zero]),
    }  # fmt: skip
    about = told_by_user(rng, bench, vessel, truth["permitted_mol_per_s"])
    return Record(part, index, t + bench.pre, reading, temperature, about, truth, told)


def told_by_user(rng: np.random.Generator, bench: Bench, vessel: Vessel, permitted: float) -> dict[str, Any]:
    """The about-file as a plain dictionary, SI; `spreads` holds standard deviations; keys left out are absent."""
    stated = bench.stated
    about: dict[str, Any] = {
        "gas": vessel.gas, "capacity": bench.capacity, "spreads": {"capacity": bench.capacity_sd},
        "reading": "gauge" if bench.gauge else "absolute", "permitted_leak": permitted, "limit_law": "none",
        "isolated_at": bench.pre, "watch_from": bench.pre + bench.wait, "watch_until": bench.pre + vessel.hold,
        "supply": "vented" if bench.vented else vessel.seat_beyond if vessel.seat_law else vessel.supply,
        "outlet": "room", "port": "device",
        "sensor": {key: getattr(stated, key) for key in ("noise", "resolution", "drift", "zero_shift")},
    }  # fmt: skip
    about["barometer"] = bench.barometer + rng.normal(0.0, 30.0)
    if stated.barometer_drift is not None:
        about["barometer_drift"] = stated.barometer_drift
    if rng.uniform() < 0.8:
        about |= {
            "came_from": rounded(vessel.came_from, 3),
            "moved_in": rounded(vessel.move),
            "soak": rounded(vessel.soak),
        }
    if bench.about_wall is not None:
        about["wall"] = dict(bench.about_wall)
    if stated.room_drift is not None and stated.room_cycle is not None:
        about["room"] = {"drift": stated.room_drift, "cycle": stated.room_cycle}
    if bench.thermometer_about is not None:
        about["temperature"] = dict(bench.thermometer_about)
    return about
