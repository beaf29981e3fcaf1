"""Few dwells for many points: against trying everything."""

import itertools
import math

import numpy as np
import pytest

from simcal.analysis.settle.groups import Need, Stretch, group, round_up


@pytest.mark.parametrize(
    ("dwell", "rounded"),
    [
        (0.0, 0.0),
        (0.2, 1.0),
        (9.01, 10.0),
        (10.0, 10.0),
        (10.1, 15.0),
        (58.0, 60.0),
        (61.0, 70.0),
        (301.0, 330.0),
    ],
)
def test_dwells_are_rounded_up_to_what_one_writes(dwell: float, rounded: float) -> None:
    """Whole seconds to 10 s, fives to a minute, tens to five minutes, then half minutes."""
    assert round_up(dwell) == rounded


def brute(pressures: list[list[float]], most: int) -> float:
    """Least extra time by trying all cuts; for each pressure the dwells that are needed there."""
    best = math.inf
    places = range(1, len(pressures))
    for count in range(most):
        for cuts in itertools.combinations(places, count):
            edges = [0, *cuts, len(pressures)]
            parts = [[d for one in pressures[a:b] for d in one] for a, b in itertools.pairwise(edges)]
            best = min(best, sum(round_up(max(p)) * len(p) - sum(p) for p in parts))
    return best


@pytest.mark.parametrize("seed", range(5))
def test_one_direction_equals_trying_all_cuts(seed: int) -> None:
    """The dynamic programme is exact."""
    rng = np.random.default_rng(seed)
    dwells = [float(d) for d in rng.uniform(0.0, 90.0, 7)]
    needs = [Need(i, "up", 1e5 * i, d) for i, d in enumerate(dwells)]
    for most in (1, 2, 3, 7):
        found = group(needs, most)
        assert found is not None
        assert found[1] == pytest.approx(brute([[d] for d in dwells], most), abs=1e-9)
        assert sum(len(s.points) for s in found[0]) == 7


@pytest.mark.parametrize("seed", range(3))
def test_two_directions_equal_trying_all_shares(seed: int) -> None:
    """K dwells are shared between the directions in the best way."""
    rng = np.random.default_rng(100 + seed)
    up, down = ([float(d) for d in rng.uniform(0.0, 60.0, 5)] for _ in range(2))
    needs = [Need(i, "up", 1e5 * i, d) for i, d in enumerate(up)]
    needs += [Need(9 - i, "down", 1e5 * i, d) for i, d in enumerate(down)]
    for most in (2, 4):
        found = group(needs, most)
        assert found is not None
        apart = min(brute([[d] for d in up], k) + brute([[d] for d in down], most - k) for k in range(1, most))
        assert found[1] == pytest.approx(apart, abs=1e-9)
        assert len(found[0]) <= most


@pytest.mark.parametrize(
    ("dwells", "most", "wanted"),
    [
        ([2.57, 0.51, 0.45, 2.61], 2, [(3.0, (0, 1, 2, 3))]),
        ([3.23, 2.06, 1.14, 0.22, 1.53, 1.63], 4, [(4.0, (0,)), (3.0, (1,)), (2.0, (2, 3, 4, 5))]),
    ],
)
def test_neighbours_with_one_dwell_are_one_group(
    dwells: list[float], most: int, wanted: list[tuple[float, tuple[int, ...]]]
) -> None:
    """Costs that differ by the rounding of a sum only are equal, and then the fewest dwells win."""
    found = group([Need(i, "up", 1e5 * i, d) for i, d in enumerate(dwells)], most)
    assert found is not None
    assert [(s.dwell_s, s.points) for s in found[0]] == wanted


def test_one_dwell_for_all() -> None:
    """With one dwell both directions share it; it stands once for each."""
    found = group([Need(1, "up", 1e5, 3.2), Need(2, "down", 0.0, 11.0)], 1)
    assert found == ((Stretch("down", 15.0, (2,)), Stretch("up", 15.0, (1,))), pytest.approx(15.8))


def test_a_point_that_cannot_wait_keeps_its_own_dwell() -> None:
    """An isolated point that is good only until 8 s is not put with one that needs 40 s."""
    needs = [Need(1, "up", 1e5, 5.0, most_s=8.0), Need(2, "up", 2e5, 40.0)]
    found = group(needs, 2)
    assert found is not None and [s.points for s in found[0]] == [(1,), (2,)]
    assert group(needs, 1) is None


def test_one_pressure_in_one_direction_has_one_dwell() -> None:
    """A pressure that is visited twice is not split, though that would be quicker."""
    needs = [Need(1, "up", 1e5, 1.0), Need(2, "up", 1e5, 40.0), Need(3, "up", 2e5, 40.0)]
    found = group(needs, 2)
    assert found is not None
    assert all({1, 2} <= set(s.points) or not {1, 2} & set(s.points) for s in found[0])
