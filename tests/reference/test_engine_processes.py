"""Filling, pressure rise and cooling of one vessel by the engine, against closed forms and real-gas energy balances."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from simcal.engine import simulate
from simcal.engine.simulate import Effort, Linear
from simcal.physics import flow, heat
from tests.engine import networks
from tests.ideal import ideal_table
from tests.independent.eigenvalues import first_eigenvalue

ADIABATIC = [0, 1e-12, 0.1, 1.0, 1e-9]
NITROGEN, HELIUM = (0.0280134, 1.4, 17.6e-6, 0.0254), (0.004002602, 5 / 3, 19.6e-6, 0.15)


def filled(table, supply, start, hole=1e-6):
    """A vessel of 1 L that fills through a nozzle from a supply until it is at the supply's pressure."""
    net = networks.network(
        table, [1e-3], [(1, 0, flow.HOLE, -1, hole)], [supply, networks.ROOM_PA], films=[ADIABATIC], wall_heat=1e3,
        room_link=0.0, gauges=[(0, 0.01)],
    )  # fmt: skip
    return networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), start)


def end(system, times):
    """The trace of a hold with its last pressure and temperature."""
    _, trace = simulate.hold(system, simulate.begin(system), np.asarray(times, float), Effort(tolerance=0.1))
    assert trace.reason is None
    return trace.pressure_Pa[:, 0], trace.temperature_K[:, 0]


@pytest.mark.parametrize(
    ("supply", "start", "hot", "ratio"),
    [(2e5, 1e5, 342.0083, 0.857143), (5e5, 1e5, 380.0093, 0.771429), (1e6, 1e5, 394.6250, 0.742857),
     (1e6, 9e5, 301.7721, 0.971429)],
)  # fmt: skip
def test_an_adiabatic_fill_gets_as_hot_as_the_energy_balance_says(supply, start, hot, ratio):
    """Check B21: T = g Tin / (1 + (p0/p)(g Tin/T0 - 1)) for an ideal gas (any thermodynamics text)."""
    p, T = end(filled(ideal_table(*NITROGEN), supply, start), [60.0])
    assert p[0] == pytest.approx(supply, rel=1e-6)
    assert T[0] == pytest.approx(hot, rel=1e-6)
    assert 293.15 / T[0] == pytest.approx(ratio, rel=2e-6)


def test_a_real_adiabatic_fill_of_nitrogen():
    """Check B22: from 0.1 to 1 MPa of nitrogen 393.484 K, cooled 741.769 kPa (CoolProp, u2 = mixed h_in)."""
    system = filled(networks.load("nitrogen"), 1e6, 1e5)
    state, trace = simulate.hold(system, simulate.begin(system), np.array([60.0]), Effort(tolerance=0.1))
    assert trace.temperature_K[0, 0] == pytest.approx(393.484, rel=2e-5)
    from simcal.physics.gas import properties

    assert properties(system.table, state.x[0] / 1e-3, 293.15)[0] == pytest.approx(741769.0, rel=2e-5)


@pytest.mark.parametrize(("film", "speed"), [([0, 1.0, 0.1, 1.0, 1e7], 158.6314e3), (ADIABATIC, 222.0840e3)])
def test_a_steady_feed_raises_the_pressure_isothermally_or_g_times_as_fast(film, speed):
    """Check B23: 1.8231862e-3 kg/s of nitrogen at 293.15 K into 1 L: R T m/(M V), and g times that."""
    table = ideal_table(*NITROGEN)
    area = 1.8231862e-3 / (1e6 * 0.6847314563 / np.sqrt(table.r * 293.15))
    net = networks.network(
        table, [1e-3], [(1, 0, flow.HOLE, -1, area)], [1e6, networks.ROOM_PA], films=[film], wall_heat=1e9,
        room_link=0.0, gauges=[(0, 0.01)],
    )  # fmt: skip
    system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), 1e5)
    p, _ = end(system, [0.1, 0.3])
    assert (p[1] - p[0]) / 0.2 == pytest.approx(speed, rel=1e-5)


def test_helium_blows_down_as_its_own_exponent_says():
    """Checks B19 and B20 for helium, 1 to 0.2 MPa: 3.616151 s isothermal, 2.559577 s adiabatic (text form)."""
    table = ideal_table(*HELIUM)
    for film, wanted in (([0, 1.0, 0.1, 1.0, 1e7], 3.616151), (ADIABATIC, 2.559577)):
        net = networks.network(
            table, [1e-3], [(0, 1, flow.HOLE, -1, np.pi / 4 * 1e-6)], [100.0], films=[film], wall_heat=1e9,
            room_link=0.0, gauges=[(0, 0.01)],
        )  # fmt: skip
        system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), 1e6)
        p, _ = end(system, [wanted])
        assert p[0] == pytest.approx(2e5, rel=2e-5)


