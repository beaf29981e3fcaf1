"""Leaks: units, what a fixed volume loses, how a limit moves with pressure and gas, permeation with its lag.

Checks D1-D6 (units) stand in tests/test_units.py, D12 and the factors of D21 in test_gas_processes.py, the laws at
single states (B13-B18, D13) in test_flow.py. D14-D16 and D19 are about documents and need no number.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from simcal.engine import simulate
from simcal.engine.simulate import Effort
from simcal.physics import flow, permeation, rates, stated
from simcal.stats.slope import slope_sd
from simcal.tables.gas import load
from tests.engine import networks
from tests.ideal import AIR, HELIUM, NITROGEN, ideal_table

R = 8.314462618
ROOM = 293.15
SCCM0 = 101325.0 * 1e-6 / 60.0
ISOTHERMAL = [0, 1.0, 0.1, 1.0, 1e7]


def test_a_rate_is_an_amount_whatever_it_was_stated_in():
    """Checks D2-D5: definitions with R = 8.314462618 J/(mol K), CODATA; N2 28.0134, He 4.002602 g/mol."""
    assert rates.from_pressure_volume(1.0, ROOM) == pytest.approx(4.102758e-4, rel=1e-6)
    assert rates.from_pressure_volume(1.0, 273.15) == pytest.approx(4.403161e-4, rel=1e-6)
    for T, rate in ((273.15, 7.435839e-7), (293.15, 6.928533e-7), (298.15, 6.812341e-7)):
        assert rates.from_pressure_volume(SCCM0, T) == pytest.approx(rate, rel=1e-6)
    assert rates.to_pressure_volume(7.435839e-7, ROOM) == pytest.approx(1.812400e-3, rel=1e-6)
    assert rates.from_mass(2.083031e-8, NITROGEN) == pytest.approx(7.435839e-7, rel=1e-6)
    assert rates.from_mass(2.976270e-9, HELIUM) == pytest.approx(7.435839e-7, rel=1e-6)


def test_a_fall_of_pressure_in_a_volume_is_a_rate():
    """Check D7: Q = V dp/dt, ideal gas: 1 L, 100 Pa in 60 s is 1.666667e-3 Pa m3/s, 0.919591 sccm(0 degC)."""
    gas = ideal_table()
    rate = rates.from_pressure_fall(gas, 1e-3, 2e5, ROOM, 100.0 / 60.0)
    assert rates.to_pressure_volume(rate, ROOM) == pytest.approx(1.666667e-3, rel=1e-6)
    assert rate / 7.435839e-7 == pytest.approx(0.919591, rel=1e-6)
    limit = rates.from_pressure_volume(1e-4, ROOM)
    assert rates.to_pressure_fall(gas, 1e-4, 2e5, ROOM, limit) * 60.0 == pytest.approx(60.0, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "shares"),
    [
        ("nitrogen", (1.0005, 1.0041, 0.9971, 0.8069, 0.5696)),
        ("air", (1.0007, 1.0067, 1.0151, 0.8463, 0.5992)),
        ("helium", (0.9990, 0.9904, 0.9359, 0.8307, 0.7421)),
        ("argon", (1.0014, 1.0133, 1.0747, 1.0012, 0.7250)),
    ],
)
def test_what_a_volume_loses_goes_by_real_density(name, shares):
    """Check D21: V (dn/dp)_T dp/dt over V/(R T) dp/dt at 293.15 K, computed with CoolProp; 1e-4."""
    for p, share in zip((0.1e6, 1e6, 7e6, 20.684e6, 35e6), shares, strict=True):
        rate = rates.from_pressure_fall(load(name), 1e-4, p, ROOM, 1.0)
        assert rate / (1e-4 / (R * ROOM)) == pytest.approx(share, abs=1.1e-4)


def test_a_rate_at_high_pressure_is_not_the_ideal_one():
    """Check D21, worked with CoolProp: 100 cm3 of nitrogen at 20.684 MPa, -100 Pa in 60 s: 5.5177e-8 mol/s."""
    rate = rates.from_pressure_fall(load("nitrogen"), 1e-4, 20.684e6, ROOM, 100.0 / 60.0)
    assert rate == pytest.approx(5.5177e-8, rel=1e-4)
    whole = rates.between(load("nitrogen"), 1e-4, 60.0, 20.684e6, ROOM, 20.684e6 - 100.0, ROOM)
    assert whole == pytest.approx(rate, rel=1e-5)


def test_a_rate_between_two_states_minds_the_temperature():
    """Check D8: mass change of an ideal gas, the principle of EN 13184 and ASTM E2930."""
    rate = rates.between(ideal_table(), 0.5e-3, 120.0, 1.0000e6, 293.25, 0.9993e6, 293.15)
    assert rate == pytest.approx(6.136940e-7, rel=1e-6)
    assert rates.to_pressure_volume(rate, ROOM) == pytest.approx(1.495808e-3, rel=1e-6)
    blind = rates.between(ideal_table(), 0.5e-3, 120.0, 1.0000e6, ROOM, 0.9993e6, ROOM)
    assert rates.to_pressure_volume(blind, ROOM) == pytest.approx(2.916667e-3, rel=1e-6)


def test_the_worked_example_of_a_regulation():
    """Check D9: US 40 CFR 1065.644, vacuum-decay leak: 2.0000 L, 25.300 to 50.600 kPa in 70 s; it prints 0.00030.

    Its R is 8.314472 J/(mol K); the leak is inward, so out of the volume it is negative.
    """
    inward = -rates.between(ideal_table(), 2.0e-3, 70.0, 25.3e3, ROOM, 50.6e3, ROOM)
    assert inward * R / 8.314472 == pytest.approx(2.965705e-4, rel=1e-6)
    assert round(inward, 5) == 0.00030


def test_the_uncertainty_of_a_rate_between_two_states():
    """Check D10: law of propagation of uncertainty on D8, u(p) 20 Pa, u(T) 10 mK at both ends.

    The row's numbers are those of both ends at 1 MPa and 293.15 K; at the states of D8 the derivatives are taken by
    differences, 0.06 % away from them.
    """
    volume = (ideal_table(), 0.5e-3, 120.0)
    for u, wanted in ((20.0, 2.33009e-4), (0.0, 2.01008e-4)):
        found = rates.to_pressure_volume(rates.between_sd(*volume, 1e6, ROOM, u, 0.01), ROOM)
        assert found == pytest.approx(wanted, rel=1e-5)
    states, steps = np.array([1.0000e6, 293.25, 0.9993e6, 293.15]), np.diag([20.0, 0.01, 20.0, 0.01])
    parts = [rates.between(*volume, *(states + step)) - rates.between(*volume, *(states - step)) for step in steps]
    found = rates.between_sd(*volume, 0.99965e6, 293.20, 20.0, 0.01)
    assert found == pytest.approx(0.5 * math.hypot(*parts), rel=1e-6)


@pytest.mark.parametrize(("p", "dp"), [(1e6, 341.122), (689475.7293, 235.196), (20684271.88, 7055.87)])
def test_a_tenth_of_a_kelvin_looks_like_this_leak(p, dp):
    """Check D11: dp = p dT/T of an ideal gas, 0.1 K at 293.15 K: gas that cools looks like that fall."""
    looks = rates.between(ideal_table(), 1e-3, 1.0, p, ROOM, p - dp, ROOM)
    assert rates.between(ideal_table(), 1e-3, 1.0, p, ROOM, p, ROOM + 0.1) == pytest.approx(looks, rel=4e-4)
    u = rates.between_sd(ideal_table(), 1e-3, 1.0, p, ROOM, dp, 0.0)
    printed = 0.5 * 10.0 ** (math.floor(math.log10(dp)) - 5) / dp  # half of the row's last digit
    assert rates.between_sd(ideal_table(), 1e-3, 1.0, p, ROOM, 0.0, 0.1) == pytest.approx(u, rel=printed)


def test_a_limit_moves_with_pressure_by_its_law():
    """Check D13: laminar p1^2 - p2^2 (5 to 1 against 2 to 1 bar: 8), molecular p1 - p2 (4), choked hole p1 (2.5)."""
    gas = ideal_table()
    factor = {law: stated.limit_factor(law, 2e5, 5e5, 1e5, ROOM, gas) for law in stated.LIMIT_LAWS}
    assert factor == pytest.approx({"hole": 2.5, "laminar": 8.0, "molecular": 4.0, "none": 1.0}, rel=1e-9)


def test_a_limit_of_another_gas_moves_by_its_law():
    """Check D13: amounts go laminar with 1/viscosity (air/He 1.0781), molecular with 1/sqrt(M) (He/air 2.69010).

    A choked hole: amounts with psi*/sqrt(M), nitrogen to helium (0.726184/0.684731) sqrt(28.0134/4.002602).
    """
    air, helium, nitrogen = (
        ideal_table(AIR, 1.4, 18.19e-6), ideal_table(HELIUM, 5.0 / 3.0, 19.61e-6), ideal_table(NITROGEN)
    )  # fmt: skip
    to = (5e5, 5e5, 1e5, ROOM)
    assert stated.limit_factor("laminar", *to, air, helium) == pytest.approx(1.0781, rel=1e-4)
    assert stated.limit_factor("molecular", *to, helium, air) == pytest.approx(2.69010, rel=1e-5)
    assert stated.limit_factor("molecular", *to, helium, nitrogen) == pytest.approx(2.64552, rel=1e-5)
    ratio = 0.726184 / 0.684731 * math.sqrt(28.0134 / 4.002602)
    assert stated.limit_factor("hole", *to, helium, nitrogen) == pytest.approx(ratio, rel=2e-6)


def test_a_limit_at_high_pressure_minds_the_real_gas():
    """Check B5: critical flow factors of nitrogen at 1 and 20.684 MPa, 0.687310 and 0.726347 (CoolProp)."""
    factor = stated.limit_factor("hole", 1e6, 20.684e6, 1e5, ROOM, load("nitrogen"))
    assert factor == pytest.approx(20.684 * 0.726347 / 0.687310, rel=2e-5)


def test_a_laminar_limit_minds_the_gas_all_along_its_path():
    """The integral of 2 p/(Z viscosity) over the pressure: CoolProp 8.0 and an adaptive rule, nitrogen at 293.15 K.

    From 20.684 MPa to 0.1 MPa it is 357.535 times that from 1 MPa; with both properties of the upstream side, 309.261.
    """
    factor = stated.limit_factor("laminar", 1e6, 20.684e6, 1e5, ROOM, load("nitrogen"))
    assert factor == pytest.approx(357.535, rel=1e-3)


def test_wrong_limits_are_refused_in_words():
    with pytest.raises(ValueError, match='must be "hole", "laminar" or "molecular"'):
        stated.law_flow("orifice", 5e5, 1e5, ROOM, ideal_table())
    with pytest.raises(ValueError, match="must be one of hole, laminar, molecular, none"):
        stated.limit_factor("orifice", 2e5, 5e5, 1e5, ROOM, ideal_table())
    with pytest.raises(ValueError, match="must be above p_low"):
        stated.limit_factor("hole", 2e5, 1e5, 1e5, ROOM, ideal_table())
    with pytest.raises(ValueError, match="must lie inside the gas table"):
        rates.from_pressure_fall(load("nitrogen"), 1e-4, 1e5, 5000.0, 1.0)


def test_what_a_decay_test_must_resolve():
    """Check D18: ASTM E2930-13 (2021), 5.1: resolution ten times, accuracy four times finer than the rate."""
    assert rates.decay_test_needs(1e-4) == pytest.approx((1e-5, 2.5e-5), rel=1e-12)


def test_the_slope_of_evenly_spaced_readings():
    """Check D20: least squares; 1.414214 sigma/tau of two points, 0.436320 of 61; against the normal equations."""
    assert slope_sd(1.0, 1.0, 2) == pytest.approx(1.414214, rel=1e-6)
    assert slope_sd(1.0, 1.0, 61) == pytest.approx(0.436320, rel=1e-6)
    t = np.linspace(0.0, 90.0, 37)
    design = np.column_stack((t, np.ones_like(t)))
    normal = np.linalg.inv(design.T @ design)
    assert slope_sd(5.0, 90.0, 37) == pytest.approx(5.0 * math.sqrt(normal[0, 0]), rel=1e-12)


def held(edge, p_start, p_room, times, capacity=1e-4):
    """Pressures of a rigid isothermal volume of ideal nitrogen that leaks to a room at p_room."""
    table = ideal_table()
    net = networks.network(
        table, [capacity], [(0, 1, *edge)], [p_room], films=[ISOTHERMAL], wall_heat=1e9, room_link=0.0,
        gauges=[(0, 0.01)],
    )  # fmt: skip
    system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), p_start)
    _, trace = simulate.hold(system, simulate.begin(system), np.asarray(times, float), Effort(tolerance=0.1))
    assert trace.reason is None
    return trace.pressure_Pa[:, 0]


def test_a_laminar_leak_empties_a_volume_as_its_closed_form_says():
    """dp/dt = -k (p^2 - p0^2): (p - p0)/(p + p0) falls as exp(-2 p0 k t). Separation of variables."""
    gas, p0, p1 = ideal_table(), 1e5, 8e5
    k = 1.0 / (2.0 * p0 * 100.0)  # 100 s to fall e times at last
    coefficient = k * 1e-4 * 17.6e-6 / gas.r
    times = np.array([1.0, 10.0, 50.0, 200.0, 500.0])
    share = (p1 - p0) / (p1 + p0) * np.exp(-2.0 * p0 * k * times)
    exact = p0 * (1.0 + share) / (1.0 - share)
    assert held((flow.LAMINAR, -1, coefficient), p1, p0, times) == pytest.approx(exact, rel=1e-6)


def test_a_choked_leak_empties_a_volume_exponentially():
    """p = p1 exp(-t/tau), tau = V/(Cd A psi* sqrt(r T)), check B19's isothermal form; any gas dynamics text."""
    gas, area = ideal_table(), 1e-8
    tau = 1e-4 / (area * 0.6847314563772704 * math.sqrt(gas.r * ROOM))
    times = np.array([0.1, 1.0, 2.0]) * tau
    assert held((flow.HOLE, -1, area), 1e6, 100.0, times) == pytest.approx(1e6 * np.exp(-times / tau), rel=1e-6)


