"""From a record and what the user said about it to the judge's own view; what was not said gets a wide default."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.judge.case import Case, Sheet, Thermometer, Wall
from simcal.analysis.judge.shapes import law_flow
from simcal.bench.about import PRESSURE_RATE, About
from simcal.bench.record import Record
from simcal.bench.values import Assumed, Level
from simcal.errors import InputError
from simcal.physics import gas
from simcal.physics.stated import limit_factor
from simcal.tables import gas as gas_tables
from simcal.tables import materials

Vector = NDArray[np.float64]

FEWEST = 8
"""rows since the valves shut that can be judged"""
STANDARD, ROOM_T = 101325.0, 293.15
ROOM_T_SD = 3.0
NO_CAPACITY = 100e-6
"""m3, to work with where nobody said one; no rate is given then"""
CAPACITY_SPREAD = 0.05
"""of a capacity that is stated without one [common practice, no source]"""
FACTOR_TWO = 0.35
"""standard deviation of a logarithm that is known within a factor of two"""
DRIFT, ZERO_SHIFT = 2e-5 / 3600.0, 5e-6
"""of the pressure, per s and per K, standard deviations of a sensor nobody described"""
ROOM_RAMP, ROOM_CYCLE, BAROMETER_DRIFT = 0.5 / 3600.0, 0.1, 50.0 / 3600.0
PAST_POINTS = 40
MOVED_IN, SOAK = 8.0, 15.0
"""s, where the pressure before is stated but not the times"""
STEADY = 0.02
"""of the pressure: a past that moved less says nothing of the move"""


class Said:
    """Collects what had to be assumed."""

    def __init__(self, about: About) -> None:
        self.about = about
        self.assumed: list[Assumed] = list(about.assumed)

    def assume(self, key: str, value: str, why: str) -> None:
        """Note a value nobody stated."""
        self.assumed.append(Assumed(key, value, why))

    def size(self, key: str, stated: float | None, default: float, value: str, why: str) -> float:
        """Standard deviation of a size of unknown sign, the default where it is not stated."""
        if stated is None:
            self.assume(key, value, why)
            return default
        spread = self.about.spreads.get(key)
        return spread.sd if spread is not None else abs(stated)


def case(record: Record, about: About) -> tuple[Case, float]:
    """The case, and the record's time at which the valves shut, s.

    Raises InputError where the record and what is said of it do not go together.
    """
    said = Said(about)
    reading = about.reading or record.reference
    if reading is None:
        raise InputError(about.file, "reading", "missing", 'reading = "gauge" or "absolute": it is never guessed')
    if about.isolated_at is None:
        raise InputError(about.file, "isolated_at", "missing", 'when the valves shut: isolated_at = "30 s"')
    shut = moment(record, about, "isolated_at")
    time, pressure, warm = _segment(record, shut)
    start = moment(record, about, "watch_from") if about.watch_from is not None else shut
    end = moment(record, about, "watch_until") if about.watch_until is not None else float(time[-1])
    end = min(end, float(time[-1]))
    if not shut <= start < end:
        found = f"a watch from {start:.6g} s to {end:.6g} s, isolated at {shut:.6g} s"
        raise InputError(about.file, "watch_from", found, "a watch after the valves shut and inside the record")
    barometer = about.barometer
    if barometer is None:
        barometer = STANDARD
        if reading == "gauge":
            said.assume("barometer", "101325 Pa", "standard atmosphere; a level some per cent off moves a rate little")
    absolute = pressure + barometer if reading == "gauge" else pressure
    inside = (time >= shut) & (time <= end)
    if inside.sum() < FEWEST:
        found = f"{int(inside.sum())} rows between the valves' shutting and the end of the watch"
        raise InputError(record.name, "isolated_at", found, f"at least {FEWEST} rows")
    _refuse_still(record, about, absolute[time >= shut])
    if not float(absolute[inside].min()) > 0.0:
        raise InputError(record.name, "pressure", "a pressure at or below vacuum", 'is it "gauge"?')
    p_mean = float(absolute[(time >= start) & (time <= end)].mean())
    table, name, volume, volume_sd = _gas_and_volume(said)
    room = _room_temperature(said)
    if not (gas.density(table, float(absolute[inside].max()), room) > 0.0):
        raise InputError(record.name, "pressure", f"{absolute[inside].max():.4g} Pa", "a pressure inside the gas table")
    past, rested, past_sd = _past(said, time - shut, absolute, barometer)
    sheet = _sheet(said, record, p_mean)
    view = Case(
        time=time[inside] - shut,
        pressure=absolute[inside],
        watch=(start - shut, end - shut),
        table=table,
        gas=name,
        volume=volume,
        volume_sd=math.hypot(volume_sd, ROOM_T_SD / room if _room_said(about) is None else 0.0),
        room=room,
        wall=_wall(said, volume),
        sheet=sheet,
        past=past,
        past_rested=rested,
        past_sd=past_sd,
        gauge=reading == "gauge",
        barometer=barometer,
        barometer_drift=said.size(
            "barometer_drift", about.barometer_drift, BAROMETER_DRIFT, "1 hPa/h", "ordinary weather"
        )
        if reading == "gauge"
        else 0.0,
        thermometer=_thermometer(said, time - shut, warm),
        rate_known=about.gas is not None and about.capacity is not None,
        supply=_supply(about, barometer),
        port=about.port,
        rating=about.rating.absolute(barometer) if about.rating is not None else None,
    )
    if about.permitted_leak is not None and about.permitted_leak.form == PRESSURE_RATE and view.volume_sd > 0.0:
        # rate and limit are the same factor times a fall of pressure: which falls faster does not hang on it
        why = "the limit is a fall of pressure: rate and limit go alike with the capacity, its spread cancels"
        said.assume("capacity", "as stated, for rate and limit", why)
        view = replace(view, volume_sd=0.0)
    view = _with_room(said, view)
    view = replace(view, permitted=_permitted(said, view, p_mean))
    return replace(view, assumed=tuple(said.assumed)), shut


def _refuse_still(record: Record, about: About, isolated: Vector) -> None:
    """Refuse one value all along where nobody stated the step: all that follows hangs on how much it can hide."""
    stated = about.sensor.resolution if about.sensor is not None else None
    if stated is None and len(isolated) and isolated.min() == isolated.max():
        found = "the reading never changes once the valves are shut: the logger hung, or its step hides the change"
        raise InputError(record.name, "pressure", found, 'if it was alive, state its step: sensor.resolution = "1 kPa"')


def moment(record: Record, about: About, key: str) -> float:
    """A time that the about-file states under that key, on the record's clock, s."""
    try:
        return record.elapsed(getattr(about, key))
    except ValueError as error:
        raise InputError(about.file, key, str(error), "a time in seconds of the record") from error


