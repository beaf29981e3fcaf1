"""From one drive to two valves."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simcal.control.drive import drive_array, pulse, shape

shares = st.floats(0.0, 1.0)


@pytest.mark.parametrize(
    ("u", "inlet", "outlet"), [(0.4, 0.4, 0.0), (-0.4, 0.0, 0.4), (0.0, 0.0, 0.0), (1.0, 1.0, 0.0)]
)
def test_split_range(u, inlet, outlet):
    assert shape(u, drive_array()) == pytest.approx((inlet, outlet))


def test_dead_band_keeps_the_valve_shut_and_full_drive_still_opens_it_fully():
    d = drive_array(dead_band=(0.1, 0.2))
    assert shape(0.1, d) == (0.0, 0.0)
    assert shape(-0.2, d) == (0.0, 0.0)
    assert shape(0.55, d) == pytest.approx((0.5, 0.0))
    assert shape(-1.0, d) == (0.0, 1.0)


def test_a_compensated_dead_band_is_gone():
    d = drive_array(dead_band=(0.1, 0.2), compensated=1.0)
    for u in (1e-6, 0.3, 1.0):
        assert shape(u, d)[0] == pytest.approx(u)
        assert shape(-u, d)[1] == pytest.approx(u)


def test_levels_quantise_each_valve_by_its_own_steps():
    d = drive_array(levels=(10, 4))
    assert shape(0.26, d) == pytest.approx((0.3, 0.0))
    assert shape(0.04, d) == (0.0, 0.0)
    assert shape(-0.26, d) == pytest.approx((0.0, 0.25))


def test_a_pulse_too_short_does_not_open():
    d = drive_array(least=(0.05, 0.1))
    assert shape(0.049, d) == (0.0, 0.0)
    assert shape(0.06, d) == pytest.approx((0.06, 0.0))
    assert shape(-0.09, d) == (0.0, 0.0)


@given(st.floats(-1.0, 1.0), st.floats(0.0, 0.9), st.integers(0, 100), shares, shares)
def test_openings_lie_between_shut_and_open_and_only_one_valve_opens(u, band, levels, compensated, least):
    inlet, outlet = shape(u, drive_array((band, band), (levels, levels), compensated, (least, least)))
    assert 0.0 <= inlet <= 1.0 + 1e-12
    assert 0.0 <= outlet <= 1.0 + 1e-12
    assert min(inlet, outlet) == 0.0


@given(st.floats(0.0, 0.9), st.integers(0, 50), shares)
def test_a_larger_drive_never_opens_less(band, levels, compensated):
    d = drive_array((band, band), (levels, levels), compensated)
    openings = [shape(float(u), d)[0] for u in np.linspace(0.0, 1.0, 101)]
    assert (np.diff(openings) >= -1e-12).all()


@pytest.mark.parametrize(
    ("command", "on"),
    [(0.0, 0.0), (0.019, 0.0), (0.02, 0.002), (0.3, 0.03), (1.0, 0.1), (2.0, 0.1), (-1.0, 0.0)],
)
def test_pulse_opens_for_its_share_of_the_period_but_not_below_the_shortest(command, on):
    assert pulse(command, 0.1, 0.002, 0.0) == pytest.approx(on)


def test_pulse_takes_whole_steps_of_its_resolution():
    assert pulse(0.347, 0.1, 0.0, 0.01) == pytest.approx(0.03)
