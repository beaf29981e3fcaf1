"""The shortest soak with which an isolated point could be read, where the one that is given is too short."""

from dataclasses import replace

import numpy as np

from simcal.analysis.settle import ready
from simcal.analysis.settle.groups import round_up
from simcal.analysis.settle.point import March, PointRun, command, shut_branch, window_test
from simcal.analysis.settle.result import PointResult
from simcal.analysis.settle.rig import Rig
from simcal.analysis.settle.sequence import ISOLATED
from simcal.engine.simulate import SHUT, Command

GROWTH = 2.0
"""from one soak that is tried to the next; between the last that fails and the first that works it is halved"""
FINE = 1.05
"""ratio of these two at which the halving ends, unless they round up to the same already"""


def with_soak(rig: Rig, run: PointRun, point: PointResult, dwell_s: float | None) -> PointResult:
    """The point; one that is isolated and could not be read with the soak that would have done, in its reason too."""
    if point.mode != ISOLATED or point.reached or run.shut is None or run.failure is not None or not _could(point):
        return point
    key = f"sequence.{rig.sequence_name}.soak"
    found = shortest_soak(rig, run, dwell_s)
    if found is None:
        most = _most(rig, dwell_s) * rig.period
        return replace(point, reason=f"{point.reason}; no {key} up to {most:g} s changes that")
    given = rig.soak * rig.period
    reason = f"{point.reason}; {key} is {given:g} s, {found:g} s would do"
    return replace(point, shortest_soak_s=found, reason=reason)


def _could(point: PointResult) -> bool:
    """Whether a soak could help: noise and resolution alone leave something of the allowance."""
    return all(d.random_Pa <= d.allowance_Pa for d in point.devices.values() if d.error_at_reading_Pa is not None)


def _most(rig: Rig, dwell_s: float | None) -> int:
    """The longest soak that is tried, samples: `longest` holds window and soak, a given dwell holds the soak."""
    most = rig.longest - rig.window
    return most if dwell_s is None else min(most, round(dwell_s / rig.period))


def shortest_soak(rig: Rig, run: PointRun, dwell_s: float | None = None) -> float | None:
    """The shortest soak [s] found with which the point can be read, rounded up; None when there is none.

    On branches: the loop holds on from the command of the point, the valves shut after each soak that is tried.
    """
    tries = _Tries(rig, run, dwell_s)
    most = _most(rig, dwell_s)
    fails, works = rig.soak, _next(rig.soak, rig.window, most)
    while not tries.works(works):
        if works >= most or tries.over:
            return None
        fails, works = works, _next(works, rig.window, most)
    while works > FINE * fails and works > fails + 1 and _rounded(rig, works) > _rounded(rig, fails):
        middle = (fails + works) // 2
        fails, works = (fails, middle) if tries.works(middle) else (middle, works)
    neat = _rounded(rig, works)
    if neat <= most * rig.period and tries.works(round(neat / rig.period)):
        return neat
    return works * rig.period


def _rounded(rig: Rig, soak: int) -> float:
    """A soak [samples] as one would write it, s."""
    return round_up(soak * rig.period)


def _next(soak: int, window: int, most: int) -> int:
    return min(max(round(GROWTH * soak), window), most)


class _Tries:
    """The point held on, as far as it was needed, and shut after one soak or another."""

    def __init__(self, rig: Rig, run: PointRun, dwell_s: float | None) -> None:
        self.rig, self.run, self.dwell_s = rig, run, dwell_s
        self.held = March(rig, run.step, run.begin, run.carried)
        self.order = command(rig, run.step, run.carried, run.start)
        self.over = False

    def works(self, soak: int) -> bool:
        """Whether the point can be read when the valves shut after a soak [samples]."""
        shut = self.held.until(self.order, lambda s: ready.first_rest(s.near, soak))
        if shut is None:
            self.over = True
            return False
        return (self.dwell_s is not None or self._stays(shut)) and self._is_read(shut)

    def _stays(self, shut: int) -> bool:
        """A first look, at few instants: whether the readings are inside their limits for one window."""
        first, period = shut * self.rig.period, self.rig.period
        times, margins = shut_branch(self.rig, self.run, self.held.recorded.state_at(shut), first)
        return ready.latest_start(times, margins, self.rig.window * period)[0] is not None

    def _is_read(self, shut: int) -> bool:
        """Sample by sample, as the point itself would be."""
        branch = March(self.rig, self.run.step, self.run.begin, self.run.carried)
        branch.recorded = self.held.recorded.until(shut)
        branch.state = branch.recorded.state_at(shut)
        window = branch.until(Command(SHUT), window_test(self.rig, self.dwell_s, shut))
        if window is None:
            return False
        seen, whole = branch.seen(), slice(window, window + self.rig.window + 1)
        return bool(np.all(seen.near_read[whole] & seen.all_good[whole]))
