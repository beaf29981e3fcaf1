"""What the instruments say over the samples of a point: readings, differences, and where they are inside."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle import parts, readings, ready
from simcal.analysis.settle.recording import Recording
from simcal.analysis.settle.rig import Dut, Instrument, Rig
from simcal.analysis.settle.sequence import VENT, Step

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
    """What the sensor adds to its reading: shift after steps, drift, zero shift and barometer since the run began, Pa.

    start: sample of the command on the run's clock; time: s from the command.
    """
    out = readings.recovering(step_shift(one, step, carried), one.shift_time, time)
    clock = start * rig.period + time
    drift = one.drift + barometer_share(one, step) * rig.barometer_drift
    if drift != 0.0:
        out = out + drift * clock
    if one.zero_shift != 0.0:
        out = out + one.zero_shift * warmer(rig, clock)
    return out


def step_shift(one: Instrument, step: Step, carried: Carried) -> float:
    """Shift of a sensor at the command of a step, what earlier steps have left included, Pa."""
    return carried.shift.get(one.name, 0.0) + one.shift_share * step.step_Pa


def barometer_share(one: Instrument, step: Step) -> float:
    """What a rise of the room's pressure by 1 Pa makes of a reading that was absolute by the barometer at the start.

    A gauge instrument falls behind; at a vent the gas goes with the room, and an absolute one shows the rise.
    """
    if step.mode == VENT:
        return 0.0 if one.from_room else 1.0
    return -1.0 if one.from_room else 0.0


def warmer(rig: Rig, clock: Vector) -> Vector:
    """Room less the room at the start, K, at times of the run's clock, s."""
    room = rig.system.net.room
    wave = room[2] * (np.sin(2.0 * np.pi * clock / room[3] + room[4]) - np.sin(room[4]))
    return np.asarray(room[1] * clock + wave)


def loop_shift(rig: Rig, step: Step, carried: Carried, start: int) -> tuple[float, float]:
    """By how much the controller's sensor is off at the command: what stays, and what dies away, Pa.

    Drifts go on within the loop itself, but for a controller known from outside; there their value at the command
    stays through the step.
    """
    one, clock = rig.controls, np.array([start * rig.period])
    offset = one.zero_shift * float(warmer(rig, clock)[0])
    if rig.system.controller.kind == 1:
        offset += (one.drift + barometer_share(one, step) * rig.barometer_drift) * float(clock[0])
    return offset, step_shift(one, step, carried)


def effect(one: Dut, step: Step, carried: Carried, time: Vector) -> Vector:
    """A device's own after-effect: it still lags behind the step, Pa."""
    size = carried.effect.get(one.name, 0.0) - one.effect_share * step.step_Pa
    return readings.recovering(size, one.effect_time, time)


def carry(rig: Rig, step: Step, carried: Carried, elapsed: float) -> Carried:
    """What is left of all shifts `elapsed` s after the command of `step`."""
    at = np.array([elapsed])
    shifts, effects = {}, {}
    for one in (rig.reference, rig.controls, *(d.instrument for d in rig.duts)):
        shifts[one.name] = float(readings.recovering(step_shift(one, step, carried), one.shift_time, at)[0])
    for device in rig.duts:
        effects[device.name] = float(effect(device, step, carried, at)[0])
    return Carried(shifts, effects)


def random_part(rig: Rig, one: Instrument) -> float:
    """Two standard deviations of the mean of what is random in the comparison, Pa."""
    used = [one] if rig.sequence.reference_value == SETPOINT else [one, rig.reference]
    window = rig.window * rig.period
    return readings.random_part(
        [(i.noise, i.resolution, readings.independent(window, rig.period, i.lag)) for i in used]
    )


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
        late = effect(one, step, carried, time) if rig.sequence.wait_for_after_effect else np.zeros_like(time)
        read = readings.delayed(gauge[:, one.instrument.gauge] + own + late, -skew, time)
        off = used - step.target_Pa if to_setpoint else np.zeros_like(time)
        course = parts.Course(
            difference=read - used + off,
            port=pressure[:, one.instrument.node],
            node=pressure[:, rig.reference.node],
            sensor=own - ref_shift,
            device=readings.delayed(late, -skew, time),
            control=off,
        )
        courses[one.name] = course
        random[one.name] = random_part(rig, one.instrument)
        allowance[one.name] = rig.allowance(one.name, step.target_Pa)
        good[one.name] = ready.within(course.difference, random[one.name], allowance[one.name])
    near = ready.near(reference, step.target_Pa, step.nearness_Pa)
    near_read = ready.near(used, step.target_Pa, step.nearness_Pa)
    return Series(reference, near, near_read, courses, random, allowance, good)
