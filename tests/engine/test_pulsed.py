"""Pulsed valves: the maps of `engine.pulses` against steps at a hundredth of their tolerance, and balances."""

from __future__ import annotations

import numpy as np
import pytest

from simcal.engine import simulate
from simcal.engine.simulate import CONTROL, Command, Effort
from tests.engine import networks

STEPS = Effort(box=1e-9, tolerance=1e-2)
"""a box that no map survives"""
FULL = 2e6


def pulsed(nodes=2, noise=0.0, shortest=0.0, **options):
    """The yardstick with pulsed valves; below `shortest` (s) they do not open, and the loop hunts."""
    system = networks.yardstick(nodes, noise=noise, pulse=(1.0, 1.0, shortest, shortest), **options)
    net = system.net._replace(valve_lag=np.full(2, np.inf))
    return simulate.System(net, system.table, system.controller, system.names, system.start_Pa)


def both(system, noise=False, samples=3000, target=4e5):
    """The same run on the maps and in steps."""
    start, command = simulate.begin(system), Command(CONTROL, target, noise)
    on_maps = simulate.advance(system, start, command, samples)
    in_steps = simulate.advance(system, start, command, samples, STEPS)
    assert on_maps[1].reason is None
    assert in_steps[1].reason is None
    return start, on_maps, in_steps


@pytest.mark.parametrize(("nodes", "noise"), [(2, 0.0), (2, 4.0), (4, 4.0)])
def test_pulses_of_any_length_are_what_steps_make_of_them(nodes, noise):
    """Pressures, extremes and drive over 30 s, most of it on maps: within 2e-7 of full scale (allowed: 1e-5)."""
    _, (_, maps), (_, steps) = both(pulsed(nodes, noise), noise > 0.0)
    assert 3 < maps.maps < 300
    assert len(maps.stepped) > 2000
    assert np.abs(maps.pressure_Pa - steps.pressure_Pa).max() < 2e-7 * FULL
    rows = np.intersect1d(maps.stepped, steps.stepped)
    ours, theirs = np.searchsorted(maps.stepped, rows), np.searchsorted(steps.stepped, rows)
    for name in ("highest_Pa", "lowest_Pa"):
        assert np.abs(getattr(maps, name)[ours] - getattr(steps, name)[theirs]).max() < 2e-7 * FULL
    ours, theirs = maps.fastest_Pa_per_s[ours][-1000:], steps.fastest_Pa_per_s[theirs][-1000:]
    assert np.abs(ours - theirs).max() < 2e-3 * theirs.max()


def test_a_loop_that_hunts_by_its_pulses_keeps_its_mean_its_swing_and_its_period():
    """Pulses of 0.2 ms and longer against a leak: mean, swing and beats of 60 s."""
    _, (_, maps), (_, steps) = both(pulsed(shortest=2e-4), samples=8000)
    ours, theirs = maps.pressure_Pa[-6000:], steps.pressure_Pa[-6000:]
    assert maps.maps > 0
    assert np.abs(ours.mean(axis=0) - theirs.mean(axis=0)).max() < 1e-7 * FULL
    assert np.ptp(ours, axis=0) == pytest.approx(np.ptp(theirs, axis=0), rel=1e-2)
    beats = [np.flatnonzero(np.abs(trace.drive[-6000:]) > 0.02) for trace in (maps, steps)]
    assert abs(len(beats[0]) - len(beats[1])) <= 1


def test_maps_of_pulses_keep_mass_and_energy():
    """What crossed the edges is what the volumes gained, to rounding."""
    system = pulsed(noise=4.0)
    start, (end, trace), _ = both(system, True)
    assert trace.maps > 3
    size, edges = system.sizes, system.net.edge_int
    gained = end.x[: size.nodes].sum() - start.x[: size.nodes].sum()
    outside = [(k, a, b) for k, (a, b, _, _) in enumerate(edges) if (a < size.nodes) != (b < size.nodes)]
    came = sum(end.totals[k] * (1.0 if b < size.nodes else -1.0) for k, a, b in outside)
    assert gained == pytest.approx(came, rel=1e-11)
    energy = simulate.total_energy(system, end) - simulate.total_energy(system, start)
    brought = sum(end.totals[size.edges + k] * (1.0 if b < size.nodes else -1.0) for k, a, b in outside)
    assert energy == pytest.approx(brought + end.totals[-2] - end.totals[-1], abs=1e-7)
