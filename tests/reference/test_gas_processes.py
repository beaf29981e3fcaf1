"""What a real gas does, against figures of the reference equations: fills, isentropes, throttling, sensitivities.

The figures were computed with CoolProp 8.0.0 from the equations named in test_gas.py; the relations are those of any
thermodynamics text.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from simcal.physics import energy, gas
from simcal.physics.head import GRAVITY, head
from simcal.tables.gas import NAMES, GasTable, load
from simcal.tables.grid import R
from tests.caloric import caloric

T0 = 293.15
P_3000 = 20684271.88  # Pa, 3000 psi: the rows' 20.684 MPa


def filled(t: GasTable, p: float, p_start: float | None) -> tuple[float, float]:
    """(T after an adiabatic fill from a supply at T0 and p, pressure when cooled to T0): energy balance."""
    h = gas.enthalpy(t, gas.density(t, p, T0), T0)
    rho_0 = gas.density(t, p_start, T0) if p_start else 0.0
    u_0 = gas.properties(t, rho_0, T0)[3]

    def surplus(T: float) -> float:
        rho = gas.density(t, p, T)
        return rho * gas.properties(t, rho, T)[3] - rho_0 * u_0 - (rho - rho_0) * h

    T = brentq(surplus, 300.0, 590.0, xtol=1e-9)
    return T, gas.properties(t, gas.density(t, p, T), T0)[0]


@pytest.mark.parametrize(("name", "p", "p_start", "T", "cooled"), [
    ("nitrogen", 0.1e6, None, 409.843, 71.494e3),
    ("nitrogen", 1.0e6, None, 408.682, 713.995e3),
    ("nitrogen", 7.0e6, None, 402.287, 4.94902e6),
    ("nitrogen", P_3000, None, 397.854, 14.12170e6),
    ("helium", 0.1e6, None, 488.673, None),
    ("helium", 1.0e6, None, 489.481, None),
    ("helium", 7.0e6, None, 494.829, None),
    ("helium", P_3000, None, 506.791, None),
    ("nitrogen", 1.0e6, 0.1e6, 393.484, 741.769e3),
])  # fmt: skip
def test_adiabatic_fill_of_a_real_gas(name, p, p_start, T, cooled):
    """A vessel filled at once from a supply at its own pressure has the library's temperature (check B22)."""
    found, pressure = filled(load(name), p, p_start)
    assert found == pytest.approx(T, rel=1e-5)
    if cooled:
        assert pressure == pytest.approx(cooled, rel=1e-5)


def test_isentropes_of_real_nitrogen():
    """1 MPa at 563.300 K comes from 0.1 MPa, 293.15 K; from 20.684 to 10 MPa it cools to 237.151 K (check
    B24).
    """
    t = load("nitrogen")
    _rho, T, reached = energy.expand(t, gas.density(t, 1.0e6, 563.300), 563.300, 0.1e6)
    assert reached
    assert pytest.approx(T0, rel=1e-5) == T
    _rho, T, reached = energy.expand(t, gas.density(t, P_3000, T0), T0, 10.0e6)
    assert reached
    assert pytest.approx(237.151, rel=1e-5) == T


@pytest.mark.parametrize(("name", "T"), [("nitrogen", 259.940), ("helium", 305.896)])
def test_throttling(name, T):
    """Throttled from 20.684 MPa, 293.15 K to 0.1 MPa nitrogen cools by 33.2 K, helium warms by 12.7 K (check
    B25).
    """
    t = load(name)
    h = gas.enthalpy(t, gas.density(t, P_3000, T0), T0)
    found = brentq(lambda T: gas.enthalpy(t, gas.density(t, 0.1e6, T), T) - h, 200.0, 400.0)
    assert found == pytest.approx(T, rel=1e-5)


def test_joule_thomson_coefficient_of_nitrogen():
    """At 0.1 MPa and 293.15 K it is 2.2290 K/MPa (check B25)."""
    t = load("nitrogen")
    rho = gas.density(t, 0.1e6, T0)
    _p, p_rho, p_T, _u, _u_rho, _cv = gas.properties(t, rho, T0)
    cp = caloric(t, rho, T0)[0]
    assert (T0 * p_T / p_rho - rho) / (rho * rho * cp) * 1e6 == pytest.approx(2.2290, rel=1e-4)


@pytest.mark.parametrize(("name", "values"), [
    ("nitrogen", (2.1278e-5, 3.0777e-6, 2.1199e-6, 3.0931e-7, 1.2731e-7)),
    ("helium", (1.8008e-4, 2.6269e-5, 1.8165e-5, 2.7363e-6, 1.0302e-6)),
])  # fmt: skip
def test_thermal_diffusivity(name, values):
    """k/(rho cp) at 293.15 K is the library's (check C4); helium's conductivity is smooth there."""
    t = load(name)
    for p, alpha in zip((0.1e6, 0.689476e6, 1.0e6, 7.0e6, P_3000), values, strict=True):
        rho = gas.density(t, p, T0)
        found = gas.transport(t, rho, T0)[1] / (rho * caloric(t, rho, T0)[0])
        assert found == pytest.approx(alpha, rel=1e-4)


SIX_PRESSURES = (0.1e6, 0.689476e6, 1.0e6, 7.0e6, P_3000, 35.0e6)


def test_pressure_of_a_tenth_of_a_kelvin_in_nitrogen():
    """0.1 K at constant density moves nitrogen at 20.684 MPa by 10.0 kPa, not by 7.1 (check D12)."""
    t = load("nitrogen")
    expected = (34.1951, 239.135, 349.408, 2785.03, 10017.7, 18494.6)
    for p, dp in zip(SIX_PRESSURES, expected, strict=True):
        assert 0.1 * gas.properties(t, gas.density(t, p, T0), T0)[2] == pytest.approx(dp, rel=1e-5)


