"""What must hold between the parts of a bench; a fault is (dotted key, what was found, what is right)."""

import math
from collections.abc import Iterator

from simcal.bench.bench import Bench
from simcal.bench.gauges import Device, Gauge
from simcal.bench.parts import REGULATOR, SERVO, SURFACE
from simcal.bench.reach import reached_from
from simcal.bench.sequence import Sequence
from simcal.units import pressure_text

Fault = tuple[str, str, str]
MOST_NODES = 256
LEAST_DRIVE = 1e-3
"""of the room's pressure, from which a stated leak rate has to differ"""
_SLACK = 1e-9


def faults_of(bench: Bench) -> list[Fault]:
    """Every contradiction between the parts of a bench; empty when there is none."""
    found = [
        *_names(bench),
        *_size(bench),
        *_controller(bench),
        *_control_valves(bench),
        *_pressures(bench),
        *_rates(bench),
    ]
    if not found:
        found = [*_routes(bench), *_gauges(bench), *_sequences(bench)] or [*_exhaust(bench)]
    return found


def _names(bench: Bench) -> Iterator[Fault]:
    for name in bench.devices:
        if name in bench.sensors:
            yield f"device.{name}", "a sensor has the same name", "another name"
    for name in bench.lines:
        if name in bench.volumes:
            yield f"line.{name}", "a volume has the same name", "another name"
    if bench.outgassing and SURFACE in bench.volumes:
        yield f"volume.{SURFACE}", "surfaces that give off gas have this name", "another name"
    if bench.supply.droop > 0.0 and REGULATOR in bench.volumes:
        yield f"volume.{REGULATOR}", "the gas behind a supply with droop has this name", "another name"
    if bench.controller.behaviour is not None and SERVO in bench.valves:
        yield f"valve.{SERVO}", "the source of a controller known from outside has this name", "another name"


def _size(bench: Bench) -> Iterator[Fault]:
    nodes = len(bench.volumes) + sum(line.cells for line in bench.lines.values())
    if nodes > MOST_NODES:
        yield "volume", f"{nodes} volumes and cells of lines", f"at most {MOST_NODES}"


def _pressures(bench: Bench) -> Iterator[Fault]:
    if bench.exhaust.pressure >= bench.supply.pressure:
        found = f"{pressure_text(bench.exhaust.pressure, 'abs')} is not below the supply"
        yield "exhaust.pressure", found, f"less than {pressure_text(bench.supply.pressure, 'abs')}"


def _rates(bench: Bench) -> Iterator[Fault]:
    """A rate is stated at a pressure that drives one against the room."""
    for name, leak in bench.leaks.items():
        if leak.rate_at is not None and _is_the_rooms(bench, leak.rate_at):
            found = f"{pressure_text(leak.rate_at, 'abs')} is the room's pressure, at which nothing leaks"
            yield f"leak.{name}.rate_at", found, "a pressure above it, or below it for gas that leaks in"
    for name, valve in bench.valves.items():
        if valve.seat > 0.0 and _is_the_rooms(bench, valve.seat_at or bench.supply.pressure):
            found = f"{pressure_text(valve.seat_at or bench.supply.pressure, 'abs')} is the room's pressure"
            yield f"valve.{name}.seat_at", f"{found}, at which nothing leaks", "a pressure above or below it"


def _is_the_rooms(bench: Bench, pressure: float) -> bool:
    return abs(pressure - bench.room.barometer) <= LEAST_DRIVE * bench.room.barometer


def _controller(bench: Bench) -> Iterator[Fault]:
    if bench.controller.reads not in bench.sensors:
        known = ", ".join(bench.sensors)
        yield "controller.reads", f'there is no sensor "{bench.controller.reads}"', f"known are: {known}"


def _control_valves(bench: Bench) -> Iterator[Fault]:
    """Inlet and outlet are needed unless the controller is known from outside only."""
    if bench.controller.behaviour is not None:
        return
    for name, boundary in (("inlet", "supply"), ("outlet", "exhaust")):
        if name not in bench.valves:
            yield f"valve.{name}", "missing", f'add [valve.{name}] with between = ["...", "{boundary}"]'
    if "inlet" in bench.valves and not any("supply" in one.between for one in bench.valves.values()):
        yield "valve.inlet.between", "no valve is at the supply", 'between = ["supply", "..."]'
    if "outlet" in bench.valves and not any(
        {"exhaust", "room"} & set(one.between) for name, one in bench.valves.items() if name != "vent"
    ):
        yield "valve.outlet.between", "no valve is at the exhaust", 'between = ["...", "exhaust"]'
    vent = bench.valves.get("vent")
    if vent is not None and not {"exhaust", "room"} & set(vent.between):
        yield "valve.vent.between", "the vent leads to no outside", '"room" at one end'


def _routes(bench: Bench) -> Iterator[Fault]:
    """The control node has a supply and an exhaust; every gauge stands where its pressure comes."""
    node = bench.sensors[bench.controller.reads].at
    if bench.controller.behaviour is None:
        if node not in reached_from(bench, {"supply"}):
            yield f"sensor.{bench.controller.reads}.at", f'no open way from the supply to "{node}"', _OPEN_WAY
        if node not in reached_from(bench, {"exhaust", "room"}):
            yield (
                f"sensor.{bench.controller.reads}.at",
                f'no open way from "{node}" to the exhaust',
                _OPEN_WAY,
            )
    joined = reached_from(bench, {node})
    for kind, gauges in (("sensor", bench.sensors), ("device", bench.devices)):
        for name, gauge in gauges.items():
            if gauge.at not in joined:
                yield f"{kind}.{name}.at", f'no open way from "{node}" to "{gauge.at}"', _OPEN_WAY
    network = reached_from(bench, {node}, every_way=True)
    for name in bench.volumes:
        if name not in network:
            yield f"volume.{name}", "joined to nothing", "a line, a valve or a leak between it and the rest"


