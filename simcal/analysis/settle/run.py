"""The whole run: preloads and points one after the other, the state carried over; totals and traces."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from simcal.analysis.settle.point import PointRun, run_point
from simcal.analysis.settle.rig import Rig, flow_through
from simcal.analysis.settle.sequence import Step, from_where_it_is
from simcal.analysis.settle.series import Carried, carry
from simcal.engine.simulate import State, begin, pressures

Dwells = Callable[[int], float | None]
"""Dwell [s] given for a point by its number, or None"""
Progress = Callable[[int, int], None]
Look = Callable[[PointRun], None]


@dataclass(frozen=True)
class Run:
    """What happened, step by step."""

    points: tuple[PointRun, ...]
    preloads: tuple[PointRun, ...]
    total_s: float
    gas_used_kg: float
    highest_Pa: float
    ended: str | None  # the engine's reason, when the run ended early

    @property
    def steps(self) -> tuple[PointRun, ...]:
        """All moves in the order they were made."""
        return self.preloads + self.points


def nothing(_number: int) -> float | None:
    """No dwell is given."""
    return None


def run_steps(
    rig: Rig, seed: int, dwells: Dwells = nothing, keep: bool = True, progress: Progress | None = None,
    look: Look | None = None,
) -> Run:  # fmt: skip
    """Run all steps of the rig's sequence from a bench at rest at the room's pressure.

    dwells : gives a dwell for a point by its number; None: until ready.
    keep : hold on to the recordings, which figures and further questions need; trials do not.
    look : is shown every point while it has its recording.
    """
    state, carried = begin(rig.system, seed), Carried.none()
    runs: list[PointRun] = []
    gas, ended, missed = 0.0, None, False
    for done, planned in enumerate(rig.steps):
        before, step = state.totals, planned
        if missed:
            step = from_where_it_is(rig.bench, rig.sequence_name, rig.waited_for, planned, _pressure(rig, state))
        run = run_point(rig, step, state, carried, None if step.preload else dwells(step.number), missed)
        state, missed = run.at_end, not run.there
        gas += _taken(rig, before, state.totals)
        if look is not None and not step.preload:
            look(run)
        runs.append(run if keep else run.without_recording())
        if progress is not None:
            progress(done + 1, len(rig.steps))
        if run.failure is not None:
            ended = run.failure
            break
        carried = carry(rig, _made(rig, run), carried, run.end * rig.period)
    return Run(
        points=tuple(r for r in runs if not r.step.preload),
        preloads=tuple(r for r in runs if r.step.preload),
        total_s=state.sample * rig.period,
        gas_used_kg=gas,
        highest_Pa=max((r.peak_Pa for r in runs), default=float(np.max(rig.system.start_Pa))),
        ended=ended,
    )


def _pressure(rig: Rig, state: State) -> float:
    """True pressure at the controller's sensor, Pa abs."""
    return float(pressures(rig.system, state)[rig.control_node])


def _made(rig: Rig, run: PointRun) -> Step:
    """The step that was made, which is another than the one asked for where the pressure did not get there."""
    if run.there:
        return run.step
    return replace(run.step, step_Pa=_pressure(rig, run.at_end) - (run.step.target_Pa - run.step.step_Pa))


def _taken(rig: Rig, before: np.ndarray, after: np.ndarray) -> float:
    """Gas that came in through the inlet during one step, kg.

    A controller known from outside has one path both ways: what it takes out on a step down is not given back.
    """
    return max(flow_through(rig.inlet_edges, after - before), 0.0)
