"""The uncertainty of a comparison, for every point of every instrument and every sensor, as arrays.

Rows [P] are points of instruments, one after the other; columns [K] are sensors. Everything is a standard
uncertainty in Pa and independent, so squares add.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.cover.dwell import Left
from simcal.bench.gauges import Accuracy, Figure
from simcal.bench.lab import HEIGHT_KNOWN, UNCORRECTED, Instrument, Lab, Reference
from simcal.bench.values import Range
from simcal.physics.gas import density
from simcal.physics.head import head
from simcal.stats.uncertainty import combined, resolved, standard
from simcal.tables import gas

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

EDGE = 1e-9
"""of a span: how far outside a range a point may lie by rounding"""


@dataclass(frozen=True)
class Budget:
    """Points [P], sensors [K]: what a comparison is made of."""

    instrument: NDArray[np.int64]  # [P] number of the instrument
    stated: Array  # [P] Pa in the instrument's own reference
    pressure: Array  # [P] Pa absolute
    tolerance: Array  # [P] Pa
    vent: Mask  # [P] served by venting
    held: Mask  # [P] False where the bench's run does not reach the point
    of_sensor: Mapping[str, Array]  # "sensor", "drift", "calibration", "resolution", "barometer": [P, K]
    of_bench: Mapping[str, Array]  # "head", "line", "dwell": [P]
    device: Array  # [P]
    inside: Mask  # [P, K] in the sensor's range, and the barometer known where it is needed

    def bench_only(self) -> Array:
        """Of the comparison without the device's own share, [P, K]."""
        return np.asarray(np.hypot(_together(self.of_sensor.values()), self.at_vent()[:, None]))

    def with_device(self) -> Array:
        """Of the comparison with it, [P, K]."""
        return np.asarray(np.hypot(self.bench_only(), self.device[:, None]))

    def at_vent(self) -> Array:
        """Of a comparison with the room's pressure, no sensor needed, [P]."""
        return _together(self.of_bench.values())


def sizes(figure: Figure, range_: Range, stated: Array) -> Array:
    """`Figure.error_at` for an array of readings, Pa."""
    shown = np.maximum(np.abs(stated), figure.floor * range_.span)
    return np.asarray(figure.span * range_.span + figure.reading * shown)


def sensor_parts(sensor: Reference, stated: Array) -> dict[str, Array]:
    """What a sensor adds at readings `stated`, Pa in its own reference: standard uncertainties, each like `stated`."""
    step = np.full_like(stated, sensor.resolution.of(sensor.range.span))
    return {
        "sensor": _of(sensor.accuracy, sensor.range, stated),
        "drift": _of(sensor.drift, sensor.range, stated),
        "calibration": _of(sensor.calibration, sensor.range, stated),
        "resolution": resolved(step),
    }


def sensor_uncertainty(sensor: Reference, stated: Array) -> Array:
    """The same as one."""
    return _together(sensor_parts(sensor, stated).values())


def _together(parts: Iterable[Array]) -> Array:
    return combined(*parts)


def _of(figure: Accuracy | None, range_: Range, stated: Array) -> Array:
    return np.zeros_like(stated) if figure is None else standard(sizes(figure, range_, stated), figure.is_)


def budget(lab: Lab, left: Mapping[str, Left]) -> Budget:
    """Every comparison of a laboratory; `left`: instrument -> what the dwell leaves there."""
    zero, unknown = lab.room.barometer, lab.spread("room.barometer")
    kinds = list(lab.instruments.values())
    counts = [len(one.points) for one in kinds]
    number = np.repeat(np.arange(len(kinds)), counts)
    pressure = np.array([p.absolute(one.range, zero) for one in kinds for p in one.points])
    gauge = np.repeat([one.range.gauge for one in kinds], counts)
    stated = np.where(gauge, pressure - zero, pressure)
    spans = np.repeat([one.range.span for one in kinds], counts)
    tolerance = np.concatenate([_limits(one, stated[number == i]) for i, one in enumerate(kinds)])
    found = [_of_one_sensor(s, pressure, gauge, zero, unknown) for s in lab.sensors.values()]
    return Budget(
        instrument=number,
        stated=stated,
        pressure=pressure,
        tolerance=tolerance,
        vent=gauge & (np.abs(stated) <= EDGE * spans) if lab.vent else np.zeros(len(stated), dtype=bool),
        held=np.concatenate([left[name].held for name in lab.instruments]),
        of_sensor={name: np.stack([parts[name] for parts, _ in found], axis=1) for name in found[0][0]},
        of_bench={
            "head": _head(lab, pressure, gauge),
            "line": _line(lab, stated),
            "dwell": np.concatenate([left[name].standard_Pa for name in lab.instruments]),
        },
        device=np.concatenate([np.full(n, _device(one)) for n, one in zip(counts, kinds, strict=True)]),
        inside=np.stack([inside for _, inside in found], axis=1),
    )


def _limits(one: Instrument, stated: Array) -> Array:
    assert one.tolerance is not None
    return sizes(one.tolerance, one.range, stated)


def _of_one_sensor(
    sensor: Reference, pressure: Array, gauge: Mask, zero: float, unknown: float
) -> tuple[dict[str, Array], Mask]:
    """Its parts and where it can be read at all; a reference of the other kind takes the barometer in between."""
    shown = pressure - zero if sensor.range.gauge else pressure
    other = gauge != sensor.range.gauge
    edge = EDGE * sensor.range.span
    inside = (shown >= sensor.range.low - edge) & (shown <= sensor.range.high + edge) & (~other | (unknown > 0.0))
    return {**sensor_parts(sensor, shown), "barometer": np.where(other, unknown, 0.0)}, inside


def _device(one: Instrument) -> float:
    """The instrument's own share, Pa: what its reading is rounded to, and how it repeats."""
    span = one.range.span
    return math.hypot(float(resolved(one.resolution.of(span))), one.repeatability.of(span))


def _line(lab: Lab, stated: Array) -> Array:
    if lab.comparison.line is None:
        return np.zeros_like(stated)
    return standard([lab.comparison.line.of(abs(p)) for p in stated.tolist()], "limits")


def _head(lab: Lab, pressure: Array, gauge: Mask) -> Array:
    """Of the gas column: how well the height is known, and the whole of it where it is not corrected."""
    known = lab.spread("comparison.height") or HEIGHT_KNOWN
    height = lab.comparison.height
    table = gas.load(lab.gas)
    levels, place = np.unique(np.stack([pressure, gauge]), axis=1, return_inverse=True)
    one_metre = [_column(table, p, bool(g), lab.room.temperature) for p, g in levels.T.tolist()]
    column = np.array(one_metre)[place.reshape(-1)]
    left = np.abs(column) * known
    return np.hypot(left, standard(np.abs(column * height), "limits")) if lab.comparison.head == UNCORRECTED else left


def _column(table: gas.GasTable, pressure: float, gauge: bool, temperature: float) -> float:
    return float(head(density(table, pressure, temperature), 1.0, gauge))


def instrument_slices(counts: Sequence[int]) -> list[slice]:
    """Rows of each instrument."""
    ends = np.cumsum([0, *counts]).tolist()
    return [slice(a, b) for a, b in pairwise(ends)]
