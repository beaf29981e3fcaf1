"""The record of a simulated hold as a logger's file, and the about-file beside it.

The about-file says what somebody at the bench would know: what the bench file states, not what was drawn.
"""

import io
import math
from collections.abc import Callable

from simcal.analysis.hold.result import HoldResult
from simcal.bench.bench import Bench
from simcal.bench.reach import isolated_with
from simcal.show.level_units import level_unit, unit_in
from simcal.show.words import PRESSURE_UNITS

RECORD, ABOUT = "record.csv", "record.toml"
FIGURES = 10
"""of a number in the about-file; of a pressure in the record as many as the reading needs to be found again"""


def record_csv(result: HoldResult) -> bytes:
    """time_s, pressure_Pa and, with a thermometer, temperature_K; one row a reading."""
    rows, made = result.rows, io.StringIO()
    columns = [[f"{t:.10g}" for t in rows.time_s], [f"{p:.10g}" for p in rows.pressure_Pa]]
    if rows.temperature_K is not None:
        columns.append([f"{k:.7g}" for k in rows.temperature_K])
    made.write(",".join(["time_s", "pressure_Pa", "temperature_K"][: len(columns)]) + "\n")
    made.writelines(",".join(cells) + "\n" for cells in zip(*columns, strict=True))
    return made.getvalue().encode("ascii")


def about_toml(
    result: HoldResult, bench: Bench, permitted: str | None = None, record: str = RECORD, hold_set: str | None = None
) -> bytes:
    """The about-file of the record. permitted: the leak limit as the user wrote it, at the pressure of the hold."""
    plan = result.plan
    capacity, spread = isolated_capacity(bench, plan.sensor)
    unit = level_unit([plan.pressure_Pa], unit_in(bench.texts))

    def at(pressure: float) -> str:
        return f"{_number(pressure / PRESSURE_UNITS[unit])} {unit} abs"

    lines = [
        f"# What is known about {record}: a hold that simcal simulated (seed {result.seed}).",
        'schema = "simcal/about/1"',
        f'gas = "{bench.gas}"',
        f'capacity = "{_number(capacity * 1e6)} cm3{_plus_minus(100.0 * spread / capacity)}"',
        f'reading = "{result.reading}"',
        f'barometer = "{_number(bench.room.barometer / 100.0)} hPa abs"',
        *_size("barometer_drift", bench, "room.barometer_drift", 3600.0, "Pa/h"),
        f'isolated_at = "{_number(result.isolated_at_s)} s"',
        f'watch_from = "{_number(result.watch_from_s)} s"',
        f'watch_until = "{_number(result.watch_until_s)} s"',
        f'came_from = "{at(plan.start_Pa)}"',
        f'moved_in = "{_number(result.moved_in_s)} s"',
        f'soak = "{_number(plan.soak_s)} s"',
        f'supply = "{at(bench.supply.pressure)}"',
        *_outlet(bench, at),
        f'port = "{"device" if bench.devices else "plugged"}"',
        *([] if permitted is None else [f'permitted_leak = "{permitted}"', f'limit_at = "{at(plan.pressure_Pa)}"']),
        *([] if hold_set is None else [f'hold_set = "{hold_set}"']),
        *_wall(bench, plan.sensor),
        f"sensor = {{ {_sensor(bench, plan.sensor)} }}",
        f"room = {{ {_room(bench)} }}",
        *_temperature(bench),
    ]
    return ("\n".join(lines) + "\n").encode("utf-8")