@pytest.mark.parametrize(("name", "ratios"), [
    ("nitrogen", (1.00243, 1.01675, 1.02429, 1.16633, 1.41977, 1.54905)),
    ("air", (1.00246, 1.01695, 1.02459, 1.17129, 1.44612, 1.59301)),
    ("helium", (0.99995, 0.99966, 0.99950, 0.99638, 0.98857, 0.97972)),
])  # fmt: skip
def test_thermal_sensitivity_against_the_ideal(name, ratios):
    """dp/dT at constant density over p/T (check D12)."""
    t = load(name)
    for p, ratio in zip(SIX_PRESSURES, ratios, strict=True):
        assert gas.properties(t, gas.density(t, p, T0), T0)[2] * T0 / p == pytest.approx(ratio, rel=1e-5)


@pytest.mark.parametrize(("name", "ratios"), [
    ("nitrogen", (1.0005, 1.0041, 0.9971, 0.8069, 0.5696)),
    ("air", (1.0007, 1.0067, 1.0151, 0.8463, 0.5992)),
    ("helium", (0.9990, 0.9904, 0.9359, 0.8307, 0.7421)),
    ("argon", (1.0014, 1.0133, 1.0747, 1.0012, 0.7250)),
])  # fmt: skip
def test_amount_behind_a_pressure_change(name, ratios):
    """(dn/dp) at constant T over the ideal V/(R T) (check D21)."""
    t = load(name)
    for p, ratio in zip((0.1e6, 1.0e6, 7.0e6, P_3000, 35.0e6), ratios, strict=True):
        found = t.r * T0 / gas.properties(t, gas.density(t, p, T0), T0)[1]
        assert found == pytest.approx(ratio, rel=1e-4)


def test_worked_leak_at_high_pressure():
    """100 cm3 of nitrogen at 20.684 MPa losing 100 Pa in 60 s lose 5.5177e-8 mol/s, not 6.84e-8 (D21)."""
    t = load("nitrogen")
    p_rho = gas.properties(t, gas.density(t, P_3000, T0), T0)[1]
    assert 1e-4 / (t.molar_mass * p_rho) * 100.0 / 60.0 == pytest.approx(5.5177e-8, rel=1e-4)
    assert pytest.approx(6.8379e-8, rel=1e-4) == 1e-4 / (R * T0) * 100.0 / 60.0


@pytest.mark.parametrize(("name", "p", "per_metre"), [
    ("nitrogen", 0.1e6, 11.2737), ("nitrogen", 0.689476e6, 77.8318), ("nitrogen", 1.0e6, 112.9565),
    ("nitrogen", 7.0e6, 792.840), ("nitrogen", P_3000, 2205.900), ("air", 1.0e6, 116.944),
    ("helium", 1.0e6, 16.026), ("helium", P_3000, 303.275), ("argon", 1.0e6, 161.806),
])  # fmt: skip
def test_gas_head(name, p, per_metre):
    """The head of a metre of gas at 293.15 K is rho g (check E10), to the digits given."""
    found = head(gas.density(load(name), p, T0), 1.0, gauge=False)
    assert found == pytest.approx(per_metre, rel=1e-5, abs=6e-4)


def test_gas_head_of_a_gauge_device():
    """A gauge device sees the column less the room's air: the sign turns near the room's (check E11)."""
    t = load("nitrogen")
    assert head(gas.density(t, 1.0e6, T0), 1.0, gauge=True) == pytest.approx(101.1885, rel=1e-5)
    assert head(gas.density(t, 0.1e6, T0), 1.0, gauge=True) == pytest.approx(-0.494, abs=5e-4)


def test_gas_head_against_accuracy():
    """0.1 m of nitrogen is 11.3, 10.66, 9.45 ppm at 1-7, 20.684, 35 MPa; 0.89 m eats 0.01 % of reading (E12)."""
    t = load("nitrogen")
    for p, ppm in ((1.0e6, 11.3), (7.0e6, 11.3), (P_3000, 10.66), (35.0e6, 9.45)):
        assert head(gas.density(t, p, T0), 0.1, gauge=False) / p * 1e6 == pytest.approx(ppm, rel=0.01)
    rho = gas.density(t, 1.0e6, T0)
    assert 1e-4 * 1.0e6 / (rho * GRAVITY) == pytest.approx(0.89, rel=0.01)


# How far the method is from an expansion that condenses in equilibrium, from 293.15 K, 0.2 to 35 MPa.
ENERGY_DIFFERENCE = {
    "nitrogen": (-1e-6, 0.034),
    "air": (-1e-6, 0.022),
    "helium": (-1e-6, 0.0011),
    "argon": (-0.125, 0.0106),
}


@pytest.mark.parametrize("name", NAMES)
def test_stored_energy_against_the_library(name):
    """m (u1 - u2) is the library's; condensation, which the method leaves out, costs what its text says."""
    library = pytest.importorskip("simcal.tables.library", reason="CoolProp")
    coolprop = pytest.importorskip("CoolProp")
    t, state = load(name), library.plain_state(name.capitalize())
    for p in np.geomspace(0.2e6, 35.0e6, 9):
        state.update(coolprop.PT_INPUTS, p, T0)
        rho, u, s = state.rhomass(), state.umass(), state.smass()
        state.update(coolprop.PSmass_INPUTS, 101325.0, s)
        found = energy.stored_energy(t, [(1e-3, T0)], p, 101325.0) / (1e-3 * rho * (u - state.umass())) - 1.0
        low, high = ENERGY_DIFFERENCE[name]
        assert low <= found <= high
        if state.T() > t.T_min:
            assert abs(found) < 1e-6