_OPEN_WAY = "a line or an open valve between them"


def _gauges(bench: Bench) -> Iterator[Fault]:
    barometer = bench.room.barometer
    for name, device in bench.devices.items():
        if device.highest is None:
            continue
        highest = device.highest.absolute(barometer)
        top = device.range.absolute(device.range.high, barometer)
        if highest < top * (1.0 - _SLACK):
            found = f"{pressure_text(highest, 'abs')} is below its range, {pressure_text(top, 'abs')}"
            yield f"device.{name}.highest", found, "a limit at or above the range"


def _sequences(bench: Bench) -> Iterator[Fault]:
    for name, sequence in bench.sequences.items():
        place = f"sequence.{name}"
        yield from _times(bench, sequence, place)
        if sequence.reference and sequence.reference not in bench.sensors:
            known = ", ".join(bench.sensors)
            yield f"{place}.reference", f'there is no sensor "{sequence.reference}"', f"known are: {known}"
        elif sequence.device and sequence.device not in bench.devices:
            known = ", ".join(bench.devices)
            yield f"{place}.device", f'there is no device "{sequence.device}"', f"known are: {known}"
        elif not sequence.device:
            known = ", ".join(bench.devices)
            yield f"{place}.device", "missing, and there are several devices", f"one of: {known}"
        else:
            yield from _points(bench, sequence, place)


def _exhaust(bench: Bench) -> Iterator[Fault]:
    """An exhaust above the room keeps the outlet from the room's pressure."""
    room, exhaust = bench.room.barometer, bench.exhaust.pressure
    if exhaust <= room * (1.0 + _SLACK):
        return
    for name, sequence in bench.sequences.items():
        reached = [
            point.absolute(bench.device_of(name).range, room) for point in (*sequence.points, *sequence.preloads)
        ]
        if any(abs(target - room) <= _SLACK * room for target in reached):
            found = f"{pressure_text(exhaust, 'abs')} is above the room's pressure, {pressure_text(room, 'abs')}"
            yield (
                "exhaust.pressure",
                f"{found}, to which sequence.{name} goes",
                "at most room.barometer; left out it follows the room",
            )
            return


def _times(bench: Bench, sequence: Sequence, place: str) -> Iterator[Fault]:
    if sequence.window < bench.controller.period * (1.0 - _SLACK):
        yield f"{place}.window", "shorter than one sample of the controller", "a window of several samples"
    for key, value in (
        ("dwell", sequence.dwell or 0.0),
        ("soak", sequence.soak),
        ("window", sequence.window),
    ):
        if value > sequence.longest:
            yield f"{place}.{key}", f"{value:g} s is above longest, {sequence.longest:g} s", "a shorter time"


def _points(bench: Bench, sequence: Sequence, place: str) -> Iterator[Fault]:
    device = bench.devices[sequence.device]
    reference = bench.sensors[sequence.reference or bench.controller.reads]
    for key, points in (("points", sequence.points), ("preloads", sequence.preloads)):
        for number, point in enumerate(points, start=1):
            target = point.absolute(device.range, bench.room.barometer)
            fault = _target(bench, target, device, reference)
            if fault:
                shown = f"point {number}, {point.text()} ({pressure_text(target, 'abs')}),"
                yield f"{place}.{key}", f"{shown} {fault[0]}", fault[1]


def _target(bench: Bench, target: float, device: Device, reference: Gauge) -> tuple[str, str] | None:
    """What is wrong with one target (absolute, Pa), if anything."""
    barometer = bench.room.barometer
    for who, gauge in (("device", device), ("reference", reference)):
        low = gauge.range.absolute(gauge.range.low, barometer)
        high = gauge.range.absolute(gauge.range.high, barometer)
        slack = _SLACK * (high + abs(low))
        if not low - slack <= target <= high + slack:
            return f"is outside the {who}'s range", f"within {_span(low, high)}"
    node = bench.sensors[bench.controller.reads].at
    for name, one in bench.devices.items():
        limit = one.highest.absolute(barometer) if one.highest is not None else math.inf
        if target > limit * (1.0 + _SLACK) and one.at in reached_from(bench, {node}):
            return f'is above the highest pressure of device "{name}"', f"at most {pressure_text(limit, 'abs')}"
    if target > bench.supply.pressure * (1.0 + _SLACK):
        return (
            f"is above the supply, {pressure_text(bench.supply.pressure, 'abs')}",
            "a lower point or more supply",
        )
    lowest = bench.exhaust.pressure
    if abs(target - barometer) <= _SLACK * barometer:
        vents = "vent" in bench.valves or lowest <= barometer * (1.0 + _SLACK)
        return None if vents else ("is the room's pressure and nothing leads there", "add [valve.vent]")
    if target < lowest * (1.0 - _SLACK):
        return f"is below the exhaust, {pressure_text(lowest, 'abs')}", "a higher point or a pump"
    if target < 1000.0 * (1.0 - _SLACK):
        return "is below 1 kPa abs", "a point of at least 1 kPa abs"
    return None


def _span(low: float, high: float) -> str:
    return f"{pressure_text(low)} to {pressure_text(high)} abs"
