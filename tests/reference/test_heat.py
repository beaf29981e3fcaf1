"""Heat laws against published numbers, closed forms, a finite volume solution and `ht`."""

import math

import numpy as np
import pytest
from ht.conv_free_enclosed import Nu_Nusselt_Rayleigh_Hollands
from ht.conv_free_immersed import Nu_horizontal_cylinder_Churchill_Chu, Nu_vertical_plate_Churchill
from scipy.integrate import solve_ivp

from simcal.physics import conduction, convection, heat, shapes
from simcal.physics.gas import density, properties, transport
from simcal.tables.gas import load
from tests.independent.eigenvalues import first_eigenvalue

POLYNOMIALS = {
    "slab": conduction.slab_eigenvalue,
    "cylinder": conduction.cylinder_eigenvalue,
    "sphere": conduction.sphere_eigenvalue,
}
WITHIN = {"slab": 1.3e-5, "cylinder": 1e-6, "sphere": 1e-6}
ROOM = 293.15


def state(name, p, T=ROOM):
    """(rho, viscosity, conductivity, cp, cv, beta) of a real gas."""
    table = load(name)
    rho = density(table, p, T)
    _, p_rho, p_T, _, _, cv = properties(table, rho, T)
    viscosity, conductivity, _ = transport(table, rho, T)
    return rho, viscosity, conductivity, cv + T * p_T**2 / (rho**2 * p_rho), cv, p_T / (rho * p_rho)


def film(dT, gas, kind, area=1.0, diameter=1.0, multiplier=1.0, fixed=0.0, jet_bore=0.0, jet=0.0):
    f = np.array([heat.FILMS[kind], area, diameter, multiplier, fixed, jet_bore, 0.0, 0.0])
    return heat.film(dT, ROOM, *gas, jet, f)


CALM = (1e-9, 2e-5, 0.025, 1000.0, 1000.0 / 1.4, 0.0)
"""A gas that does not convect: only the conduction floor is left."""


@pytest.mark.parametrize(
    ("shape", "gamma", "square"),
    [
        ("slab", 1.0, 2.467401),
        ("cylinder", 1.0, 5.783186),
        ("sphere", 1.0, 9.869604),
        ("slab", 1.4, 3.206174),
        ("cylinder", 1.4, 7.183090),
        ("sphere", 1.4, 11.887232),
        ("slab", 5.0 / 3.0, 3.636994),
        ("cylinder", 5.0 / 3.0, 7.929121),
        ("sphere", 5.0 / 3.0, 12.894427),
    ],
)
def test_first_eigenvalue(shape, gamma, square):
    """Checks C1 (gamma 1: Carslaw & Jaeger, Conduction of Heat in Solids) and C3 (rigid vessel, derived)."""
    assert first_eigenvalue(shape, gamma) == pytest.approx(square, abs=1e-6)
    assert POLYNOMIALS[shape](gamma) == pytest.approx(square, rel=WITHIN[shape])


@pytest.mark.parametrize("shape", POLYNOMIALS)
def test_polynomials_follow_the_roots(shape):
    """C3 over the whole range of gamma, dense gas near its critical point included."""
    for gamma in (1.0, 1.05, 1.2, 1.3, 1.5, 1.688, 2.0, 2.5, 3.0, 4.0, 5.0, 6.6):
        root = first_eigenvalue(shape, gamma)
        assert POLYNOMIALS[shape](gamma) == pytest.approx(root, rel=WITHIN[shape])


@pytest.mark.parametrize(("shape", "power"), [("slab", 0), ("cylinder", 1), ("sphere", 2)])
@pytest.mark.parametrize("gamma", [1.4, 5.0 / 3.0])
def test_eigenvalue_against_finite_volumes(shape, power, gamma):
    """C3 found again: 300 cells, rho cp dT/dt = k lap T + dp/dt at constant mass and volume."""
    cells = 300
    faces = np.linspace(0.0, 1.0, cells + 1)
    volume = np.diff(faces ** (power + 1)) / (power + 1)
    across = faces**power * cells
    across[0], across[-1] = 0.0, 2.0 * across[-1]
    laplace = np.zeros((cells, cells))
    for i in range(cells):
        laplace[i, i] = -(across[i] + across[i + 1]) / volume[i]
        if i > 0:
            laplace[i, i - 1] = across[i] / volume[i]
        if i < cells - 1:
            laplace[i, i + 1] = across[i + 1] / volume[i]
    mean = volume / volume.sum()
    # Ideal gas, small change: dp/dt = rho cp (1 - 1/gamma) d(mean T)/dt, so (1 - s mean) dT/dt = alpha lap T.
    s = 1.0 - 1.0 / gamma
    rates = np.linalg.eigvals(np.linalg.solve(np.eye(cells) - s * np.outer(np.ones(cells), mean), laplace))
    slowest = -np.max(rates.real)
    assert first_eigenvalue(shape, gamma) == pytest.approx(slowest, rel=5e-5)