def _segment(record: Record, shut: float) -> tuple[Vector, Vector, Vector | None]:
    """The rows between restarts that hold the isolation: time, pressure, temperature."""
    spans = record.segments or ((0, len(record.time_s) - 1),)
    holding = [(a, b) for a, b in spans if record.time_s[a] <= shut + 1e-9 and record.time_s[b] > shut]
    if not holding:
        first, last = float(record.time_s[0]), float(record.time_s[-1])
        found = f"{shut:.6g} s, but the record goes from {first:.6g} s to {last:.6g} s"
        if first > shut and first - shut < last - first:  # shut before the logger began: what follows is isolated
            holding = [max(spans, key=lambda span: span[1] - span[0])]
        else:
            raise InputError(record.name, "isolated_at", found, "a time inside the record")
    a, b = max(holding, key=lambda span: span[1] - span[0])
    rows = a + np.flatnonzero(~record.hung()[a : b + 1])
    warm = None if record.temperature_K is None else record.temperature_K[rows]
    return record.time_s[rows], record.pressure_Pa[rows], warm


def _gas_and_volume(said: Said) -> tuple[gas_tables.GasTable, str, float, float]:
    about = said.about
    name = about.gas or "nitrogen"
    if about.gas is None:
        said.assume("gas", name, "for the thermal curve only; no rate is given without a gas")
    if about.capacity is None:
        said.assume("capacity", "100 cm3", "for the thermal curve only; no rate is given without a capacity")
        return gas_tables.load(name), name, NO_CAPACITY, 1.0
    spread = about.spreads.get("capacity")
    if spread is not None:
        return gas_tables.load(name), name, about.capacity, spread.sd / about.capacity
    cancels = about.permitted_leak is not None and about.permitted_leak.form == PRESSURE_RATE
    if about.gas is not None and not cancels:
        value = f"{about.capacity * 1e6:.4g} cm3 +- {CAPACITY_SPREAD * 100.0:g} %"
        said.assume("capacity", value, "no spread was stated; common practice, no source")
    return gas_tables.load(name), name, about.capacity, CAPACITY_SPREAD


