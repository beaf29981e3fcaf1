"""One point of the run: command, watch until it is ready, go back to the exact end of its window."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle import ready
from simcal.analysis.settle.recording import Recording
from simcal.analysis.settle.rig import Rig, whole
from simcal.analysis.settle.sequence import ISOLATED, Step
from simcal.analysis.settle.sequence import VENT as VENT_MODE
from simcal.analysis.settle.series import Carried, Series, loop_shift, of_arrays, series
from simcal.engine.simulate import CONTROL, SHUT, VENT, Command, State, hold, pressures

Vector = NDArray[np.float64]

LEAST_CHUNK = 100
"""samples of one call; later ones are a third of what is recorded, up to LARGEST_CHUNK, less than 0.2 s of computing"""
GROWTH = 3
LARGEST_CHUNK = 4000
SLOW_CHUNK = 1000
"""for pulsed drives, which are integrated pulse by pulse"""
EARLY_ROWS, LATE_ROWS = 400, 200
"""instants at which the branch with shut valves is looked at: even in the logarithm of time, and even in time"""


@dataclass(frozen=True)
class PointRun:
    """One point as it went; sample numbers from its command."""

    step: Step
    start: int  # sample of the command on the run's clock
    carried: Carried
    recorded: Recording | None  # None once it was dropped
    arrival: int | None
    window: int | None  # start of the window that is used
    shut: int | None
    end: int  # the next command
    begin: State
    at_end: State
    peak_Pa: float  # highest true pressure anywhere
    failure: str | None  # the engine's reason for ending early
    rested: bool = False  # a preload has been inside nearness for the soak
    after_miss: bool = False  # the move before did not get there, so this one began somewhere else

    @property
    def there(self) -> bool:
        """Whether the pressure got there, however good the reading was then."""
        return self.window is not None or self.rested

    def without_recording(self) -> "PointRun":
        """The same without its samples."""
        return replace(self, recorded=None)

    def state_at(self, sample: int) -> State:
        """The state at a sample from the command; the recording is needed."""
        return self.samples.state_at(sample)

    @property
    def samples(self) -> Recording:
        """The recording; ValueError when it was dropped."""
        if self.recorded is None:
            raise ValueError("the recording of this point was dropped")
        return self.recorded

    def series(self, rig: Rig) -> Series:
        """The comparison over all recorded samples."""
        return series(rig, self.step, self.samples, self.carried, self.start)


class March:
    """Chunks of one point under one command after the other, until a test is met or time is up."""

    def __init__(self, rig: Rig, step: Step, state: State, carried: Carried) -> None:
        self.rig, self.step, self.state, self.carried = rig, step, state, carried
        self.start, self.recorded = state.sample, Recording(rig.system)
        pulsed = any(valve.drive == "pulsed" for valve in rig.bench.valves.values())
        self.most = SLOW_CHUNK if pulsed else LARGEST_CHUNK

    def until(self, command: Command, test: Callable[[Series], int | None]) -> int | None:
        """The sample that the test finds; None when `longest` is over or the engine has stopped."""
        limit = self.rig.longest + 1
        found = test(self.seen()) if self.recorded.count else None
        while found is None and self.recorded.count < limit and self.recorded.reason is None:
            chunk = min(max(LEAST_CHUNK, self.recorded.count // GROWTH), self.most)
            self.state = self.recorded.add(self.state, command, min(chunk, limit - self.recorded.count))
            found = test(self.seen()) if self.recorded.count else None
        return found

    def seen(self) -> Series:
        """The comparison over all that is recorded."""
        return series(self.rig, self.step, self.recorded, self.carried, self.start)


def command(rig: Rig, step: Step, carried: Carried, start: int) -> Command:
    """What the controller is told at the step, and by how much its own sensor is off from then on.

    start: sample of the command on the run's clock.
    """
    if step.mode == VENT_MODE:
        return Command(VENT, step.target_Pa, rig.sequence.noise)
    offset, size = loop_shift(rig, step, carried, start)
    return Command(CONTROL, step.target_Pa, rig.sequence.noise, offset, size, rig.controls.shift_time)


def run_point(
    rig: Rig, step: Step, state: State, carried: Carried, dwell_s: float | None = None, after_miss: bool = False
) -> PointRun:
    """Run one point from `state`.

    dwell_s : given for the reverse question and for a fixed dwell.  after_miss : the move before did not get there.
    """
    march = March(rig, step, state, carried)
    found, window, shut = _to_its_end(rig, step, march, dwell_s)
    return _finish(rig, step, state, march, shut, found, window, after_miss)


def _to_its_end(rig: Rig, step: Step, march: March, dwell_s: float | None) -> tuple[int | None, int | None, int | None]:
    """What was waited for, the window's start, when the valves shut: samples, None where it did not come about."""
    order = command(rig, step, march.carried, march.start)
    if step.preload:
        return march.until(order, lambda s: ready.first_rest(s.near, rig.soak)), None, None
    shut: int | None = None
    if step.mode == ISOLATED:
        shut = march.until(order, lambda s: ready.first_rest(s.near, rig.soak))
        if shut is None:
            return None, None, None
        march.state = march.recorded.cut(shut)
        order = Command(SHUT)
    window = march.until(order, window_test(rig, dwell_s, shut or 0))
    return window, window, shut