MEAN_AFTER_STEP = {
    "slab": (0.495912, 0.236050),
    "cylinder": (0.217852, 0.0383787),
    "sphere": (0.0845044, 0.00437214),
}


@pytest.mark.parametrize("shape", MEAN_AFTER_STEP)
def test_late_decay_after_a_wall_step(shape):
    """Check C2: mean temperature at Fo 0.2 and 0.5; between them the first mode alone decays rules."""
    early, late = MEAN_AFTER_STEP[shape]
    first = first_eigenvalue(shape, 1.0)
    weight = {"slab": 8.0 / math.pi**2, "cylinder": 4.0 / first, "sphere": 6.0 / math.pi**2}[shape]
    assert weight * math.exp(-0.5 * first) == pytest.approx(late, rel=1e-5)
    assert weight * math.exp(-0.2 * first) == pytest.approx(early, rel=5e-3)


@pytest.mark.parametrize(
    ("name", "diffusivity", "cylinder"),
    [
        (
            "nitrogen",
            (2.1278e-5, 3.0777e-6, 2.1199e-6, 3.0931e-7, 1.2731e-7),
            (0.20316, 1.40458, 2.03919, 13.97586, 33.95674),
        ),
        (
            "helium",
            (1.8008e-4, 2.6269e-5, 1.8165e-5, 2.7363e-6, 1.0302e-6),
            (0.02400, 0.16456, 0.23797, 1.57982, 4.19623),
        ),
    ],
)
def test_time_constant_of_conduction(name, diffusivity, cylinder):
    """Checks C4, C5: alpha by CoolProp, tau = R^2/(alpha x1^2) of a cylinder, R 5 mm, constant pressure."""
    for p, alpha, tau in zip((0.1e6, 0.689476e6, 1e6, 7e6, 20.684e6), diffusivity, cylinder, strict=True):
        rho, _, conductivity, cp, _, _ = state(name, p)
        ours = conductivity / (rho * cp)
        assert ours == pytest.approx(alpha, rel=1e-4)
        found = 0.005**2 / (ours * first_eigenvalue("cylinder", 1.0))
        assert found == pytest.approx(tau, rel=1e-4, abs=5e-6)  # abs: the last printed digit


def test_dense_nitrogen_at_rest_cools_with_its_own_gamma():
    """Check C5: sealed cylinder, R = 5 mm, N2 at 20.684 MPa (cp/cv 1.688): 24.60 s, lumped."""
    rho, _, conductivity, cp, cv, _ = state("nitrogen", 20.684e6)
    assert cp / cv == pytest.approx(1.688, abs=1e-3)
    gas = (rho, 1.0, conductivity, cp, cv, 0.0)
    conductance, _ = film(1e-6, gas, "cylinder", area=4.0 / 0.01, diameter=0.01)
    assert rho * cv / conductance == pytest.approx(24.60, rel=5e-4)


@pytest.mark.parametrize(
    ("kind", "gamma", "nu"),
    [
        ("cylinder", 1.4, 5.130779),
        ("sphere", 1.4, 5.660587),
        ("cylinder", 5.0 / 3.0, 4.757473),
        ("sphere", 5.0 / 3.0, 5.157771),
    ],
)
def test_conduction_floor(kind, gamma, nu):
    """Check C8, derived from C3: Nu_D = x1^2/g (cylinder), (2/3) x1^2/g (sphere)."""
    assert heat.conduction_floor(heat.FILMS[kind], gamma) == pytest.approx(nu, rel=1e-6)
    gas = (*CALM[:4], CALM[3] / gamma, 0.0)
    assert film(5.0, gas, kind)[0] == pytest.approx(0.025 * nu, rel=1e-6)