@pytest.mark.parametrize(("shape", "kind"), [("cylinder", heat.CYLINDER), ("sphere", heat.SPHERE)])
def test_a_sealed_vessels_last_excess_dies_as_conduction_in_a_rigid_vessel_does(shape, kind):
    """Check C3: rate alpha x1^2 / R^2 with the rigid-vessel eigenvalue, in the limit of still gas (helium, 5 mm)."""
    table = networks.load("helium")
    radius = 5e-3
    volume = 4.0 / 3.0 * np.pi * radius**3 if shape == "sphere" else np.pi * radius**2 * 0.1
    area = 4.0 * np.pi * radius**2 if shape == "sphere" else 2.0 * np.pi * radius * 0.1
    net = networks.network(
        table, [volume], [], [networks.ROOM_PA], films=[[kind, area, 2 * radius, 1.0]], wall_heat=1e6, room_link=0.0,
        gauges=[(0, 0.01)],
    )  # fmt: skip
    system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), 1e5)
    state = simulate.begin(system)
    x = state.x.copy()
    x[1] += x[0] * 3116.15 * 1e-4
    # alpha and gamma of helium at 0.1 MPa, 293.15 K: checks C4 and A1.26 (CoolProp)
    alpha, gamma = 1.8008e-4, 5193.20 / 3116.15
    rate = alpha * first_eigenvalue(shape, gamma) / radius**2
    times = np.array([0.5, 1.5]) / rate
    _, trace = simulate.hold(system, simulate.State(x, state.totals, state.memory), times, Effort(tolerance=1e-4))
    excess = trace.temperature_K[:, 0] - 293.15
    assert np.log(excess[0] / excess[1]) == pytest.approx(1.0, rel=2e-3)


def iso_6358(up, down, conductance, ratio):
    """kg/s of air at 293.15 K, ISO 6358-1: its ellipse between choking and equal pressures, rho0 = 1.185 kg/m3."""
    past = max((down / up - ratio) / (1.0 - ratio), 0.0)
    return conductance * up * 1.185 * np.sqrt(1.0 - past * past)


@pytest.mark.parametrize("down", [1e5, 4e5, 6e5])
def test_two_valves_in_series_share_the_pressure_as_their_published_law_says(down):
    """ISO 6358-1 at both (check B6): steady flow is the same through both; 1 mL of ideal air between them."""
    table, up = ideal_table(0.02896546, 1.4, 18.2e-6, 0.0259), 7e5
    first, second = (1e-8, 0.3), (1.5e-8, 0.45)
    net = networks.network(
        table, [1e-6], [(1, 0, flow.ISO, -1, *first), (0, 2, flow.ISO, -1, *second)], [up, down], films=[ADIABATIC],
        wall_heat=1e3, room_link=0.0, gauges=[(0, 0.01)],
    )  # fmt: skip
    system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), down)
    early, _ = simulate.hold(system, simulate.begin(system), np.array([5.0]))
    late, trace = simulate.hold(system, early, np.array([15.0]))
    between = brentq(lambda p: iso_6358(up, p, *first) - iso_6358(p, down, *second), down, up, xtol=1e-3)
    assert trace.temperature_K[0, 0] == pytest.approx(networks.ROOM_K, rel=1e-6)
    assert trace.pressure_Pa[0, 0] == pytest.approx(between, rel=1e-5)
    passed = np.abs(late.totals[:2] - early.totals[:2]) / 10.0
    assert passed == pytest.approx(iso_6358(up, between, *first), rel=1e-5)


def test_gas_and_wall_share_their_heat_by_their_capacities():
    """Check C14: a wall of 123.46 J/K takes 17.63/(17.63 + 123.46) of the excess of 100 mL nitrogen at 20.684 MPa."""
    table = networks.load("nitrogen")
    net = networks.network(
        table, [1e-4], [], [networks.ROOM_PA], films=[[0, 0.01, 0.05, 1.0, 500.0]], wall_heat=123.46, room_link=0.0,
        gauges=[(0, 0.01)],
    )  # fmt: skip
    system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), 20.684e6)
    state = simulate.begin(system)
    x = state.x.copy()
    x[1] += 17.63 * 1.0
    _, trace = simulate.hold(system, simulate.State(x, state.totals, state.memory), np.array([1000.0]))
    assert trace.wall_K[0, 0] - 293.15 == pytest.approx(0.125, rel=2e-3)
    assert trace.temperature_K[0, 0] == pytest.approx(trace.wall_K[0, 0], abs=1e-6)


def test_the_linear_model_has_the_gain_of_a_volume():
    """Check F6: 1 L of nitrogen at 293.15 K answers a flow by R T/(M V) = 8.700781e7 Pa/kg, g times that at once."""
    table = ideal_table(*NITROGEN)
    for film, gain in (([0, 1.0, 0.1, 1.0, 1e7], 8.700781e7), (ADIABATIC, 1.4 * 8.700781e7)):
        net = networks.network(
            table, [1e-3], [(1, 0, flow.ISO, 0, 1e-12, 0.3)], [3e6, networks.ROOM_PA], films=[film], wall_heat=1e9,
            room_link=0.0, gauges=[(0, 0.01)], valve_lags=[1e-4],
        )  # fmt: skip
        system = networks.system(net, table, networks.pid(1, outlet=-1), 1e6)
        linear: Linear = simulate.linear_model(system, simulate.begin(system))
        settled = np.linalg.matrix_power(linear.E, 40)
        one = linear.pressure[0] @ (np.linalg.matrix_power(linear.E, 41) - settled) @ linear.G[:, 0]
        two = linear.pressure[0] @ sum(np.linalg.matrix_power(linear.E, k) @ linear.G[:, 0] for k in range(40, 42))
        choked = 1e-12 * 1.185 * 3e6 * 0.6847314563 / 0.6847314563 * np.sqrt(28.0134 / 28.96546)
        assert two / (2 * 0.01 * choked) == pytest.approx(gain, rel=2e-3)
        assert abs(one) < 0.1 * abs(two)