def _room_said(about: About) -> float | None:
    return about.room.temperature if about.room is not None else None


def _room_temperature(said: Said) -> float:
    stated = _room_said(said.about)
    if stated is None:
        said.assume("room.temperature", "20 degC +- 3 K", "an ordinary measuring room")
        return ROOM_T
    return stated


def _with_room(said: Said, view: Case) -> Case:
    room = said.about.room
    drift, cycle = (room.drift, room.cycle) if room is not None else (None, None)
    ramp = said.size("room.drift", drift, ROOM_RAMP, "1 K/h, sign unknown", "an ordinary room")
    if cycle is None:
        said.assume("room.cycle", "0.1 K", "an ordinary room")
        cycle = ROOM_CYCLE
    trend = room.ramp if room is not None and room.ramp is not None else 0.0
    period = room.cycle_period if room is not None else None
    return replace(view, room_ramp=ramp, room_cycle=cycle, room_trend=trend, room_period=period)


def _wall(said: Said, volume: float) -> Wall:
    stated = said.about.wall
    shape = (stated.shape if stated is not None else None) or "cylinder"
    name = (stated.material if stated is not None else None) or "steel"
    bore = stated.bore if stated is not None else None
    thickness = stated.thickness if stated is not None else None
    material = materials.find(name)
    unknown: list[str] = []
    film_sd, capacity_sd = 0.16, 0.0196
    if bore is None:
        bore = (2.0 * volume / math.pi) ** (1.0 / 3.0)
        film_sd, unknown = film_sd + FACTOR_TWO**2, [*unknown, f"bore {bore * 1e3:.3g} mm"]
        capacity_sd += 0.5 * FACTOR_TWO**2
    if thickness is None:
        thickness, capacity_sd, unknown = 3e-3, capacity_sd + (2.0 * FACTOR_TWO) ** 2, [*unknown, "3 mm thick"]
    if stated is None or stated.material is None:
        capacity_sd, unknown = capacity_sd + 0.1, [*unknown, "steel"]
    if unknown:
        said.assume("wall", ", ".join(unknown) + ", within a factor of two", "a usual vessel of that capacity")
    outside = stated.outside if stated is not None else None
    film = stated.film if stated is not None else None
    return Wall(
        shape=shape,
        bore=bore,
        thickness=thickness,
        density=material.density,
        specific_heat=material.specific_heat,
        conductivity=material.conductivity,
        film=film,
        outside=outside,
        film_sd=math.sqrt(film_sd) if film is None else 0.2,
        capacity_sd=math.sqrt(capacity_sd),
        outside_sd=0.45 if outside is None else 0.2,
    )


def _sheet(said: Said, record: Record, p: float) -> Sheet:
    sensor = said.about.sensor
    drift, shift = (sensor.drift, sensor.zero_shift) if sensor is not None else (None, None)
    resolution = sensor.resolution if sensor is not None else None
    return Sheet(
        noise=sensor.noise if sensor is not None else None,
        resolution=max(resolution or 0.0, _step_shown(record)),
        drift=said.size("sensor.drift", drift, DRIFT * p, "40 ppm of the pressure an hour", "an ordinary sensor"),
        zero_shift=said.size(
            "sensor.zero_shift", shift, ZERO_SHIFT * p, "10 ppm of the pressure per kelvin", "an ordinary sensor"
        ),
    )


def _step_shown(record: Record) -> float:
    return record.resolution_Pa or 0.0


def _supply(about: About, barometer: float) -> float | None:
    if about.supply is None:
        return None
    return about.supply.absolute(barometer) if isinstance(about.supply, Level) else 0.0


def _thermometer(said: Said, time: Vector, warm: Vector | None) -> Thermometer | None:
    if warm is None:
        return None
    stated = said.about.temperature
    if stated is None or stated.of is None:
        said.assume("temperature.of", "nothing: the column is not used", "nobody said what the thermometer touches")
        return None
    if stated.lag is None and stated.of != "room":
        said.assume("temperature.lag", "20 s", "a thermometer held to a wall")
    steps = np.abs(np.diff(warm))
    shown = float(steps[steps > 1e-9].min()) if (steps > 1e-9).any() else 0.1
    return Thermometer(time, warm, stated.of, stated.lag if stated.lag is not None else 20.0, resolution=shown)