@pytest.mark.parametrize(("kind", "ratio"), [("slab", 2.0), ("cylinder", 4.0), ("sphere", 6.0)])
def test_lumped_balance_at_rest_decays_with_the_eigenvalue(kind, ratio):
    """C8: rho cv V dT/dt = G dT gives the rate k x1^2/(rho cp R^2) of C3; area/volume = ratio/D, R = D/2."""
    rho, _, conductivity, cp, cv, _ = CALM
    rate = film(1.0, CALM, kind, area=ratio)[0] / (rho * cv)
    exact = conductivity * first_eigenvalue(kind, cp / cv) / (rho * cp * 0.5**2)
    assert rate == pytest.approx(exact, rel=WITHIN[kind])


@pytest.mark.parametrize(
    ("ra", "sphere", "cylinder", "plate"),
    [
        (1e4, 6.54491, 4.373272, 5.432745),
        (1e6, 16.37226, 14.537235, 16.558403),
        (1e9, 82.82118, 115.770698, 122.856535),
    ],
)
def test_free_convection_outside_bodies(ra, sphere, cylinder, plate):
    """Check C6: Churchill 1983; Churchill & Chu 1975, Pr 0.71; cylinder and plate also `ht`."""
    assert convection.around_sphere(ra, 0.71) == pytest.approx(sphere, rel=1e-6)
    assert convection.around_cylinder(ra, 0.71) == pytest.approx(cylinder, rel=1e-6)
    assert convection.along_plate(ra, 0.71) == pytest.approx(plate, rel=1e-6)
    by_ht = Nu_horizontal_cylinder_Churchill_Chu(0.71, ra / 0.71)
    assert convection.around_cylinder(ra, 0.71) == pytest.approx(by_ht, rel=1e-9)
    by_ht = Nu_vertical_plate_Churchill(0.71, ra / 0.71)
    assert convection.along_plate(ra, 0.71) == pytest.approx(by_ht, rel=1e-9)


@pytest.mark.parametrize(("ra", "nu"), [(1e4, 2.36038), (1e6, 7.01150), (1e9, 59.38126)])
def test_cavity_heated_from_below(ra, nu):
    """Check C10: Hollands 1984 as in `ht`, Pr 0.71, critical Ra 1708; the slope by its definition."""
    last_digit = 5e-6
    found, growth = convection.heated_from_below(ra, 0.71)
    assert found == pytest.approx(nu, rel=1e-6, abs=last_digit)
    assert found == pytest.approx(Nu_Nusselt_Rayleigh_Hollands(0.71, ra / 0.71), rel=1e-9)
    more, less = (convection.heated_from_below(ra * math.exp(h), 0.71)[0] for h in (1e-4, -1e-4))
    assert (more - less) / 2e-4 == pytest.approx(growth, rel=1e-6)
    assert convection.heated_from_below(1700.0, 0.71) == (1.0, 0.0)


@pytest.mark.parametrize("ra", [500.0, 2e4, 1e7, 1e12])
def test_flat_cavity_is_a_layer_on_one_of_two_plates(ra):
    """Hollands by `ht`: with twice the difference over both layers each plate passes Nu k/L times that difference.

    Here one plate of two does; what conduction alone would bring (Nu = 1) is not convection's.
    """
    each = (Nu_Nusselt_Rayleigh_Hollands(0.71, 2.0 * ra / 0.71) - 1.0) * 2.0
    assert convection.flat_cavity(ra, 0.71)[0] == pytest.approx(0.5 * each, rel=1e-9)


@pytest.mark.parametrize("kind", ["fixed", "cylinder", "sphere", "slab"])
@pytest.mark.parametrize("jet", [0.0, 1e-6, 1e-3])
@pytest.mark.parametrize("p", [1e3, 1e5, 7e6, 3e7])
def test_slope_of_the_film_against_a_difference(kind, jet, p):
    """By definition: dG/ddT, properties held; and G is even, positive and never below the floor."""
    gas = state("nitrogen", p)
    size = {"area": 0.01, "diameter": 0.02, "fixed": 20.0, "jet_bore": 2e-3, "jet": jet}
    floor = 0.0
    if kind != "fixed":
        floor = 0.01 * gas[2] / 0.02 * heat.conduction_floor(heat.FILMS[kind], gas[3] / gas[4])
    for dT in (-30.0, -1.0, -1e-2, -5e-4, 0.0, 2e-4, 1e-3, 0.1, 5.0):
        g, slope = film(dT, gas, kind, **size)
        step = 1e-4 * max(abs(dT), heat.STILL)
        high, low = film(dT + step, gas, kind, **size)[0], film(dT - step, gas, kind, **size)[0]
        assert (high - low) / (2.0 * step) == pytest.approx(slope, rel=1e-5, abs=1e-12 * g / step)
        assert film(-dT, gas, kind, **size)[0] == g
        assert g >= floor
        assert g + dT * slope > 0.0