def window_test(rig: Rig, dwell_s: float | None, not_before: int) -> Callable[[Series], int | None]:
    """Finds the window that is used in a point as far as it is recorded: the earliest good one, or after the dwell."""
    if dwell_s is None:
        return lambda s: ready.earliest(s.near_read, s.all_good, rig.window, not_before).window
    dwell = whole(dwell_s, rig.period) if dwell_s > 0.0 else 0
    return lambda s: ready.after_dwell(s.near, rig.window, dwell, not_before).window


def _finish(
    rig: Rig, step: Step, begin: State, march: March, shut: int | None, found: int | None, window: int | None,
    after_miss: bool,
) -> PointRun:  # fmt: skip
    recorded = march.recorded
    end = min(rig.longest, recorded.count)
    if found is not None:
        end = found + (rig.window if window is not None else 0)
    at_end = recorded.state_at(end) if recorded.reason is None or found is not None else march.state
    near = march.seen().near[: end + 1] if recorded.count else np.zeros(0, dtype=np.bool_)
    last = reference_start(rig, window) if window is not None else near.shape[0] - 1
    seen = recorded.pressure[: end + 1] if recorded.count else pressures(rig.system, begin)
    nodes = list(rig.own_nodes)
    between = recorded.between(end)[0][:, nodes].max(initial=0.0)
    return PointRun(
        step=step,
        start=march.start,
        carried=march.carried,
        recorded=recorded,
        arrival=ready.last_entry(near, last) if near.size else None,
        window=window,
        shut=shut,
        end=end,
        begin=begin,
        at_end=at_end,
        peak_Pa=float(max(seen[..., nodes].max(), between)),
        failure=recorded.reason if found is None else None,
        rested=step.preload and found is not None,
        after_miss=after_miss,
    )


def reference_start(rig: Rig, window: int) -> int:
    """Sample at which the reference's own window begins: a device that is read later has the later window."""
    return max(window - max(round(rig.sequence.skew / rig.period), 0), 0)


def latest(rig: Rig, run: PointRun) -> tuple[float | None, int]:
    """Latest start [s from the command] of a good window with the valves kept shut; and how many stretches are good.

    A branch of the run, which goes on from the end of the window to `longest`; the run itself does not.
    """
    if run.window is None or run.shut is None:
        return None, 0
    first, last = run.end * rig.period, rig.longest * rig.period
    began = run.window * rig.period
    if last <= first:
        return began, 1
    times, margins = shut_branch(rig, run, run.at_end, first)
    clock = np.concatenate(([began], times))
    return ready.latest_start(clock, np.insert(margins, 0, 0.0, axis=1), rig.window * rig.period)


def shut_branch(rig: Rig, run: PointRun, state: State, first: float) -> tuple[Vector, Vector]:
    """A branch of the point with the valves shut, from `state` at `first` [s from the command] to `longest`.

    Times [k], s from the command, and how far inside each limit the readings are [limits, k], Pa.
    """
    times = first + branch_times(rig.longest * rig.period - first, rig.period)
    _, trace = hold(rig.system, state, times + run.start * rig.period)
    count = trace.time_s.shape[0]
    seen = of_arrays(rig, run.step, trace.pressure_Pa, trace.gauge_Pa, run.carried, run.start, times[:count])
    limits = [(seen.reference - run.step.target_Pa, run.step.nearness_Pa)]
    limits += [(c.difference, seen.allowance[name] - seen.random[name]) for name, c in seen.courses.items()]
    margins = np.array([limit - side * value for value, limit in limits for side in (1.0, -1.0)])
    before = times[:count] - first < abs(rig.sequence.skew)  # what was read before the branch covers these
    return times[:count], np.where(before, np.maximum(np.nan_to_num(margins), 0.0), margins)


def branch_times(span: float, period: float) -> Vector:
    """Rising times from 0 to `span` s, dense early: a reading may leave its limits within seconds or within hours."""
    early = np.geomspace(min(period, span), span, EARLY_ROWS)
    return np.unique(np.concatenate(([0.0], early, np.linspace(0.0, span, LATE_ROWS))))
