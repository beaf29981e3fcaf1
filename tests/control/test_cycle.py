"""Cycles in recorded traces."""

import math

import numpy as np
import pytest

from simcal.control.cycle import cycle
from simcal.control.drive import drive_array, shape
from simcal.control.pid import Gains, pid_step

T = 0.01 * np.arange(3000)
SINE = np.sin(2.0 * math.pi * T / 1.37)


def rng(seed=0):
    return np.random.default_rng(seed)


def test_sine_on_a_trend():
    assert cycle(1e5 + 5.0 * SINE + 30.0 * T, 0.01) == pytest.approx((5.0, 1.37), rel=0.03)


def test_sine_in_noise():
    assert cycle(1e5 + 5.0 * SINE + 2.0 * rng().normal(size=3000), 0.01) == pytest.approx((5.0, 1.37), rel=0.12)


@pytest.mark.parametrize(
    "values", [np.abs((T / 3.3) % 1.0 - 0.5) * 4.0, 2.0 * ((T / 3.3) % 1.0)], ids=["triangle", "saw"]
)
def test_pointed_shapes_within_a_tenth(values):
    assert cycle(values, 0.01) == pytest.approx((1.0, 3.3), rel=0.11)


def test_few_samples_a_period():
    assert cycle(np.sin(2.0 * math.pi * T / 0.045), 0.01) == pytest.approx((1.0, 0.045), rel=0.03)


def slowing(ratio, count=14, first=40, size=300.0):
    """Sawteeth of +-size whose period grows by `ratio` from tooth to tooth, as one array."""
    lengths = (first * ratio ** np.arange(count)).astype(int)
    return np.concatenate([np.linspace(size, -size, n, endpoint=False) for n in lengths]), lengths


@pytest.mark.parametrize("ratio", [1.08, 1.25, 1.5, 0.8])
def test_a_period_that_changes_steadily_is_a_cycle_with_its_last_periods(ratio):
    values, lengths = slowing(ratio, 9 if ratio == 1.5 else 14, 400 if ratio < 1.0 else 40)
    found = cycle(1e5 + values, 0.01)
    assert found is not None
    assert found.amplitude == pytest.approx(300.0, rel=0.05)
    assert 0.01 * min(lengths[-6:]) <= found.period <= 0.01 * max(lengths[-6:])


def test_a_changing_period_that_dies_away_or_is_out_of_order_is_none():
    values, _ = slowing(1.2)
    assert cycle(values * np.exp(-np.arange(len(values)) / 700.0), 0.01) is None
    lengths = [60, 300, 70, 500, 90, 40, 260, 50]
    jumping = np.concatenate([np.linspace(1.0, -1.0, n) for n in lengths])
    assert cycle(jumping, 0.01) is None


@pytest.mark.parametrize(
    "values",
    [
        np.ones(500),
        1e5 + T,
        np.exp(-T / 3.0),
        (T - 3.0) ** 2,
        np.exp(-T / 8.0) * SINE,
        np.sin(2.0 * math.pi * T / 20.0),
        SINE[:8],
        np.where(T > 1e9, 0.0, np.nan),
    ],
    ids=["flat", "line", "relaxing", "bow", "dying", "too few periods", "too short", "not numbers"],
)
def test_what_is_no_cycle(values):
    assert cycle(values, 0.01) is None


@pytest.mark.parametrize("kind", ["white", "walk", "resonant"])
def test_noise_is_no_cycle(kind):
    for seed in range(60):
        x = rng(seed).normal(size=2000)
        if kind == "walk":
            x = np.cumsum(x)
        if kind == "resonant":
            for k in range(2, len(x)):
                x[k] += 1.8 * x[k - 1] - 0.9 * x[k - 2]
        assert cycle(x, 0.01) is None, seed


def test_a_coarse_drive_cycles_and_a_fine_one_does_not():
    # a steady leak asks for a drive between two levels: the loop must switch for ever
    for levels, cycling in ((8, True), (0, False)):
        memory, y, opening, out = np.zeros(4), 0.0, 0.0, []
        g, d = Gains(20.0, 1.0, track=0.5).array(0.01), drive_array(levels=(levels, levels))
        for _ in range(12000):
            out.append(y)
            inlet, outlet = shape(pid_step(memory, y, 0.5, g), d)
            opening += 0.2 * (inlet - outlet - opening)
            y += 0.01 * (0.2 * opening - 0.2 * 0.07)
        found = cycle(np.array(out[4000:]), 0.01)
        assert (found is not None) is cycling
        if found is not None:
            assert found.amplitude == pytest.approx(0.5 * np.ptp(out[4000:]), rel=0.3)