def test_film_follows_the_correlations_when_they_rule():
    """Churchill & Chu 1975 on the bore (`ht`), charging 0.56 Re^0.67 more (Woodfield et al. 2007, from memory)."""
    rho, viscosity, conductivity, cp, _, beta = gas = state("nitrogen", 7e6)
    d, dT, jet = 0.2, 10.0, 2e-3
    ra = 9.80665 * beta * dT * d**3 * rho**2 * cp / (viscosity * conductivity)
    assert 1e10 < ra < 1e13
    still = film(dT, gas, "cylinder", diameter=d)[0] * d / conductivity
    pr = viscosity * cp / conductivity
    plate = Nu_vertical_plate_Churchill(pr, ra / pr) - 0.825**2  # what it is at rest; the floor stands for that
    assert still == pytest.approx(plate, rel=1e-5)
    blown = film(dT, gas, "cylinder", diameter=d, jet_bore=4e-3, jet=jet)[0] * d / conductivity
    re = 4.0 * jet / (math.pi * 4e-3 * viscosity)
    assert blown == pytest.approx(plate + 0.56 * re**0.67, rel=1e-5)
    assert film(dT, gas, "cylinder", diameter=d, multiplier=2.0)[0] * d / conductivity == pytest.approx(2 * still)


def test_convection_decays_with_an_algebraic_tail():
    """Check C12: h ~ dT^(1/3) gives dT/dT0 = (1 + t/(3 tau0))^-3; here h ~ z + c, z = dT^(1/3), as Hollands has it.

    Then dz/dt = -z (z + c)/(3 (1 + c) tau0), so z/(z + c) falls as exp(-c t/(3 (1 + c) tau0)): C12 where c = 0. His
    constant less the plates at rest, over the layer at the start, is c = 5.5e-4: not quite 1e-3 of the end.
    """
    density, viscosity, conductivity, cp, _, _ = gas = (80.0, 1.9e-5, 0.029, 1158.0, 760.0, 1.0 / 293.0)
    gap, start_K = 0.5, 20.0
    start = film(start_K, gas, "slab", diameter=gap)[0]
    run = solve_ivp(
        lambda t, y: -film(y[0], gas, "slab", diameter=gap)[0] / start * y,
        (0.0, 4.0), [start_K], rtol=1e-9, atol=1e-12,
    )  # fmt: skip
    pr = viscosity * cp / conductivity
    ra = 9.80665 / 293.0 * start_K * gap**3 * density**2 * cp / (viscosity * conductivity)
    c = (1.44 / (1.0 + 0.018 / pr + 0.00136 / pr**2) - 1.0) / (2.0 * ra / 5803.0) ** (1.0 / 3.0)
    share = math.exp(-4.0 * c / (3.0 * (1.0 + c))) / (1.0 + c)
    right = (c * share / (1.0 - share)) ** 3
    assert c == pytest.approx(5.5e-4, rel=0.02)
    assert right == pytest.approx((1.0 + 4.0 / 3.0) ** -3, rel=1e-3)
    assert run.y[0, -1] / start_K == pytest.approx(right, rel=2e-4)


def test_fixed_film_decays_exponentially():
    """Checks C13 (t/tau 2.302585 to 0.1, 9.210340 to 1e-4) and C16 (20 K to 10 Pa of 1 MPa: 8.828 tau)."""
    g = film(20.0, CALM, "fixed", area=2.0, fixed=5.0)
    assert g == (10.0, 0.0)
    assert film(1e-3, CALM, "fixed", area=2.0, fixed=5.0) == g
    for fraction, tau in ((0.1, 2.302585), (1e-4, 9.210340), (10.0 / 1e6 * ROOM / 20.0, 8.828)):
        assert math.exp(-tau) == pytest.approx(fraction, rel=1e-3)


