"""Engine, a C version of the yardstick written by hand, and a general solver give one trace; no timing is asserted."""

from __future__ import annotations

import numpy as np
import pytest

from simcal.engine import simulate
from simcal.engine.simulate import CONTROL, Command
from tests.benchmark import native, parts, solver
from tests.engine import networks


def test_engine_and_c_version_give_the_same_trace(tmp_path):
    """21 setpoints of 30 s each with noise: pressures to 1e-7 of full scale (in fact to rounding)."""
    cc = native.compiler()
    if cc is None:
        pytest.skip("no C compiler")
    assert parts.equal_to_native(3000, tmp_path, cc) < 1e-7


def test_the_general_solver_on_the_same_laws_follows_the_engine():
    """The first half second after a step: the gauge to 1e-6 of full scale."""
    system, target = networks.yardstick(), float(parts.TARGETS[1])
    solved = solver.solve(solver.Real(system), system, target, 0.5)
    _, trace = simulate.advance(system, simulate.begin(system), Command(CONTROL, target), len(solved.gauge))
    assert np.abs(solved.gauge - trace.gauge_Pa[:, 0]).max() < 1e-6 * parts.FULL


@pytest.mark.benchmark
def test_the_benchmark_command_runs():
    """One part of it, from end to end."""
    assert parts.PARTS["run"](1)["run_s"] > 0.0