def test_a_molecular_leak_meets_the_room_exponentially():
    """p - p0 = (p1 - p0) exp(-t/tau), tau = V/(K r sqrt(T)): linear, closed form."""
    gas, p0 = ideal_table(), 101325.0
    k = 1e-4 / (gas.r * math.sqrt(ROOM) * 50.0)
    times = np.array([5.0, 50.0, 300.0])
    exact = p0 + 4e5 * np.exp(-times / 50.0)
    assert held((flow.MOLECULAR, -1, k), p0 + 4e5, p0, times) == pytest.approx(exact, rel=1e-6)


def series(t):
    """Amounts that have left and entered a slab after a step, over steady flow x L^2/D; t in L^2/D.

    J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), equations 4.24 and 4.24a and their time integrals.
    """
    n = np.arange(1, 400)[:, None]
    fade = np.exp(-((n * np.pi) ** 2) * t) / n**2
    left = t - 1.0 / 6.0 - 2.0 / np.pi**2 * ((-1.0) ** n * fade).sum(axis=0)
    return left, t + 1.0 / 3.0 - 2.0 / np.pi**2 * fade.sum(axis=0)


def permeated(lag, times):
    """Amounts [mol] that have gone into, and come out of, a slab between 200 Pa and 10 kPa of ideal nitrogen."""
    table = ideal_table()
    slab = permeation.ladder(1e-12, lag)
    capacity = slab.store * R * ROOM
    k = [g * table.molar_mass * math.sqrt(ROOM) for g in slab.ways]
    edges = [(way[0], way[1], flow.MOLECULAR, -1, k[i]) for i, way in enumerate([(2, 0), (0, 1), (1, 3)])]
    film = [0, 1.0, 1e-3, 1.0, 1e4 * capacity]
    net = networks.network(
        table, [capacity] * 2, edges, [10200.0, 200.0], films=[film] * 2, wall_heat=1.0, gauges=[(0, 0.01)]
    )
    system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), 200.0)
    state, rows = simulate.begin(system), []
    for time in times:
        state, trace = simulate.hold(system, state, np.array([time]), Effort(tolerance=0.01))
        assert trace.reason is None
        gained = state.x[:2].sum() - simulate.begin(system).x[:2].sum()
        assert gained == pytest.approx(state.totals[0] - state.totals[2], rel=1e-9)
        rows.append((state.totals[2] / table.molar_mass, state.totals[0] / table.molar_mass))
    return np.array(rows).T


