"""The engine and a C version of the yardstick, written by hand, give the same trace; timings are never asserted."""

from __future__ import annotations

import pytest

from tests.benchmark import native, parts


def test_engine_and_c_version_give_the_same_trace(tmp_path):
    """21 setpoints of 30 s each with noise: pressures to 1e-7 of full scale (in fact to rounding)."""
    cc = native.compiler()
    if cc is None:
        pytest.skip("no C compiler")
    assert parts.equal_to_native(3000, tmp_path, cc) < 1e-7


@pytest.mark.benchmark
def test_the_benchmark_command_runs():
    """One part of it, from end to end."""
    assert parts.PARTS["run"](1)["run_s"] > 0.0