def _past(
    said: Said, time: Vector, absolute: Vector, barometer: float
) -> tuple[tuple[tuple[float, float], ...], bool, float]:
    """What is known of the time before: points, whether the first was at rest, spread of its time scale."""
    about = said.about
    before = time < 0.0
    rows = _thinned(time[before], absolute[before]) if before.sum() >= 3 else ()
    came = None if about.came_from is None else about.came_from.absolute(barometer)
    p0 = float(np.median(absolute[time >= 0.0][:5]))
    moved = [p for _t, p in rows]
    seen = max((abs(p - p0) for p in moved), default=0.0)
    if came is None:
        if seen > STEADY * p0:
            return rows, True, 0.05
        said.assume("came_from", "several pasts weighed", "nobody said what pressure came before")
        return rows, False, 0.05
    if rows and seen > 0.7 * abs(came - p0):
        return ((rows[0][0] - 1e-3, came), *rows), True, 0.05
    took = about.moved_in if about.moved_in is not None else MOVED_IN
    soak = about.soak if about.soak is not None else SOAK
    sd = 0.1 if about.moved_in is not None and about.soak is not None else 0.5
    if about.soak is None:
        said.assume("soak", f"{soak:g} s, within a factor of three", "nobody said how long it stood at pressure")
    if about.moved_in is None:
        said.assume("moved_in", f"{took:g} s, within a factor of three", "nobody said how long the move took")
    arrived = min(-soak, rows[0][0] - 1e-3) if rows else -max(soak, 1e-3)
    p_then = rows[0][1] if rows else p0
    return ((arrived - max(took, 0.05), came), (arrived, p_then), *rows), True, sd


def _thinned(time: Vector, pressure: Vector) -> tuple[tuple[float, float], ...]:
    """At most PAST_POINTS rows of the time before, dense where the pressure moves."""
    span = max(float(time[-1] - time[0]), 1e-9)
    way = np.abs(np.diff(pressure, prepend=pressure[0]))
    way[way < 0.1 * way.max()] = 0.0  # noise is no way
    length = (time - time[0]) / span + np.cumsum(way) / max(float(way.sum()), 1e-9)
    wanted = np.linspace(0.0, float(length[-1]), PAST_POINTS)
    rows = np.unique(np.searchsorted(length, wanted).clip(0, len(time) - 1))
    rows = rows[np.concatenate([[True], np.diff(time[rows]) > 1e-6])]
    return tuple((float(time[i]), float(pressure[i])) for i in rows)


def _moved(view: Case, law: str, stated_at: float, p: float) -> float:
    """What a limit stated at one pressure is multiplied by at `p`; of the real gas where it flows out."""
    if min(stated_at, p) > view.barometer and gas.density(view.table, stated_at, view.room) > 0.0:
        return limit_factor(law, stated_at, p, view.barometer, view.room, view.table)
    # inward it is the room's air that flows, at a pressure where air is ideal
    flows = np.abs(law_flow(law, np.array([p, stated_at]), view.barometer))
    return float(flows[0] / flows[1]) if flows[1] > 0.0 else 1.0


def _permitted(said: Said, view: Case, p: float) -> float | None:
    """The permitted leak at the watch's mean pressure, mol/s; None without one, or where no rate can be told."""
    about = said.about
    if about.permitted_leak is None or not view.rate_known:
        return None
    limit = about.permitted_leak
    stated_at = p if about.limit_at is None else about.limit_at.absolute(view.barometer)
    value = limit.value
    if limit.form == PRESSURE_RATE:
        rho = gas.density(view.table, stated_at, view.room)
        value = limit.value * view.volume / (gas.properties(view.table, rho, view.room)[1] * view.table.molar_mass)
    law = about.limit_law or "hole"
    if about.limit_at is None or law == "none":
        return value
    factor = _moved(view, law, stated_at, p)
    why = f"moved from {stated_at:.6g} Pa to {p:.6g} Pa by the law of a {law} leak"
    said.assume("permitted_leak", f"times {factor:.4g}", why)
    return value * factor
