"""What `settle` answers: frozen results in SI, pressure levels absolute, unit at the end of every name.

Signs: every error and every part of it is device minus reference. The parts sum to the error, `ripple` apart:
it is the random one and is given as two standard deviations of the mean of the reading window.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

PARTS = ("line", "rate", "ripple", "sensor", "leak", "control", "device")


@dataclass(frozen=True)
class ValveMargins:
    """Distance of the linearised sampled loop through one valve from instability (hold and delay included)."""

    gain: float | None  # factor the loop gain may grow by; None: no phase crossover, any gain
    phase_deg: float | None
    delay_s: float | None
    peak_sensitivity: float | None
    stable: bool = True


@dataclass(frozen=True)
class Margins:
    """The same at one setpoint, of inlet and outlet the worse in each figure, and of both apart."""

    gain: float | None
    phase_deg: float | None
    delay_s: float | None
    peak_sensitivity: float | None
    note: str = ""  # the valve with the largest peak sensitivity, and whether the loop is unstable
    valves: Mapping[str, ValveMargins] = field(default_factory=dict)


@dataclass(frozen=True)
class Cycle:
    """A lasting oscillation seen in the simulation while the pressure should be steady."""

    amplitude_Pa: float  # half of peak to peak, true pressure at the governing device's port
    period_s: float
    share: float  # of the allowance
    reference_amplitude_Pa: float
    reference_share: float
    cause: str  # "dead band", "quantised drive", "pulsed drive", "linear margin", "unknown"
    cures: tuple[str, ...] = ()


@dataclass(frozen=True)
class Authority:
    """What the two control valves can still do at a setpoint, against what the point needs of them."""

    inlet_kg_per_s: float  # fully open at the setpoint; negative or 0: no supply pressure left
    outlet_kg_per_s: float
    inlet_rate_Pa_per_s: float  # the same as a rate of the pressure, all open volumes together
    outlet_rate_Pa_per_s: float
    inlet_share: float  # of the choked flow that the same upstream pressure would give
    outlet_share: float
    needed_kg_per_s: float  # flow the window asked for, + through the inlet, - through the outlet
    smallest_step_Pa: float | None  # of a quantised or pulsed drive; None: continuous
    lost: str | None  # words when authority is lost, else None


@dataclass(frozen=True)
class DeviceResult:
    """One device at one point."""

    name: str
    error_at_reading_Pa: float | None
    error_parts_Pa: Mapping[str, float]
    random_Pa: float  # 2 s of the mean of noise and resolution, as added in the test of readiness
    device_effect_Pa: float  # the device's own after-effect at the reading, waited for only if asked
    head_Pa: float  # device minus reference, removed from the error
    allowance_Pa: float
    ready_s: float | None  # from the command, this device alone
    overshoot_Pa: float
    peak_Pa: float
    peak_rate_Pa_per_s: float
    limited_by: str | None = None
    void: str | None = None
    violations: tuple[str, ...] = ()
    largest_Pa: float | None = None  # largest difference of single samples in the window, and random_Pa


@dataclass(frozen=True)
class PointResult:
    """One setpoint of the sequence; names are those of the JSON."""

    device: str  # the one that governs
    target_Pa: float
    direction: str  # "up" or "down"
    mode: str  # "held", "isolated" or "vent"
    reached: bool
    reason: str | None  # why not reached or void, else None
    arrival_s: float | None  # from the command
    dwell_s: float | None  # from arrival to the start of the window
    ready_s: float | None  # their sum
    latest_s: float | None  # isolated only: latest start of a good window, from the command
    dwell_low_s: float | None  # 90 % band of the trials
    dwell_high_s: float | None
    limited_by: str | None  # a name of PARTS, or "arrival", "soak"; None where the pressure never arrived
    error_at_reading_Pa: float | None
    error_parts_Pa: Mapping[str, float]
    allowance_Pa: float
    overshoot_Pa: float
    peak_Pa: float
    peak_rate_Pa_per_s: float
    device_effect_Pa: float
    head_Pa: float
    make_up_mol_per_s: float | None  # inlet minus outlet, mean over the window
    devices: Mapping[str, DeviceResult]
    # beyond the contract of the JSON:
    number: int  # place in the sequence, from 1
    percent: float | None  # as the sequence wrote it
    start_s: float  # clock of the command
    window_s: float
    nearness_Pa: float
    step_Pa: float  # target minus the one before, signed
    off_target_Pa: float | None = None  # largest distance of the reference's reading from the target in the window
    shut_s: float | None = None  # isolated: when the valves shut, from the command
    shortest_soak_s: float | None = None  # isolated, not reached: the soak with which it could have been read
    void: str | None = None  # words with the cure
    limited_words: str = ""
    dwell_reached_share: float | None = None  # trials in which the point was reached
    error_low_Pa: float | None = None  # 90 % band of the error in the trials, where the dwell is given
    error_high_Pa: float | None = None
    margins: Margins | None = None
    cycle: Cycle | None = None
    authority: Authority | None = None
    violations: tuple[str, ...] = ()  # device limits broken on this step
    notes: tuple[str, ...] = ()
    spent_s: float | None = None  # until the next command, where that is not ready + window (not reached)

    @property
    def end_s(self) -> float:
        """Time of the next command, s from this command: ready + window, or what was spent in vain."""
        if self.spent_s is not None:
            return self.spent_s
        return self.window_s + (self.ready_s if self.ready_s is not None else 0.0)


@dataclass(frozen=True)
class Group:
    """Points of one direction and one range of pressure that share a rounded-up dwell."""

    direction: str
    low_Pa: float
    high_Pa: float
    dwell_s: float
    points: tuple[int, ...]  # numbers, from 1


@dataclass(frozen=True)
class Groups:
    """The same table in few dwells."""

    groups: tuple[Group, ...]
    total_s: float | None
    extra_s: float | None  # what the rounding up costs against point by point
    largest_share: float | None = None  # largest |difference| + 2 s over allowance in the windows with these dwells
    note: str = ""


@dataclass(frozen=True)
class Influence:
    """Which unknown widens the answer, and by how much."""

    key: str  # dotted key of the bench file
    share: float  # 0..1, of the variance of the run's sum of dwells, or of the worst point where the dwell is given


@dataclass(frozen=True)
class Trials:
    """Summary of `--trials`."""

    count: int
    total_low_s: float | None  # 90 % band of the run's time; None where it lies among trials that failed
    total_high_s: float | None
    not_reached: int  # trials in which at least one point was not reached
    sensitivity: tuple[Influence, ...]
    dwell_s: np.ndarray = field(repr=False, compare=False, default_factory=lambda: np.empty((0, 0)))
    # [trial, point], NaN where not reached


@dataclass(frozen=True)
class SelfCheck:
    """How far the answer moves when the engine tries harder: box and step tolerance halved."""

    dwell_s: float  # largest change of a dwell
    error_Pa: float  # largest change of an error at the reading
    points: int  # points compared: reached in both runs
    other: int  # points reached in one run only


@dataclass(frozen=True)
class RunTrace:
    """The whole run, thinned for figures; one row an instant."""

    time_s: np.ndarray
    setpoint_Pa: np.ndarray
    reference_Pa: np.ndarray  # reading through the lag, no noise
    device_Pa: Mapping[str, np.ndarray]  # reading through the lag, no noise
    drive: np.ndarray  # -1 outlet .. 1 inlet; NaN while shut or venting


@dataclass(frozen=True)
class PointTrace:
    """One point on the clock that starts at its command, thinned (dense early) for the zoomed figure."""

    number: int
    time_s: np.ndarray
    reference_Pa: np.ndarray
    device_Pa: Mapping[str, np.ndarray]
    error_Pa: Mapping[str, np.ndarray]  # device minus reference, as compared
    parts_Pa: Mapping[str, np.ndarray]  # of the governing device: line, rate, leak, sensor, control, device
    random_Pa: float
    drive: np.ndarray


@dataclass(frozen=True)
class SettleResult:
    """The answer to `settle`."""

    bench: str
    sequence: str
    device: str  # the one the percentages belong to
    reference: str
    points: tuple[PointResult, ...]
    total_s: float
    gas_used_kg: float  # through the inlet; of a controller known from outside the net inflow of every step up
    stored_energy_J: float
    stored_energy_method: str
    seed: int
    version: str
    assumed: tuple  # of the bench's Assumed(key, value, why)
    violations: tuple[str, ...]  # device limits, shown first
    highest_Pa: float  # highest true pressure anywhere in the run
    preloads: tuple[PointResult, ...] = ()
    fixed_dwell_s: float | None = None  # the reverse question: this dwell was given
    groups: Groups | None = None
    trials: Trials | None = None
    self_check: SelfCheck | None = None
    trace: RunTrace | None = field(default=None, repr=False, compare=False)
    zooms: tuple[PointTrace, ...] = field(default=(), repr=False, compare=False)
    notes: tuple[str, ...] = ()
    reached_end: bool = True  # False: the engine ended the run early, see notes

    @property
    def sensitivity(self) -> tuple[Influence, ...]:
        """Unknowns by the share of the answer's spread they cause, largest first; empty without trials."""
        return self.trials.sensitivity if self.trials else ()

    @property
    def good(self) -> bool:
        """True when every point was reached and none is void (exit code 0)."""
        return self.reached_end and all(p.reached and p.void is None for p in self.points)