def test_gas_against_wall_heat_capacity():
    """Check C14: 100 mL sphere, N2; thin 3 mm stainless shell (7900 kg/m3, 500 J/(kg K)) 123.46 J/K."""
    for p, capacity in ((0.1e6, 0.0854), (1e6, 0.859), (7e6, 6.142), (20.684e6, 17.63)):
        rho, _, _, _, cv, _ = state("nitrogen", p)
        assert rho * cv * 1e-4 == pytest.approx(capacity, rel=1e-3)
    area, diameter = shapes.inner("sphere", 1e-4, 0.0)
    assert diameter == pytest.approx(57.588e-3, rel=1e-5)
    assert area * 0.003 * 7900.0 * 500.0 == pytest.approx(123.46, rel=1e-3)
    # The thick shell is heavier by (1 + t/R + t^2/(3 R^2)).
    ratio = 1.0 + 0.006 / diameter * 1.0 + (0.006 / diameter) ** 2 / 3.0
    assert shapes.wall_heat_capacity("sphere", 1e-4, 0.0, 0.003, 7900.0, 500.0) == pytest.approx(
        area * 0.003 * 7900.0 * 500.0 * ratio, rel=1e-9
    )


@pytest.mark.parametrize(
    ("k", "density_", "cp", "depth", "slowest"),
    [(15.0, 7900.0, 500.0, 6.16e-3, 0.9605), (167.0, 2700.0, 896.0, 26.3e-3, 0.0528)],
)
def test_heat_reaches_through_a_wall(k, density_, cp, depth, slowest):
    """Check C15: sqrt(alpha 10 s); 3 mm wall insulated outside is half a slab: L^2/(alpha x1^2)."""
    alpha = k / (density_ * cp)
    assert math.sqrt(alpha * 10.0) == pytest.approx(depth, rel=1e-3)
    assert 0.003**2 / (alpha * first_eigenvalue("slab", 1.0)) == pytest.approx(slowest, rel=1e-3)


def test_volume_of_inside_and_wall_fill_the_outside():
    """Geometry of closed tubes, spheres and flat cavities."""
    area, diameter = shapes.inner("cylinder", 1e-4, 0.04)
    length = shapes.length(1e-4, 0.04)
    assert diameter == 0.04
    assert length == pytest.approx(1e-4 / (math.pi * 0.02**2))
    assert area == pytest.approx(math.pi * 0.04 * length + 2.0 * math.pi * 0.02**2)
    assert shapes.outer("cylinder", 1e-4, 0.04, 1e-9)[0] == pytest.approx(area, rel=1e-6)
    outside = math.pi * 0.023**2 * (length + 0.006)
    assert shapes.wall_volume("cylinder", 1e-4, 0.04, 0.003) == pytest.approx(outside - 1e-4)
    assert shapes.inner("slab", 1e-5, 0.002) == (pytest.approx(0.01), 0.002)
    assert shapes.wall_volume("slab", 1e-5, 0.002, 0.003) == pytest.approx(3e-5)
    assert shapes.outer("slab", 1e-5, 0.002, 0.003)[0] == pytest.approx(0.01)
    with pytest.raises(ValueError, match='must be "cylinder", "sphere" or "slab"'):
        shapes.inner("cube", 1e-4, 0.04)


@pytest.mark.parametrize(
    ("shape", "law"),
    [
        ("cylinder", Nu_horizontal_cylinder_Churchill_Chu),
        ("sphere", lambda pr, gr: 2.0 + 0.589 * (gr * pr) ** 0.25 / (1.0 + (0.469 / pr) ** (9 / 16)) ** (4 / 9)),
        ("slab", Nu_vertical_plate_Churchill),
    ],
)
def test_film_of_the_room_is_that_of_still_air(shape, law):
    """Churchill & Chu (`ht`) or Churchill 1983, plus 4 e sigma T^3; a 50 mm body 5 K warm."""
    grey = convection.radiation(295.0, 295.0, 0.3)
    assert grey == pytest.approx(4.0 * 0.3 * 5.670374419e-8 * 295.0**3, rel=1e-12)
    full = convection.outside_film(shape, 0.05, 298.15, ROOM)
    bare = convection.outside_film(shape, 0.05, 298.15, ROOM, emissivity=0.0)
    assert full - bare == pytest.approx(convection.radiation(298.15, ROOM, 0.3), rel=1e-12)
    # Air at 295.65 K (handbook): nu 1.53e-5 m2/s, k 0.0259 W/(m K), Pr 0.71.
    grashof = 9.80665 / 295.65 * 5.0 * 0.05**3 / 1.53e-5**2
    assert bare == pytest.approx(law(0.71, grashof) * 0.0259 / 0.05, rel=0.01)
    assert convection.outside_film(shape, 0.05, ROOM, ROOM) > grey * 0.9
