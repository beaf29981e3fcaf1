"""One contract for all flow laws: what the engine relies on, whichever law an edge has."""

import itertools
import math

import numpy as np
import pytest

from simcal.physics import leaks, tube
from simcal.physics.flow import HOLE, LAWS, PARAMETERS, Upstream, edge_flow
from simcal.physics.nozzle import START

R = 8.314462618


def gas(molar_mass, viscosity, gamma, z=1.0):
    choked = math.sqrt(gamma * (2.0 / (gamma + 1.0)) ** ((gamma + 1.0) / (gamma - 1.0)))
    return Upstream(R / molar_mass, z, viscosity, gamma, choked, molar_mass)


NITROGEN = gas(0.0280134, 17.6e-6, 1.4)
HELIUM = gas(0.004002602, 19.6e-6, 5.0 / 3.0, z=1.1)
GASES = {"nitrogen": NITROGEN, "helium": HELIUM}

CASES = {
    "iso": [(1e-8, 0.3), (2e-9, 0.528), (1e-9, 0.0), (1e-9, 0.995)],
    "kv": [(0.1, 0.7), (0.01, 0.4)],
    "hole": [(1e-6,), (1e-10,)],
    "tube": [
        (2e-3, 1.0, 1.5e-6),
        (4e-3, 0.2, 1e-4),
        (5e-5, 0.5, 1.5e-6),
        (1e-3, 0.005, 0.0),
        (1e-3, 1.0, 1e-4),
        (4e-3, 0.1, 1.5e-6, 2.0),
        (4e-3, 0.01, 1.5e-6, 65.0),
    ],
    "laminar": [(1e-18,)],
    "molecular": [(1e-10,)],
    "seat": [(1e-18, 1e-12), (0.0, 1e-12)],
    "regulator": [(1e-8,)],
    "servo": [(1e-8,)],
    "seal": [
        (1e-18, 1e-12, 0.0, 1.2, 1e-6, 1e9, 0.0, 1e-9),
        (1e-18, 1e-12, 0.3, 0.2, 1e-7, 5e5, 1e-6, 1e-9),
        (1e-18, 1e-12, 1.0, 700.0, 0.0, 1e7, 1e-6, 1e-10),
        (1e-18, 1e-12, 0.0, 0.5, -2e-7, 1e9, 0.0, 1e-9),
        (1e-18, 1e-12, 0.0, 1.2, 1e-7, 1e9, 0.0, 1e-9, 4e5, 5e-7),
    ],
}
MAY_FALL = {"seal"}
"""Laws whose path closes as the difference grows: rubber is pressed on its face by the very pressure it holds."""
ALL = [
    pytest.param(name, np.pad(numbers, (0, PARAMETERS - len(numbers))), GASES[g], id=f"{name}-{k}-{g}")
    for name in LAWS
    for k, numbers in enumerate(CASES[name])
    for g in GASES
]
each_law = pytest.mark.parametrize(("name", "a", "gas"), ALL)

PRESSURES = (1e-2, 1e3, 1e5, 1e6, 2e7)
T = 293.15
DROPS = (1e-9, 1e-6, 1e-3, 0.5 * START, 0.9 * START, 1.1 * START, 0.03, 0.1, 0.3, 0.44, 0.6, 0.9, 0.9999)


def flow(name, p_up, p_down, T_up, gas, a):
    return edge_flow(LAWS[name], p_up, p_down, T_up, gas, a)


def test_every_law_has_a_case():
    assert set(CASES) == set(LAWS)
    assert sorted(LAWS.values()) == list(range(len(LAWS)))


@each_law
def test_flow_is_zero_at_equal_pressure(name, a, gas):
    for p in PRESSURES:
        m, _, _, warm = flow(name, p, p, T, gas, a)
        assert m == 0.0
        assert warm == 0.0