def isolated_capacity(bench: Bench, sensor: str) -> tuple[float, float]:
    """Everything between the closed valves as the bench file states it, and its standard deviation, m3.

    A pocket that only a leak reaches is not part of it: nobody at the bench knows of it.
    """
    total, variance, inside = 0.0, 0.0, isolated_with(bench, bench.sensors[sensor].at)
    for name in inside:
        spread = bench.spreads.get(f"volume.{name}.capacity")
        total += bench.volumes[name].capacity
        variance += (spread.sd if spread else 0.0) ** 2
    for name, line in bench.lines.items():
        if not set(line.between) <= inside:
            continue
        gas = 0.25 * math.pi * line.bore**2 * line.length
        bore, length = (bench.spreads.get(f"line.{name}.{key}") for key in ("bore", "length"))
        total += gas
        variance += (2.0 * gas * (bore.sd if bore else 0.0) / line.bore) ** 2
        variance += (gas * (length.sd if length else 0.0) / line.length) ** 2
    return total, math.sqrt(variance)


def _number(value: float) -> str:
    return f"{value:.{FIGURES}g}"


def _plus_minus(percent: float) -> str:
    return f" +- {percent:.3g} %" if percent > 0.0 else ""


def _size(key: str, bench: Bench, dotted: str, factor: float, unit: str) -> list[str]:
    """A size of unknown sign as it was stated: twice the standard deviation that stands for it."""
    spread = bench.spreads.get(dotted)
    return [f'{key} = "{_number(2.0 * spread.sd * factor)} {unit}"'] if spread and spread.sd > 0.0 else []


def _outlet(bench: Bench, at: Callable[[float], str]) -> list[str]:
    exhaust = bench.exhaust.pressure
    room = exhaust == 0.0 or math.isclose(exhaust, bench.room.barometer)
    return ['outlet = "room"' if room else f'outlet = "{at(exhaust)}"']


def _wall(bench: Bench, sensor: str) -> list[str]:
    """The wall of the volume that holds most of the gas, as far as the bench file states it."""
    inside = isolated_with(bench, bench.sensors[sensor].at)
    name = max(inside, key=lambda one: (bench.volumes[one].capacity, one))
    wall, place, assumed = bench.volumes[name].wall, f"volume.{name}.wall", {one.key for one in bench.assumed}
    if place in assumed:
        return []
    stated = {"material": f'"{wall.material}"', "shape": f'"{wall.shape}"'}
    stated |= {key: f'"{_number(getattr(wall, key) * 1e3)} mm"' for key in ("bore", "thickness")}
    for key, value in (("film", wall.film), ("outside", wall.outside)):
        if value is not None:
            stated[key] = f'"{_number(value)} W/(m2 K)"'
    known = [f"{key} = {text}" for key, text in stated.items() if f"{place}.{key}" not in assumed]
    return [f"wall = {{ {', '.join(known)} }}"]


def _sensor(bench: Bench, name: str) -> str:
    one = bench.sensors[name]
    known = [f'noise = "{_number(one.noise)} Pa"', f'resolution = "{_number(one.resolution)} Pa"']
    known += _size("drift", bench, f"sensor.{name}.drift", 3600.0, "Pa/h") or ['drift = "0 Pa/h"']
    known += _size("zero_shift", bench, f"sensor.{name}.zero_shift", 1.0, "Pa/K") or ['zero_shift = "0 Pa/K"']
    return ", ".join(known)


def _room(bench: Bench) -> str:
    known = [f'temperature = "{_number(bench.room.temperature)} K"']
    known += _size("drift", bench, "room.drift", 3600.0, "K/h") or ['drift = "0 K/h"']
    if bench.room.ramp != 0.0:
        known.append(f'ramp = "{_number(bench.room.ramp * 3600.0)} K/h"')
    known.append(f'cycle = "{_number(bench.room.cycle)} K"')
    if bench.room.cycle > 0.0:
        known.append(f'cycle_period = "{_number(bench.room.cycle_period)} s"')
    return ", ".join(known)


def _temperature(bench: Bench) -> list[str]:
    one = bench.thermometer
    if one is None:
        return []
    lag, accuracy = f"{_number(one.lag)} s", f"{_number(one.accuracy)} K"
    return [f'temperature = {{ column = "temperature_K", of = "wall", lag = "{lag}", accuracy = "{accuracy}" }}']
