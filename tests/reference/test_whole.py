"""Three benches solved twice: by the engine, and by scipy's stiff solver on equations written separately.

The other solution is in tests/independent: its own gas properties from CoolProp, its own laws, controller and solver,
with density and temperature as states. The benches are written twice as well: as files, and in plain numbers.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from simcal.bench.network import build
from simcal.engine import simulate
from simcal.files.bench_file import load_bench
from tests.independent import compare, solve
from tests.independent.benches import CASES, Case

HOLD = np.concatenate([[0.0, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0], np.arange(100.0, 1201.0, 100.0)])


@dataclass
class Solved:
    """Both solutions of a case, sample by sample, and where the engine stands at the end."""

    case: Case
    system: simulate.System
    start: simulate.State
    state: simulate.State
    right: solve.Run
    loop: solve.Loop
    pressure: np.ndarray
    gauge: np.ndarray
    drive: np.ndarray


@cache
def _other(name):
    """The case and scipy's run of it."""
    case = CASES[name]()
    loop = solve.Loop(case.plant)
    runs = [loop.to(target, round(seconds / case.plant.period)) for target, seconds in case.way]
    return case, loop, compare.joined(runs)


@cache
def _solved(name, folder):
    case, loop, right = _other(name)
    file = folder / f"{name.replace(' ', '-')}.toml"
    file.write_text(case.text, encoding="utf-8")
    system = build(load_bench(file))
    state = start = simulate.begin(system)
    traces = []
    for target, seconds in case.way:
        start = state
        command = simulate.Command(simulate.CONTROL, target)
        state, trace = simulate.advance(system, state, command, round(seconds / case.plant.period))
        assert trace.reason is None
        traces.append(trace)
    rows = [np.concatenate([getattr(t, key) for t in traces]) for key in ("pressure_Pa", "gauge_Pa", "drive")]
    return Solved(case, system, start, state, right, loop, *rows)


@pytest.fixture(params=list(CASES))
def solved(request, tmp_path_factory):
    """Each bench in turn, solved once."""
    folder = tmp_path_factory.getbasetemp()
    return _solved(request.param, folder)


def test_the_two_descriptions_are_the_same_bench(solved):
    """What simcal derives from the file (surfaces, heat capacities, links, jets) against the same by hand."""
    vessels = solved.case.plant.packed()[2]
    net = solved.system.net
    assert net.node_par[:, :3] == pytest.approx(vessels[:, [0, 3, 4]], rel=1e-9)
    assert net.node_film[:, [1, 2, 3, 5]] == pytest.approx(vessels[:, [1, 2, 5, 7]], rel=1e-9)


def test_pressures_stay_within_1e_5_of_full_scale(solved):
    error = np.abs(solved.pressure - solved.right.pressure).max() / solved.case.span
    reading = np.abs(solved.gauge - solved.right.gauge).max() / solved.case.span
    assert error <= 1e-5
    assert reading <= 1e-5


def test_rates_are_right_once_the_valves_are_quiet(solved):
    """dp/dt between samples, 1 % or 1e-9 of full scale per second."""
    period = solved.case.plant.period
    still = compare.quiet(solved.right.drive, period)[1:]
    assert still.sum() > 200
    found, right = compare.speed(solved.pressure, period), compare.speed(solved.right.pressure, period)
    excess = compare.excess(found, right, solved.case.span, period)[still]
    assert excess.max() <= 1.0, f"{(excess > 1.0).mean():.1%} over, worst {excess.max():.3g} times what is allowed"


def test_device_minus_reference_is_right_once_the_valves_are_quiet(solved):
    """Reading of the device minus that of the reference, 1 % or 1e-9 of full scale."""
    period = solved.case.plant.period
    still = compare.quiet(solved.right.drive, period)
    found = solved.gauge[:, 1] - solved.gauge[:, 0]
    right = solved.right.gauge[:, 1] - solved.right.gauge[:, 0]
    excess = compare.excess(found, right, solved.case.span, period)[still]
    assert excess.max() <= 1.0, f"{(excess > 1.0).mean():.1%} over, worst {excess.max():.3g} times what is allowed"


def test_no_jump_where_a_map_ends(solved):
    """A run cut at sample k makes a new map there; the uncut one keeps the old, and both stand at the same state."""
    command = simulate.Command(simulate.CONTROL, solved.case.way[-1][0])
    worst = 0.0
    for k in range(150, 600, 9):
        state, _ = simulate.advance(solved.system, solved.start, command, k)
        _, fresh = simulate.advance(solved.system, state, command, 1)
        _, whole = simulate.advance(solved.system, solved.start, command, k + 1)
        worst = max(worst, np.abs(fresh.pressure_Pa[0] - whole.pressure_Pa[k]).max())
        assert fresh.gauge_Pa[0] == pytest.approx(whole.gauge_Pa[k], rel=1e-12)
    assert worst <= 1e-8 * solved.case.span


def test_drift_of_an_isolated_hold(solved):
    """Valves shut for 20 min after the run: drift within 0.1 % at the end, and on the way of the largest so far."""
    loop = solve.Loop(solved.case.plant)
    loop.y, loop.opening, loop.clock = solved.loop.y, solved.loop.opening, solved.loop.clock
    times = loop.clock + HOLD
    right = loop.hold(times).pressure
    _, trace = simulate.hold(solved.system, solved.state, times)
    assert trace.reason is None
    right, found = right - right[0], trace.pressure_Pa - trace.pressure_Pa[0]
    most = np.maximum.accumulate(np.abs(right), axis=0)
    assert np.abs(found[-1] - right[-1]).max() <= 1e-3 * np.abs(right[-1]).min()
    assert np.all(np.abs(found - right)[1:] <= 1e-3 * most[1:])