@each_law
def test_slope_at_equal_pressure_is_finite_and_the_same_from_both_sides(name, a, gas):
    for p in PRESSURES:
        _, up, down, _ = flow(name, p, p, T, gas, a)
        assert 0.0 < up < np.inf
        assert up == pytest.approx(-down, rel=1e-12)
        _, near, far, _ = flow(name, p * (1.0 + 1e-14), p, T, gas, a)
        assert near == pytest.approx(up, rel=1e-5)
        assert far == pytest.approx(down, rel=1e-5)


@each_law
def test_flow_is_positive_and_rises_with_upstream_and_never_with_downstream_pressure(name, a, gas):
    for p in PRESSURES:
        flows = [flow(name, p, p * (1.0 - x), T, gas, a) for x in np.linspace(0.0, 1.0, 401)]
        m = np.array([f[0] for f in flows])
        assert np.all(m[1:] > 0.0)
        if name in MAY_FALL:
            continue
        assert np.all(np.diff(m) >= -1e-12 * m[-1])
        assert all(f[2] <= 0.0 for f in flows)
    for p_down in PRESSURES if name not in MAY_FALL else ():
        ratios = np.concatenate(([1.0], 1.0 + np.geomspace(1e-8, 20.0, 400)))
        flows = [flow(name, p_down * k, p_down, T, gas, a) for k in ratios]
        assert np.all(np.diff([f[0] for f in flows]) > 0.0)
        assert all(f[1] > 0.0 for f in flows)


@each_law
def test_derivatives_agree_with_central_differences(name, a, gas):
    for p, x in itertools.product(PRESSURES, DROPS):
        here = (p, p * (1.0 - x), T)
        m, *slopes = flow(name, *here, gas, a)
        steps = (1e-4 * (here[0] - here[1]), 1e-4 * min(here[0] - here[1], here[1]), 1e-4 * T)
        for i, (slope, step) in enumerate(zip(slopes, steps, strict=True)):
            high, low = list(here), list(here)
            high[i] += step
            low[i] -= step
            above, below = flow(name, *high, gas, a)[0], flow(name, *low, gas, a)[0]
            rounding = 1e-14 * m / step * (p / (here[0] - here[1]))
            assert (above - below) / (high[i] - low[i]) == pytest.approx(slope, rel=3e-5, abs=rounding), (
                p,
                x,
                i,
            )


def changes_of_form(name, gas, a, p):
    """The pressure drop fractions at which a law changes its form."""
    if name == "iso":
        return [START, 1.0 - a[1]]
    if name == "kv":
        return [START, gas.gamma / 1.4 * a[1]]
    critical = 1.0 - (2.0 / (gas.gamma + 1.0)) ** (gas.gamma / (gas.gamma - 1.0))
    if name == "hole":
        return [START, critical]
    if name == "tube":
        per_square = a[0] ** 3 / (gas.viscosity**2 * gas.z * gas.r * T * a[1])
        squares = (tube.LAMINAR_END_X2, tube.turbulent_start(min(a[2] / a[0], tube.ROUGHEST)) ** 2)
        remain = [1.0 - square / per_square / p**2 for square in squares]
        return [critical, *(1.0 - math.sqrt(rest) for rest in remain if rest > 0.0)]
    if name == "seal":
        lifted = -a[3] / a[4] if a[4] < 0.0 else math.inf
        return [dp / p for dp in (a[5], a[8], lifted) if 0.0 < dp < p]
    return []


@each_law
def test_value_and_slope_do_not_jump_where_the_form_changes(name, a, gas):
    for p in PRESSURES:
        for x in changes_of_form(name, gas, a, p):
            step = 1e-9 * min(x, 1.0 - x)
            before = flow(name, p, p * (1.0 - x + step), T, gas, a)
            after = flow(name, p, p * (1.0 - x - step), T, gas, a)
            scale = (before[0], before[0] / p, before[0] / p, before[0] / T)
            # A root-like approach to choking or to equality turns a step of 1e-9 into at most 1e-4 of slope.
            for old, new, size in zip(before, after, scale, strict=True):
                assert new == pytest.approx(old, rel=1e-4, abs=1e-4 * size)


