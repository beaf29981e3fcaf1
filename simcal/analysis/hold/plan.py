"""What is to be done in a hold: pressures, times, the sensor that is logged; checked against the bench's limits."""

import math
from dataclasses import dataclass

from simcal.bench.bench import Bench
from simcal.bench.values import Level
from simcal.errors import InputError
from simcal.units import pressure_text

BELOW, ABOVE = "below", "above"
SUPPLY_SHARE = 0.95
"""of the supply's pressure that the controller may be asked for"""
ABOVE_SHARE, BELOW_SHARE, LEAST_SHARE = 1.5, 0.5, 0.05
"""of the pressure: where the last move begins when the room's pressure is not on that side; how far off it has to be"""
CLEAR_SHARE = 0.98
"""of what the bench allows, that such a detour stays below, for the controller's overshoot"""
LEAST_PRESSURE, SLACK = 1e3, 1e-9
"""Pa abs, below which nothing is simulated; rounding"""
ROWS = 600
"""rows of the watch that a record has by default, about"""


@dataclass(frozen=True)
class Plan:
    """One hold. Pressures Pa absolute, times s; start_Pa: where the pressure comes from; every_s: between two rows."""

    sensor: str
    pressure_Pa: float
    start_Pa: float
    direction: str
    soak_s: float
    wait_s: float
    watch_s: float
    every_s: float


def plan(
    bench: Bench, pressure: Level | None, soak_s: float, wait_s: float, watch_s: float, direction: str,
    every_s: float | None, sensor: str | None,
) -> Plan:  # fmt: skip
    """The hold asked for.

    pressure: None takes the only device's full scale; every_s: None gives about `ROWS` rows to the watch. Times become
    whole samples of the controller, the watch a whole number of rows.

    Raises:
        InputError: no such sensor, no pressure, one that the bench must not or cannot reach, times that cannot be.
    """
    name = sensor or bench.controller.reads
    if name not in bench.sensors:
        known = ", ".join(bench.sensors)
        raise InputError("command line", "--sensor", f'no sensor "{name}"', f"one of: {known}")
    asked = _full_scale(bench) if pressure is None else pressure
    target, floor, ceiling = asked.absolute(bench.room.barometer), lowest(bench), highest(bench)
    if not floor < target <= ceiling * (1.0 + SLACK) or target < LEAST_PRESSURE:
        found = f"{pressure_text(target, 'abs')} is out of reach"
        low, high = pressure_text(max(floor, LEAST_PRESSURE), "abs"), pressure_text(ceiling, "abs")
        raise InputError("command line", "--pressure", found, f"more than {low}, at most {high}")
    period = bench.controller.period
    every = max(_whole(_every(watch_s) if every_s is None else every_s, period), period)
    rows = math.floor(watch_s / every * (1.0 + SLACK))
    if rows < 1 or soak_s < 0.0 or wait_s < 0.0:
        found = f"{watch_s:g} s holds no row, one every {every:g} s"
        raise InputError("command line", "--watch", found, "a longer watch or a shorter --every; no time below 0 s")
    return Plan(
        sensor=name,
        pressure_Pa=target,
        start_Pa=_start(bench, target, direction),
        direction=direction,
        soak_s=_whole(soak_s, period),
        wait_s=_whole(wait_s, period),
        watch_s=rows * every,
        every_s=every,
    )


def highest(bench: Bench) -> float:
    """The highest pressure that nothing on the bench forbids, Pa abs: ranges, stated limits, the supply."""
    room = bench.room.barometer
    ranges = [one.range.absolute(one.range.high, room) for one in bench.sensors.values()]
    for device in bench.devices.values():
        ranges.append(device.range.absolute(device.range.high, room))
        if device.highest is not None:
            ranges.append(device.highest.absolute(room))
    return min(*ranges, SUPPLY_SHARE * bench.supply.pressure)


def lowest(bench: Bench) -> float:
    """The pressure that a hold has to be above, Pa abs: where the outlet leads, and the sensors' ranges."""
    room = bench.room.barometer
    ranges = [one.range.absolute(one.range.low, room) for one in bench.sensors.values()]
    return max(*ranges, bench.exhaust.pressure or room)


def _full_scale(bench: Bench) -> Level:
    if len(bench.devices) != 1:
        found = f"{len(bench.devices)} devices, so no full scale to hold at"
        raise InputError("command line", "--pressure", found, 'state it, like --pressure "5 bar gauge"')
    only = next(iter(bench.devices.values()))
    full = Level(only.range.high, only.range.gauge)
    ceiling = highest(bench)
    return full if full.absolute(bench.room.barometer) <= ceiling else Level(ceiling, False)


def _start(bench: Bench, target: float, direction: str) -> float:
    """Where the last move begins, Pa abs: the room's pressure where it lies on that side, else a detour's end."""
    room = bench.room.barometer
    if direction == BELOW:
        start = room if target >= room else max(BELOW_SHARE * target, lowest(bench), LEAST_PRESSURE)
        clear = target >= room or start * (1.0 + LEAST_SHARE) <= target
        right = "--from above, or a higher --pressure"
    elif direction == ABOVE:
        outward = room if target * (1.0 + LEAST_SHARE) <= room else ABOVE_SHARE * target
        start = min(CLEAR_SHARE * highest(bench), outward)
        clear = start >= target * (1.0 + LEAST_SHARE)
        right = f"a --pressure of at most {pressure_text(CLEAR_SHARE * highest(bench) / (1.0 + LEAST_SHARE), 'abs')}"
    else:
        raise InputError("command line", "--from", f'"{direction}"', f"{BELOW} or {ABOVE}")
    if not clear:
        found = f"from {direction}, but the bench may not go far enough {direction} {pressure_text(target, 'abs')}"
        raise InputError("command line", "--from", found, right)
    return start


def _whole(time: float, period: float) -> float:
    return round(time / period) * period


def _every(watch: float) -> float:
    """A plain interval with which the watch has about `ROWS` rows, s: 1, 2 or 5 times a power of ten."""
    time = max(watch, 1e-6) / ROWS
    power = 10.0 ** math.floor(math.log10(time))
    return next(step * power for step in (5.0, 2.0, 1.0) if step * power <= time * (1.0 + SLACK))
