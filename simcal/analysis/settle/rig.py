"""What a run needs of the bench, looked up once: the engine's system, the instruments, the steps, counts of samples."""

import math
from dataclasses import dataclass, replace

import numpy as np

from simcal.analysis.settle import sequence as sq
from simcal.analysis.settle.limits import DeviceLimits
from simcal.bench.bench import Bench
from simcal.bench.gauges import Device, Gauge
from simcal.bench.network import build, own_volumes
from simcal.bench.sequence import Sequence
from simcal.control.pid import FILTER, KP, RAMP, TD, TI, TRACK, WEIGHT, Gains
from simcal.engine.arrays import CAPACITY, FROM
from simcal.engine.simulate import System

RATE = 0  # place in the behaviour, Pa/s
DRIFT = 5  # place in the controller's scale, Pa/s
REGULATOR = "regulator"  # the volume behind a drooping regulator, which is no part of the bench's own volumes


@dataclass(frozen=True)
class Instrument:
    """A sensor or device as the run sees it; drift [Pa/s] and zero shift [Pa/K] are those of this run, signed."""

    name: str
    gauge: int
    node: int
    noise: float
    resolution: float
    lag: float
    shift_share: float
    shift_time: float
    drift: float
    zero_shift: float
    height: float  # above the bench's level, m
    from_room: bool = False  # a gauge instrument, which counts from the room's pressure


@dataclass(frozen=True)
class Dut:
    """A device under test: instrument, limits and after-effect."""

    instrument: Instrument
    device: Device
    limits: DeviceLimits
    effect_share: float
    effect_time: float

    @property
    def name(self) -> str:
        """Name of the device."""
        return self.instrument.name


@dataclass(frozen=True)
class Rig:
    """Bench, system and everything looked up; times in whole controller samples unless the name says s."""

    bench: Bench
    system: System
    sequence_name: str
    sequence: Sequence
    device_name: str
    reference: Instrument
    controls: Instrument  # the sensor that the controller reads
    duts: tuple[Dut, ...]
    waited_for: tuple[str, ...]
    steps: tuple[sq.Step, ...]
    period: float
    window: int
    soak: int
    longest: int
    inlet_edges: tuple[tuple[int, float], ...]  # (edge, sign that counts into the network)
    outlet_edges: tuple[tuple[int, float], ...]  # (edge, sign that counts out of the network)
    control_node: int
    vent_node: int | None
    own_nodes: tuple[int, ...]  # all volumes and lines of the bench
    barometer_drift: float  # of this run, signed, Pa/s

    def allowance(self, name: str, target: float) -> float:
        """Error allowed at the reading, Pa."""
        return sq.allowance(self.bench, self.sequence_name, name, target)

    def compares(self, dut: Dut, target: float) -> bool:
        """Whether the point waits for this device: it is asked for, and % are its own or its range holds the target."""
        if dut.name not in self.waited_for:
            return False
        return dut.name == self.device_name or sq.in_range(dut.device, target, self.bench.room.barometer)


def whole(time: float, period: float) -> int:
    """A time [s] in controller samples, rounded, at least 1."""
    return max(1, round(time / period))


def make(bench: Bench, sequence: str, device: str, waited_for: tuple[str, ...], gains: Gains | None = None) -> Rig:
    """Build the network of a bench and look up what the run needs; `gains` where they are known already."""
    system = build(bench, gains)
    asked = bench.sequences[sequence]
    system = with_barometer(with_ramp(system, asked.ramp), bench)
    period = system.controller.period
    reference = asked.reference or bench.controller.reads
    return Rig(
        bench=bench,
        system=system,
        sequence_name=sequence,
        sequence=asked,
        device_name=device,
        reference=instrument(bench, system, reference, bench.sensors[reference]),
        controls=instrument(bench, system, bench.controller.reads, bench.sensors[bench.controller.reads]),
        duts=tuple(dut(bench, system, name) for name in bench.devices),
        waited_for=waited_for,
        steps=sq.steps(bench, sequence, device, waited_for),
        period=period,
        window=whole(asked.window, period),
        soak=round(asked.soak / period),
        longest=whole(asked.longest, period),
        inlet_edges=edges_of(system, "inlet", True),
        outlet_edges=edges_of(system, "outlet", False),
        control_node=int(system.net.gauge_node[system.names.gauge[bench.controller.reads]]),
        own_nodes=tuple(own_volumes(bench, system.names)),
        vent_node=_volume_of(bench, system, "vent"),
        barometer_drift=bench.room.barometer_drift,
    )


