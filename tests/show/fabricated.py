"""Made-up answers of `settle`: plausible in shape, exact in nothing, quick to make."""

from dataclasses import dataclass, replace

import numpy as np

from simcal.analysis.settle.result import (
    Authority,
    Cycle,
    DeviceResult,
    Group,
    Groups,
    Influence,
    Margins,
    PointResult,
    PointTrace,
    RunTrace,
    SettleResult,
    Trials,
)
from simcal.show.scales import Setting

ROOM = 101325.0
METHOD = "isentropic expansion of the real gas from the highest pressure to the room, all volumes and lines"


@dataclass(frozen=True)
class Assumed:
    """The same three words as a bench's list of assumptions."""

    key: str
    value: str
    why: str


def percents(count: int) -> list[float]:
    """Up and down again in even steps; one point alone is full scale."""
    if count == 1:
        return [100.0]
    half = (count + 1) // 2
    up = list(np.linspace(0.0, 100.0, half))
    return (up + up[::-1][1:])[:count]


def settled(
    count: int = 9,
    devices: tuple[str, ...] = ("one",),
    full_scale: float = 20e5,
    trials: int = 0,
    mode: str = "held",
    gauge: bool = True,
) -> SettleResult:
    """One answer of `count` points on `devices`; the first device governs."""
    zero = ROOM if gauge else 0.0
    targets = [zero + full_scale * p / 100.0 for p in percents(count)]
    allowance = full_scale * 1e-4
    points, zooms, start, before = [], [], 0.0, ROOM
    for number, (target, percent) in enumerate(zip(targets, percents(count), strict=True), 1):
        vent = gauge and percent == 0.0
        zoom = _zoom(number, before, target, devices, allowance, full_scale)
        point = _point(number, percent, start, before, target, devices, allowance, "vent" if vent else mode, zoom)
        points.append(
            replace(point, dwell_low_s=0.8 * point.dwell_s, dwell_high_s=1.3 * point.dwell_s) if trials else point
        )
        zooms.append(zoom)
        start, before = start + point.end_s, target
    return SettleResult(
        bench="six bar, hard piped",
        sequence="up_down",
        device=devices[0],
        reference="reference",
        points=tuple(points),
        total_s=start,
        gas_used_kg=0.0123,
        stored_energy_J=312.0,
        stored_energy_method=METHOD,
        seed=1,
        version="0.1.0",
        assumed=(Assumed("volume.port.wall", "steel cylinder, bore 40 mm, thickness 3 mm", "no wall was given"),),
        violations=(),
        highest_Pa=max(p.peak_Pa for p in points),
        trials=_trials(trials, points) if trials else None,
        trace=_run(points, zooms, devices),
        zooms=tuple(zooms),
    )


def setting(gauge: bool = True, gas: str = "nitrogen", unit: str | None = "bar") -> Setting:
    """What goes with it of the bench."""
    return Setting(gas=gas, room_Pa=ROOM, gauge=gauge, unit=unit)


def bare(result: SettleResult) -> SettleResult:
    """The same answer with nothing known beyond its first point: no allowance, no error, no margins, ended early."""
    first = result.points[0]
    nothing = {"allowance_Pa": 0.0, "error_parts_Pa": {}, "peak_rate_Pa_per_s": 0.0}
    seen = {name: replace(d, **nothing, error_at_reading_Pa=None) for name, d in first.devices.items()}
    point = replace(
        first,
        **nothing,
        devices=seen,
        nearness_Pa=0.0,
        margins=None,
        step_Pa=0.0,
        make_up_mol_per_s=None,
        error_at_reading_Pa=None,
        reached=False,
        ready_s=None,
        dwell_s=None,
        arrival_s=None,
        reason="the gas left its table",
    )
    zoom = result.zooms[0]
    still = replace(zoom, error_Pa={name: 0.0 * e for name, e in zoom.error_Pa.items()}, random_Pa=0.0)
    return replace(result, points=(point,), zooms=(still,), reached_end=False, total_s=0.0)


def grouped(result: SettleResult) -> SettleResult:
    """The same answer with its table in two dwells."""
    low, high = min(p.target_Pa for p in result.points), max(p.target_Pa for p in result.points)
    ups = tuple(p.number for p in result.points if p.direction == "up")
    downs = tuple(p.number for p in result.points if p.direction == "down")
    made = [Group(d, low, high, dwell, n) for d, dwell, n in (("up", 12.0, ups), ("down", 15.0, downs)) if n]
    return replace(result, groups=Groups(tuple(made), result.total_s + 40.0, 40.0, 0.93))


def troubled(result: SettleResult) -> SettleResult:
    """The same answer with a limit broken, a point void, one not reached, one that hunts."""
    bad = "highest pressure of one (21 bar gauge) exceeded at point 2: peak 21.4 bar gauge"
    points = list(result.points)
    points[1] = replace(
        points[1],
        void="overshot the device against the run; lower the rate",
        violations=(bad,),
        reason="void: overshot the device against the run's direction; lower the rate",
    )
    points[2] = replace(
        points[2],
        reached=False,
        reason="the supply is too low for this setpoint",
        arrival_s=None,
        dwell_s=None,
        ready_s=None,
        error_at_reading_Pa=None,
        error_parts_Pa={},
        limited_by=None,
        make_up_mol_per_s=None,
        margins=None,
    )
    points[3] = replace(points[3], cycle=Cycle(40.0, 0.45, 0.2, 35.0, 0.18, "dead band", ("a valve without one",)))
    lost = Authority(1e-4, 1e-6, 1e4, 10.0, 1.0, 0.01, -1e-5, 12.0, "outlet near the room's pressure")
    points[3] = replace(points[3], authority=lost)
    return replace(result, points=tuple(points), violations=(bad,), notes=("the drive is quantised",))


