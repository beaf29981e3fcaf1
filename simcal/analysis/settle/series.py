"""What the instruments say over the samples of a point: readings, differences, and where they are inside."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle import parts, readings, ready
from simcal.analysis.settle.recording import Recording
from simcal.analysis.settle.rig import Dut, Instrument, Rig
from simcal.analysis.settle.sequence import Step

Vector = NDArray[np.float64]

SETPOINT = "setpoint"


@dataclass(frozen=True)
class Carried:
    """Shifts that earlier steps have left at the moment of a command, by name of the instrument, Pa."""

    shift: Mapping[str, float]
    effect: Mapping[str, float]

    @classmethod
    def none(cls) -> "Carried":
        """At the start of the run."""
        return cls({}, {})


@dataclass(frozen=True)
class Series:
    """One point as compared. Arrays over samples from the command; dictionaries by device that is compared."""

    reference: Vector  # reading of the reference, Pa abs
    near: NDArray[np.bool_]  # the reference's reading, at its own time
    near_read: NDArray[np.bool_]  # the one that is compared, which a time skew takes from before
    courses: Mapping[str, parts.Course]
    random: Mapping[str, float]
    allowance: Mapping[str, float]
    good: Mapping[str, NDArray[np.bool_]]

    @property
    def all_good(self) -> NDArray[np.bool_]:
        """Where every compared device is inside its allowance."""
        return np.logical_and.reduce(list(self.good.values())) if self.good else np.ones_like(self.near)


def shift(rig: Rig, one: Instrument, step: Step, carried: Carried, start: int, time: Vector) -> Vector:
    """What the sensor adds to its reading: shift after steps, drift and zero shift since the run began, Pa.

    start: sample of the command on the run's clock; time: s from the command.
    """
    out = readings.recovering(carried.shift.get(one.name, 0.0) + one.shift_share * step.step_Pa, one.shift_time, time)
    began = start * rig.period
    if one.drift != 0.0:
        out = out + one.drift * (began + time)
    if one.zero_shift != 0.0:
        room = rig.system.net.room
        wave = room[2] * (np.sin(2.0 * np.pi * (began + time) / room[3] + room[4]) - np.sin(room[4]))
        out = out + one.zero_shift * (room[1] * (began + time) + wave)
    return out


def effect(one: Dut, step: Step, carried: Carried, time: Vector) -> Vector:
    """A device's own after-effect: it still lags behind the step, Pa."""
    size = carried.effect.get(one.name, 0.0) - one.effect_share * step.step_Pa
    return readings.recovering(size, one.effect_time, time)


def carry(rig: Rig, step: Step, carried: Carried, elapsed: float) -> Carried:
    """What is left of all shifts `elapsed` s after the command of `step`."""
    at = np.array([elapsed])
    shifts, effects = {}, {}
    for one in (rig.reference, *(d.instrument for d in rig.duts)):
        size = carried.shift.get(one.name, 0.0) + one.shift_share * step.step_Pa
        shifts[one.name] = float(readings.recovering(size, one.shift_time, at)[0])
    for device in rig.duts:
        effects[device.name] = float(effect(device, step, carried, at)[0])
    return Carried(shifts, effects)


def random_part(rig: Rig, one: Instrument) -> float:
    """Two standard deviations of the mean of what is random in the comparison, Pa."""
    instruments = [(one.noise, one.resolution)]
    if rig.sequence.reference_value != SETPOINT:
        instruments.append((rig.reference.noise, rig.reference.resolution))
    return readings.random_part(instruments, rig.window)


def series(rig: Rig, step: Step, recorded: Recording, carried: Carried, start: int) -> Series:
    """The point as far as it is recorded; `start` is the sample of its command on the run's clock."""
    return of_arrays(rig, step, recorded.pressure, recorded.gauge, carried, start)


def of_arrays(
    rig: Rig, step: Step, pressure: NDArray[np.float64], gauge: NDArray[np.float64], carried: Carried, start: int,
    clock: Vector | None = None,
) -> Series:  # fmt: skip
    """The same from true pressures [k, n] and lagged readings [k, g]; `clock` [s] where it is not sample by sample."""
    if clock is None:
        clock = np.arange(pressure.shape[0], dtype=np.float64) * rig.period
    time: Vector = clock
    ref_shift = shift(rig, rig.reference, step, carried, start, time)
    reference = gauge[:, rig.reference.gauge] + ref_shift
    skew = rig.sequence.skew
    to_setpoint = rig.sequence.reference_value == SETPOINT
    compared = [d for d in rig.duts if rig.compares(d, step.target_Pa)]
    courses, good, random, allowance = {}, {}, {}, {}
    used = readings.delayed(reference, skew, time)
    for one in compared:
        own = shift(rig, one.instrument, step, carried, start, time)
        read = readings.delayed(gauge[:, one.instrument.gauge] + own, -skew, time)
        off = used - step.target_Pa if to_setpoint else np.zeros_like(time)
        course = parts.Course(
            difference=read - used + off,
            port=pressure[:, one.instrument.node],
            node=pressure[:, rig.reference.node],
            sensor=own - ref_shift,
            device=np.zeros_like(time),
            control=off,
        )
        courses[one.name] = course
        random[one.name] = random_part(rig, one.instrument)
        allowance[one.name] = rig.allowance(one.name, step.target_Pa)
        good[one.name] = ready.within(course.difference, random[one.name], allowance[one.name])
    near = ready.near(reference, step.target_Pa, step.nearness_Pa)
    near_read = ready.near(used, step.target_Pa, step.nearness_Pa)
    return Series(reference, near, near_read, courses, random, allowance, good)