def instrument(bench: Bench, system: System, name: str, gauge: Gauge) -> Instrument:
    """The run's view of a sensor or a device."""
    index = system.names.gauge[name]
    return Instrument(
        name=name,
        gauge=index,
        node=int(system.net.gauge_node[index]),
        noise=gauge.noise,
        resolution=gauge.resolution,
        lag=gauge.lag,
        shift_share=gauge.step_shift,
        shift_time=gauge.step_recovery,
        drift=gauge.drift,
        zero_shift=gauge.zero_shift,
        height=gauge.height + bench.volumes[gauge.at].height,
        from_room=gauge.range.gauge,
    )


def dut(bench: Bench, system: System, name: str) -> Dut:
    """The run's view of a device, its limits in Pa absolute."""
    device = bench.devices[name]
    highest = device.highest.absolute(bench.room.barometer) if device.highest is not None else None
    overshoot = device.overshoot.of(device.range.span) if device.overshoot is not None else None
    return Dut(
        instrument(bench, system, name, device),
        device,
        DeviceLimits(highest, device.highest_rate, overshoot, bench.room.barometer if device.range.gauge else None),
        device.after_effect,
        device.after_time,
    )


def _volume_of(bench: Bench, system: System, valve: str) -> int | None:
    """The volume at which a valve sits, None without that valve."""
    if valve not in bench.valves:
        return None
    return next((system.names.node[end] for end in bench.valves[valve].between if end in system.names.node), None)


def with_ramp(system: System, ramp: float | None) -> System:
    """The system with the setpoint ramped at `ramp` Pa/s; None leaves what the controller has."""
    if ramp is None:
        return system
    ctl = system.controller
    gains, behaviour = ctl.gains.copy(), ctl.behaviour.copy()
    gains[RAMP] = ramp / ctl.scale[1]
    behaviour[RATE] = min(behaviour[RATE], ramp) if ctl.kind == 1 else behaviour[RATE]
    return replace(system, controller=ctl._replace(gains=gains, behaviour=behaviour))


def with_barometer(system: System, bench: Bench) -> System:
    """The system whose controller holds against a drifting barometer, where its sensor counts from the room."""
    drift = bench.room.barometer_drift
    if drift == 0.0 or not bench.sensors[bench.controller.reads].range.gauge:
        return system
    scale = system.controller.scale.copy()
    scale[DRIFT] -= drift
    return replace(system, controller=system.controller._replace(scale=scale))


def edges_of(system: System, valve: str, into: bool) -> tuple[tuple[int, float], ...]:
    """Edges of a control valve with its seat, each with the sign that makes flow into (or out of) the network positive.

    A controller known from outside has one path for both; it counts as the inlet.
    """
    net, edge = system.net, system.names.edge
    outside = {*system.names.boundary.values(), system.names.node.get(REGULATOR, -1)}
    names = (valve, f"seat.{valve}") + (("servo",) if into and system.controller.kind == 1 else ())
    found = []
    for k in (edge[name] for name in names if name in edge):
        from_outside = int(net.edge_int[k, FROM]) in outside
        found.append((k, 1.0 if from_outside == into else -1.0))
    return tuple(found)


def gains_of(system: System) -> Gains:
    """The gains that the controller of a system runs with."""
    g = system.controller.gains
    return Gains(*(float(g[i]) for i in (KP, TI, TD, FILTER, TRACK, WEIGHT)))


def capacity(rig: Rig) -> float:
    """All volumes and lines of the bench, m3."""
    return float(rig.system.net.node_par[list(rig.own_nodes), CAPACITY].sum())


def flow_through(edges: tuple[tuple[int, float], ...], totals: np.ndarray) -> float:
    """Mass [kg] through edges with their signs, from the totals of a state or a difference of two."""
    return float(sum(sign * totals[k] for k, sign in edges))


def finite(value: float) -> float | None:
    """None for a number that is not finite."""
    return value if math.isfinite(value) else None