def test_a_slab_has_the_lags_and_the_stored_gas_of_the_published_series():
    """Crank, 2nd ed. (1975), 4.3.3: the steady lines are shifted by L^2/(6 D) and -L^2/(3 D), Daynes 1920."""
    lag = permeation.lag(2e-3, 1e-10)
    assert lag == pytest.approx(6666.667, rel=1e-6)
    whole, steady = 6.0 * lag, 1e-12 * 1e4
    times = np.array([0.05, 0.1, 0.2, 0.4, 0.8, 1.6]) * whole
    left, entered = permeated(lag, times)
    exact_left, exact_entered = series(times / whole)
    assert left[-1] / steady == pytest.approx(times[-1] - lag, rel=1e-5)
    assert entered[-1] / steady == pytest.approx(times[-1] + 2.0 * lag, rel=1e-5)
    # before that the two stores stand for the series within what `ladder` says of itself
    assert np.abs(left / (steady * lag) - 6.0 * exact_left).max() < 0.05
    assert np.abs(entered / (steady * lag) - 6.0 * exact_entered).max() < 0.5


def test_a_slab_passes_permeability_times_area_over_thickness():
    """Steady flow P A dp/L: 300 mm2, 2 mm, 4.4615e-16 mol/(m s Pa) (1e-8 std cm3 cm/(cm2 s bar), check G9)."""
    per_bar = 1e-8 * 3.0 / 0.2 * 101325.0 * 1e-6 / (R * 273.15)
    assert permeation.conductance(4.4615e-16, 3e-4, 2e-3) * 1e5 == pytest.approx(per_bar, rel=1e-4)
