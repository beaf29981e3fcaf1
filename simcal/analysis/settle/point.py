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
from simcal.analysis.settle.series import Carried, Series, of_arrays, series
from simcal.engine.simulate import CONTROL, SHUT, VENT, Command, State, hold

Vector = NDArray[np.float64]

LEAST_CHUNK = 100
"""samples of one call; later ones are a third of what is recorded, up to LARGEST_CHUNK, less than 0.2 s of computing"""
GROWTH = 3
LARGEST_CHUNK = 4000
SLOW_CHUNK = 1000
"""for pulsed drives, which are integrated pulse by pulse"""
HOLD_ROWS = 400
"""instants at which the branch with shut valves is looked at"""


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


class _March:
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
        return series(self.rig, self.step, self.recorded, self.carried, self.start)


def command(rig: Rig, step: Step) -> Command:
    """What the controller is told at the step."""
    mode = VENT if step.mode == VENT_MODE else CONTROL
    return Command(mode, step.target_Pa, rig.sequence.noise)


def run_point(rig: Rig, step: Step, state: State, carried: Carried, dwell_s: float | None = None) -> PointRun:
    """Run one point from `state`; `dwell_s` is given for the reverse question and for a fixed dwell."""
    march = _March(rig, step, state, carried)
    shut: int | None = None
    order = command(rig, step)
    if step.preload:
        rest = march.until(order, lambda s: ready.first_rest(s.near, rig.soak))
        return _finish(rig, step, state, march, None, rest, None)
    if step.mode == ISOLATED:
        shut = march.until(order, lambda s: ready.first_rest(s.near, rig.soak))
        if shut is None:
            return _finish(rig, step, state, march, None, None, None)
        march.state = march.recorded.cut(shut)
        order = Command(SHUT)
    window = march.until(order, _window_test(rig, dwell_s, shut or 0))
    return _finish(rig, step, state, march, shut, window, window)


def _window_test(rig: Rig, dwell_s: float | None, not_before: int) -> Callable[[Series], int | None]:
    if dwell_s is None:
        return lambda s: ready.earliest(s.near_read, s.all_good, rig.window, not_before).window
    dwell = whole(dwell_s, rig.period) if dwell_s > 0.0 else 0
    return lambda s: ready.after_dwell(s.near, rig.window, dwell, not_before).window


def _finish(
    rig: Rig, step: Step, begin: State, march: _March, shut: int | None, found: int | None, window: int | None
) -> PointRun:
    recorded = march.recorded
    end = min(rig.longest, recorded.count)
    if found is not None:
        end = found + (rig.window if window is not None else 0)
    at_end = recorded.state_at(end) if recorded.reason is None or found is not None else march.state
    near = march.seen().near[: end + 1] if recorded.count else np.zeros(0, dtype=np.bool_)
    last = reference_start(rig, window) if window is not None else near.shape[0] - 1
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
        peak_Pa=float(recorded.pressure[: end + 1, list(rig.own_nodes)].max()) if recorded.count else 0.0,
        failure=recorded.reason if found is None else None,
        rested=step.preload and found is not None,
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
    window = rig.window * rig.period
    began = run.window * rig.period
    if last <= first:
        return began, 1
    times = np.linspace(first, last, HOLD_ROWS)
    _, trace = hold(rig.system, run.at_end, times + run.start * rig.period)
    count = trace.time_s.shape[0]
    seen = of_arrays(rig, run.step, trace.pressure_Pa, trace.gauge_Pa, run.carried, run.start, times[:count])
    margin = run.step.nearness_Pa - np.abs(seen.reference - run.step.target_Pa)
    for name, course in seen.courses.items():
        margin = np.minimum(margin, seen.allowance[name] - seen.random[name] - np.abs(course.difference))
    before = times[:count] - first < abs(rig.sequence.skew)  # the window just read covers these
    margin = np.where(before, np.maximum(np.nan_to_num(margin), 0.0), margin)
    clock = np.concatenate(([began], times[:count]))
    return ready.latest_start(clock, np.concatenate(([0.0], margin)), window)