@pytest.mark.parametrize(("name", "a", "gas"), [case for case in ALL if case.values[0] in ("iso", "kv", "hole")])
def test_choked_flow_does_not_feel_the_downstream_pressure(name, a, gas):
    for p in PRESSURES:
        choked = max(changes_of_form(name, gas, a, p))
        flows = [flow(name, p, p * (1.0 - x), T, gas, a) for x in np.linspace(choked * 1.0001, 1.0, 7)]
        assert all(f == flows[0] for f in flows)
        assert flows[0][2] == 0.0
        assert flows[0][1] == pytest.approx(flows[0][0] / p, rel=1e-12)


@pytest.mark.parametrize("gas", GASES.values(), ids=GASES)
def test_no_tube_passes_more_than_the_ideal_nozzle_of_its_bore(gas):
    for numbers in CASES["tube"]:
        a = np.pad(numbers, (0, PARAMETERS - len(numbers)))
        nozzle = np.zeros(PARAMETERS)
        nozzle[0] = 0.25 * math.pi * a[0] ** 2 * math.sqrt(max(a[3], 1.0))  # a piece bears its part of the head only
        for p, x in itertools.product(PRESSURES, np.linspace(START, 1.0, 50)):
            through = flow("tube", p, p * (1.0 - x), T, gas, a)[0]
            assert through < edge_flow(HOLE, p, p * (1.0 - x), T, gas, nozzle)[0]


@pytest.mark.parametrize("gas", GASES.values(), ids=GASES)
def test_no_channel_under_a_seal_passes_more_than_choked_flow_through_its_bore(gas):
    a = np.array([1e-12, 1e-9, 0.0, 0.5, -2e-7, 1e5, 1e-5, 1e-9, 3e5, 1e-7])
    for p in (1e6, 2e7):
        for x in DROPS:
            bore = leaks.channel_bore(p * x, a)[0]
            choked = a[7] * bore**2 * gas.c_star * p / math.sqrt(gas.r * T)
            assert flow("seal", p, p * (1.0 - x), T, gas, a)[0] <= choked * (1.0 + 1e-12)
    assert flow("seal", 2e7, 2e3, T, gas, a)[0] > 0.5 * choked


@pytest.mark.parametrize("roughness", [0.0, 1e-6, 1e-4, 1e-3, 1e-2, 0.03, 0.2])
def test_reynolds_number_rises_with_the_pressure_drop_through_the_transition(roughness):
    x2 = np.geomspace(1e4, 1e7, 3000)
    both = np.array([tube.reynolds_number(square, roughness) for square in x2])
    assert np.all(np.diff(both[:, 0]) > 0.0)
    assert np.all(both[:, 1] > 0.0)


@pytest.mark.parametrize(("name", "a", "gas"), [case for case in ALL if case.values[0] != "tube"])
def test_flow_scales_with_the_size_of_the_path(name, a, gas):
    double = a.copy()
    double[0] *= 2.0
    if name in ("seat", "seal"):
        double[1] *= 2.0
    if name == "seal":
        double[7] *= 2.0
    for x in DROPS:
        one, two = (flow(name, 1e6, 1e6 * (1.0 - x), T, gas, k) for k in (a, double))
        assert two == pytest.approx(2.0 * np.array(one), rel=1e-14)


def test_a_law_that_may_fall_does_fall_and_the_others_are_held_to_rise():
    for name in MAY_FALL:
        a = np.array(CASES[name][0])
        flows = [flow(name, p, 1e5, T, NITROGEN, a)[0] for p in (1.1e5, 3e5, 5e6)]
        assert flows[1] > flows[0] and flows[1] > flows[2]
    assert len(MAY_FALL) == 1