def _zoom(
    number: int, before: float, target: float, devices: tuple[str, ...], allowance: float, span: float
) -> PointTrace:
    step = target - before
    time = np.concatenate([np.linspace(0.0, 5.0, 400), np.linspace(5.05, 40.0, 300)])
    reference = target - step * np.exp(-time / 0.9) * (1.0 + 0.2 * time)
    rate = step * 0.9 * np.exp(-time / 0.9) * 0.05
    line = step * 2e-3 * np.exp(-time / 6.0) + 0.02 * allowance
    leak = np.full_like(time, -0.03 * allowance)
    error = {name: (line + leak + rate) * (1.0 - 0.2 * i) for i, name in enumerate(devices)}
    return PointTrace(
        number=number,
        time_s=time,
        reference_Pa=reference,
        device_Pa={name: reference + e for name, e in error.items()},
        error_Pa=error,
        parts_Pa={"line": line, "rate": rate, "leak": leak},
        random_Pa=0.05 * allowance,
        drive=np.clip(step / span * np.exp(-time), -1.0, 1.0),
    )


def _point(
    number: int,
    percent: float,
    start: float,
    before: float,
    target: float,
    devices: tuple[str, ...],
    allowance: float,
    mode: str,
    zoom: PointTrace,
) -> PointResult:
    step = target - before
    nearness = max(0.01 * abs(step), allowance)
    arrival = _last(zoom.time_s, np.abs(zoom.reference_Pa - target) > nearness)
    ready = max(_last(zoom.time_s, np.abs(zoom.error_Pa[devices[0]]) + zoom.random_Pa > allowance), arrival)
    last = int(np.searchsorted(zoom.time_s, ready))
    parts = {name: float(values[last]) for name, values in zoom.parts_Pa.items()}
    peak = max(before, target) + 0.002 * abs(step)
    shared = {
        "device_effect_Pa": 3.0,
        "head_Pa": -11.3,
        "allowance_Pa": allowance,
        "peak_Pa": peak,
        "overshoot_Pa": 0.002 * abs(step),
        "peak_rate_Pa_per_s": 0.4 * abs(step) + 1.0,
    }
    all_parts = {**parts, "ripple": zoom.random_Pa, "sensor": 0.0}
    seen = {
        name: DeviceResult(name, float(zoom.error_Pa[name][last]), all_parts, zoom.random_Pa, ready_s=ready, **shared)
        for name in devices
    }
    return PointResult(
        device=devices[0],
        target_Pa=target,
        direction="up" if step >= 0.0 else "down",
        mode=mode,
        reached=True,
        reason=None,
        arrival_s=arrival,
        dwell_s=ready - arrival,
        ready_s=ready,
        latest_s=ready + 600.0 if mode == "isolated" else None,
        dwell_low_s=None,
        dwell_high_s=None,
        limited_by="line" if number % 2 else "rate",
        error_at_reading_Pa=seen[devices[0]].error_at_reading_Pa,
        error_parts_Pa=all_parts,
        make_up_mol_per_s=2.1e-6,
        devices=seen,
        number=number,
        percent=percent,
        start_s=start,
        window_s=1.0,
        nearness_Pa=nearness,
        step_Pa=step,
        shut_s=arrival + 1.0 if mode == "isolated" else None,
        margins=None if mode == "vent" else Margins(2.0 + 0.1 * percent / 10.0, 50.0 - percent / 5.0, 0.04, 1.6),
        **shared,
    )


def _last(time: np.ndarray, outside: np.ndarray) -> float:
    places = np.flatnonzero(outside)
    return float(time[min(places[-1] + 1, time.size - 1)]) if places.size else 0.0


def _run(points: list[PointResult], zooms: list[PointTrace], devices: tuple[str, ...]) -> RunTrace:
    pieces = [(p, z, z.time_s < p.end_s) for p, z in zip(points, zooms, strict=True)]
    return RunTrace(
        time_s=np.concatenate([p.start_s + z.time_s[k] for p, z, k in pieces]),
        setpoint_Pa=np.concatenate([np.full(int(k.sum()), p.target_Pa) for p, _, k in pieces]),
        reference_Pa=np.concatenate([z.reference_Pa[k] for _, z, k in pieces]),
        device_Pa={n: np.concatenate([z.device_Pa[n][k] for _, z, k in pieces]) for n in devices},
        drive=np.concatenate([z.drive[k] for _, z, k in pieces]),
    )


def _trials(count: int, points: list[PointResult]) -> Trials:
    random = np.random.default_rng(7)
    dwell = np.array([[p.dwell_s * factor for p in points] for factor in random.lognormal(0.0, 0.15, count)])
    influence = (Influence("volume.port.wall.film_factor", 0.62), Influence("volume.port.capacity", 0.21))
    return Trials(count, 0.9 * sum(p.end_s for p in points), 1.2 * sum(p.end_s for p in points), 0, influence, dwell)
