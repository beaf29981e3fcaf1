"""From a sequence of the bench file to the steps of the run: pressures, directions, modes, nearness, allowances."""

from dataclasses import dataclass, replace

from simcal.bench.bench import Bench
from simcal.bench.gauges import Device
from simcal.bench.sequence import Point, Sequence
from simcal.errors import InputError

HELD, ISOLATED, VENT = "held", "isolated", "vent"
UP, DOWN = "up", "down"

NEARNESS_SHARE = 0.01
"""of the step; common practice, no source"""


@dataclass(frozen=True)
class Step:
    """One move of the run; `preload` moves are not read."""

    number: int  # place among the points, or among the preloads, from 1
    percent: float | None
    target_Pa: float  # absolute
    direction: str
    mode: str
    step_Pa: float  # target minus the one before (the room's pressure at first)
    nearness_Pa: float
    preload: bool = False
    notes: tuple[str, ...] = ()


def choose_sequence(bench: Bench, name: str | None) -> str:
    """The sequence asked for, else the only one.

    Raises:
        InputError: there is no such sequence, none at all, or several and none was named.
    """
    known = tuple(bench.sequences)
    if name is None and len(known) == 1:
        return known[0]
    if name in known:
        return str(name)
    choices = ", ".join(known) if known else "a table [sequence.NAME] in the bench file"
    if name is None:
        found = f"{len(known)} sequences" if known else "no sequence"
        raise InputError(bench.file, "sequence", found, f"choose one with --sequence: {choices}")
    raise InputError("command line", "--sequence", f'no sequence "{name}"', f"one of: {choices}")


def choose_device(bench: Bench, sequence: str, name: str | None) -> str:
    """The device whose span % means: the one asked for, the one the sequence names, else the only one.

    Raises:
        InputError: there is no such device, or several and none was named while points are in %.
    """
    known = tuple(bench.devices)
    wanted = name or bench.sequences[sequence].device
    if wanted:
        if wanted in known:
            return wanted
        where = ("command line", "--device") if name else (bench.file, f"sequence.{sequence}.device")
        raise InputError(*where, f'no device "{wanted}"', f"one of: {', '.join(known) or 'none is in the bench file'}")
    if not known:
        raise InputError(bench.file, "device", "no device", "a table [device.NAME]")
    asked = bench.sequences[sequence]
    if len(known) > 1 and any(p.percent is not None for p in (*asked.points, *asked.preloads)):
        right = f'name the one whose span % means: device = "{known[0]}" (of {", ".join(known)})'
        raise InputError(bench.file, f"sequence.{sequence}.points", "% with several devices", right)
    return known[0]


def allowance(bench: Bench, sequence: str, name: str, target: float) -> float:
    """Error allowed at the reading of a device at a target (Pa abs): Pa, as the sequence or the device gives it.

    Raises:
        InputError: neither gives one and the device has no accuracy figure.
    """
    stated = bench.sequences[sequence].allowance
    if stated is not None:
        return stated
    device = bench.devices[name]
    found = device.allowance_at(device.range.stated(target, bench.room.barometer))
    if found > 0.0:
        return found
    what = "no error is allowed at the reading"
    if device.accuracy is not None:
        where = f"at {device.range.stated(target, bench.room.barometer) / 1e5:.6g} bar"
        what = f"the accuracy figure is 0 {where}, so no error is allowed at the reading"
    right = 'allowance = "..." or an accuracy with a span or a floor'
    raise InputError(bench.file, f"device.{name}", what, right)


def in_range(device: Device, target: float, barometer: float) -> bool:
    """Whether a device can read a target (Pa abs), to a millionth of its span."""
    stated, slack = device.range.stated(target, barometer), 1e-6 * device.range.span
    return device.range.low - slack <= stated <= device.range.high + slack


def is_zero_gauge(point: Point, device: Device) -> bool:
    """Whether a point means the room's pressure: 0 gauge, or the percentage that is 0 gauge."""
    if point.level is not None:
        return point.level.gauge and point.level.value == 0.0
    stated = device.range.low + (point.percent or 0.0) / 100.0 * device.range.span
    return device.range.gauge and abs(stated) <= 1e-9 * device.range.span


def _visits(sequence: Sequence) -> list[tuple[Point, bool]]:
    """Points in order with whether they are preloads; between two equal preloads the run returns to the first point."""
    visits: list[tuple[Point, bool]] = []
    for before, point in zip((None, *sequence.preloads), sequence.preloads, strict=False):
        if before == point:
            visits.append((sequence.points[0], True))
        visits.append((point, True))
    return visits + [(p, False) for p in sequence.points]


def nearness(bench: Bench, name: str, compared: tuple[str, ...], target: float, change: float) -> float:
    """How far off target [Pa] counts as there, as given or from the step `change` [Pa] and the allowance."""
    given = bench.sequences[name].nearness
    if given is not None:
        return given
    here = [n for n in compared if in_range(bench.devices[n], target, bench.room.barometer)] or list(compared)
    return max(NEARNESS_SHARE * abs(change), min(allowance(bench, name, n, target) for n in here))


def from_where_it_is(bench: Bench, name: str, compared: tuple[str, ...], step: Step, pressure: float) -> Step:
    """The step from another pressure [Pa abs] than the target before, which was not reached."""
    change = step.target_Pa - pressure
    near = nearness(bench, name, compared, step.target_Pa, change)
    return replace(step, direction=UP if change > 0.0 else DOWN, step_Pa=change, nearness_Pa=near)


def steps(bench: Bench, name: str, device_name: str, compared: tuple[str, ...]) -> tuple[Step, ...]:
    """All moves of a sequence; % is of the span of `device_name`, `compared` are the devices that are waited for."""
    sequence, device, room = bench.sequences[name], bench.devices[device_name], bench.room.barometer
    out: list[Step] = []
    before, direction = room, UP
    numbers = {True: 0, False: 0}
    for point, preload in _visits(sequence):
        target = point.absolute(device.range, room)
        change = target - before
        if change != 0.0:
            direction = UP if change > 0.0 else DOWN
        numbers[preload] += 1
        mode, notes = _mode(bench, sequence, is_zero_gauge(point, device))
        near = nearness(bench, name, compared, target, change)
        out.append(Step(numbers[preload], point.percent, target, direction, mode, change, near, preload, notes))
        before = target
    return tuple(out)


def _mode(bench: Bench, sequence: Sequence, zero: bool) -> tuple[str, tuple[str, ...]]:
    if not zero:
        return (ISOLATED if sequence.read == ISOLATED else HELD), ()
    if "vent" in bench.valves:
        return VENT, ()
    note = "0 gauge without a vent valve: controlled through the outlet, which has no authority there"
    return HELD, (note,)
