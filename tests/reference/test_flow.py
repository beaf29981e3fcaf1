"""Flow laws against published numbers, closed forms and the library `fluids`; the source stands at each."""

import math

import fluids
import numpy as np
import pytest
from fluids.control_valve import size_control_valve_g
from scipy.optimize import brentq, minimize_scalar

from simcal.physics import flow, nozzle, stated, tube
from simcal.tables.gas import load

R = 8.314462618
MOLAR_MASS = {"nitrogen": 0.0280134, "air": 0.02896546, "helium": 0.004002602, "argon": 0.039948}
GAMMA = {"nitrogen": 1.4, "air": 1.4, "helium": 5.0 / 3.0, "argon": 5.0 / 3.0}
VISCOSITY = {"nitrogen": 17.6e-6, "air": 18.2e-6, "helium": 19.6e-6, "argon": 22.3e-6}
PSI = {1.3: 0.667262, 1.4: 0.684731, 5.0 / 3.0: 0.726184}
ROOM = 293.15


def choked_factor(g):
    return math.sqrt(g * (2.0 / (g + 1.0)) ** ((g + 1.0) / (g - 1.0)))


def ideal(name, viscosity=None):
    m, g = MOLAR_MASS[name], GAMMA[name]
    return flow.Upstream(R / m, 1.0, viscosity or VISCOSITY[name], g, choked_factor(g), m)


def law(kind, p_up, p_down, T, gas, *numbers):
    a = np.zeros(flow.PARAMETERS)
    a[: len(numbers)] = numbers
    return flow.edge_flow(kind, p_up, p_down, T, gas, a)[0]


@pytest.mark.parametrize(("g", "ratio"), [(1.3, 0.545728), (1.4, 0.528282), (5.0 / 3.0, 0.487139)])
def test_isentropic_flow_chokes_at_the_critical_ratio(g, ratio):
    """Check B1: (2/(g+1))^(g/(g-1)), any gas dynamics text."""
    assert nozzle.isentropic_square(1.0 - ratio + 2e-6, g) == (1.0, 0.0)
    q, slope = nozzle.isentropic_square(1.0 - ratio - 2e-6, g)
    assert q < 1.0
    assert slope > 0.0


@pytest.mark.parametrize("g", PSI)
def test_choked_factor(g):
    """Check B2: sqrt(g (2/(g+1))^((g+1)/(g-1))); the share below choking times psi* is psi of the formula."""
    assert choked_factor(g) == pytest.approx(PSI[g], abs=1e-6)
    for r in (0.7, 0.8, 0.95, 0.999, 1.0 - 1e-7):
        psi = math.sqrt(2.0 * g / (g - 1.0) * (r ** (2.0 / g) - r ** ((g + 1.0) / g)))
        assert nozzle.isentropic(1.0 - r, g)[0] * PSI[g] == pytest.approx(psi, rel=2e-6)


NOZZLE = 0.25 * math.pi * 1e-6


@pytest.mark.parametrize(
    ("name", "r", "kg_s"),
    [
        ("nitrogen", 0.1, 1.823186e-3),
        ("air", 0.1, 1.853909e-3),
        ("helium", 0.1, 7.30880e-4),
        ("argon", 0.1, 2.308991e-3),
        ("nitrogen", 0.8, 1.492833e-3),
        ("nitrogen", 0.95, 8.19134e-4),
        ("helium", 0.8, 5.75230e-4),
        ("helium", 0.95, 3.10996e-4),
    ],
)
def test_hole_of_one_millimetre_at_one_megapascal(name, r, kg_s):
    """Checks B3, B4: choked and subsonic isentropic flow of an ideal gas, any gas dynamics text."""
    assert law(flow.HOLE, 1e6, r * 1e6, ROOM, ideal(name), NOZZLE) == pytest.approx(kg_s, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "factors"),
    [
        ("nitrogen", (0.684948, 0.687310, 0.702455, 0.726347)),
        ("air", (0.685130, 0.687704, 0.704442, 0.733558)),
        ("helium", (0.726089, 0.725235, 0.719645, 0.707561)),
        ("argon", (0.726634, 0.730713, 0.758922, 0.818397)),
    ],
)
def test_choked_flow_of_real_gas(name, factors):
    """Check B5: critical flow factor of ISO 9300, computed with CoolProp along the isentrope; 1e-5."""
    table = load(name)
    for p, factor in zip((0.1e6, 1e6, 7e6, 20.684e6), factors, strict=True):
        gas = stated.upstream(table, p, ROOM)
        m = law(flow.HOLE, p, 0.0, ROOM, gas, NOZZLE)
        assert m * math.sqrt(table.r * ROOM) / (NOZZLE * p) == pytest.approx(factor, rel=1e-5)


@pytest.mark.parametrize(
    ("p_down", "T", "kg_s"), [(1e5, ROOM, 8.29500e-3), (5e5, ROOM, 6.686250e-3), (6.5e5, 313.15, 3.531958e-3)]
)
def test_iso_element_on_air(p_down, T, kg_s):
    """Check B6: ISO 6358-1:2013, C = 1 dm3/(s bar), b = 0.3, upstream 7 bar."""
    assert law(flow.ISO, 7e5, p_down, T, ideal("air"), 1e-8, 0.3) == pytest.approx(kg_s, rel=1e-6)


@pytest.mark.parametrize(("name", "share"), [("nitrogen", 0.98343), ("helium", 0.39424), ("argon", 1.24547)])
def test_iso_element_on_another_gas(name, share):
    """Check B6b: the same throat passes (psi*/psi*_air) sqrt(M/M_air) of the air flow."""
    air, other = (law(flow.ISO, 7e5, 1e5, ROOM, ideal(gas), 1e-8, 0.3) for gas in ("air", name))
    assert other / air == pytest.approx(share, rel=1e-4)


def test_iso_element_and_hole_agree_on_every_real_gas_when_choked():
    """Checks B6b with the factor of B5, and B7: an ideal 1 mm nozzle has C 0.156448 dm3/(s bar), any gas."""
    c = NOZZLE * nozzle.CRITICAL_FLOW_AIR / (1.185 * math.sqrt(R / MOLAR_MASS["air"] * ROOM))
    assert c == pytest.approx(0.156448e-8, rel=1e-5)
    for name in MOLAR_MASS:
        for p in (1e5, 7e6, 2e7):
            gas = stated.upstream(load(name), p, 300.0)
            hole = law(flow.HOLE, p, 0.0, 300.0, gas, NOZZLE)
            assert law(flow.ISO, p, 0.0, 300.0, gas, c, 0.5) == pytest.approx(hole, rel=1e-5)


def test_ellipse_lies_just_below_the_isentropic_law():
    """Check B8, derived: b = 0.528282 against g = 1.4; largest gap 0.00152 of choked flow at r = 0.871."""
    ratios = np.linspace(0.53, 0.999, 2000)
    gap = np.array([nozzle.isentropic(1.0 - r, 1.4)[0] - nozzle.ellipse(1.0 - r, 0.5282818)[0] for r in ratios])
    assert gap.min() > -1e-9
    assert gap.max() == pytest.approx(0.00152, abs=2e-5)
    assert ratios[gap.argmax()] == pytest.approx(0.871, abs=2e-3)


def test_ellipse_is_published_to_rounding_above_its_laminar_start():
    """ISO 6358-1:2013: F = sqrt(1 - ((r - b)/(1 - b))^2)."""
    for r in (0.31, 0.5, 0.9, 0.985, 1.0 - 1.001 * nozzle.START):
        published = math.sqrt(1.0 - ((r - 0.3) / 0.7) ** 2)
        full = law(flow.ISO, 7e5, 0.0, ROOM, ideal("air"), 1e-8, 0.3)
        part = law(flow.ISO, 7e5, r * 7e5, ROOM, ideal("air"), 1e-8, 0.3)
        assert part / full == pytest.approx(published, rel=1e-12)


def normal_mass_flow(m3_h, molar_mass):
    return m3_h / 3600.0 * 101325.0 / (R * 273.15) * molar_mass


@pytest.mark.parametrize(("p_down", "kv"), [(0.8e6, 0.0910423), (0.1e6, 0.066044)])
def test_control_valve_without_fittings(p_down, kv):
    """Check B12: IEC 60534-2-1 gas sizing, N2 10 m3/h (0 degC), 1 MPa, xT 0.7; N9 = 24.6 is rounded."""
    m = law(flow.KV, 1e6, p_down, ROOM, ideal("nitrogen"), kv, 0.7)
    assert m == pytest.approx(normal_mass_flow(10.0, MOLAR_MASS["nitrogen"]), rel=5e-5)


@pytest.mark.parametrize("name", MOLAR_MASS)
@pytest.mark.parametrize("p_down", [0.97e6, 0.8e6, 0.55e6, 0.2e6])
def test_control_valve_against_fluids(name, p_down):
    """`fluids.size_control_valve_g` for the flow of our law must give back the Kv it was made with."""
    gas = ideal(name)._replace(z=1.03)
    m = law(flow.KV, 1e6, p_down, ROOM, gas, 0.5, 0.65)
    q = m / normal_mass_flow(3600.0, gas.molar_mass)
    kv = size_control_valve_g(
        T=ROOM,
        MW=1e3 * gas.molar_mass,
        mu=gas.viscosity,
        gamma=gas.gamma,
        Z=gas.z,
        P1=1e6,
        P2=p_down,
        Q=q,
        xT=0.65,
    )
    assert kv == pytest.approx(0.5, rel=1e-6)


def test_control_valve_of_the_standards_third_example():
    """Check B9: IEC 60534-2-1 example 3 (CO2, fittings) as `fluids` quotes it.

    Our law has no fittings: their FP joins Kv before it comes to us. The FP and xTP told are of the first
    pass, so FP Kv is taken from its sizing without pipes.
    """
    case = {"T": 433.0, "MW": 44.01, "mu": 1.4665e-5, "gamma": 1.30, "Z": 0.988, "P1": 680e3, "P2": 310e3}
    case |= {"Q": 38 / 36.0, "FL": 0.85, "Fd": 0.42, "xT": 0.60}
    full = size_control_valve_g(**case, D1=0.08, D2=0.1, d=0.05, full_output=True)
    assert full["Kv"] == pytest.approx(72.58665, rel=1e-6)
    assert full["FP"] == pytest.approx(0.891467, rel=1e-6)
    assert full["xTP"] == pytest.approx(0.620740, rel=1e-6)
    x, choked_at = 370.0 / 680.0, 1.3 / 1.4 * 0.60
    assert x < choked_at
    assert nozzle.expansion(x, choked_at)[0] / math.sqrt(x) == pytest.approx(0.674460, rel=1e-6)
    gas = flow.Upstream(R / 0.04401, 0.988, 1.4665e-5, 1.30, 0.667262, 0.04401)
    m = law(flow.KV, 680e3, 310e3, 433.0, gas, size_control_valve_g(**case), 0.60)
    assert m == pytest.approx(normal_mass_flow(3600.0 * 38 / 36.0, 0.04401), rel=1e-6)


def test_laminar_capillary():
    """Check B13: Hagen-Poiseuille with ideal gas, N2, d 50 um, L 0.5 m, 1 -> 0.1 MPa."""
    gas = ideal("nitrogen")
    k = math.pi * 50e-6**4 / (256.0 * 0.5 * gas.r)
    m = law(flow.LAMINAR, 1e6, 1e5, ROOM, gas, k)
    assert m == pytest.approx(9.917088e-8, rel=1e-6)
    assert m / gas.molar_mass == pytest.approx(3.540123e-6, rel=1e-6)
    a = np.array([50e-6, 0.5, 0.0])
    assert tube.viscous(1e6, 1e5, ROOM, gas, a)[0] == pytest.approx(9.917088e-8, rel=1e-6)
    assert law(flow.TUBE, 1e6, 1e5, ROOM, gas, 50e-6, 0.5) == pytest.approx(9.917088e-8, rel=5e-3)


def conductance(gas, p, d=1e-4, length=1.0):
    """Throughput conductance of the tube law at mean pressure p [m3/s]."""
    drop = 1e-5 * p
    m = law(flow.TUBE, p + 0.5 * drop, p - 0.5 * drop, ROOM, gas, d, length)
    return m * gas.r * ROOM / drop


KNUDSEN = {
    "nitrogen": {
        1e-3: 1.232300e-10, 1: 1.228134e-10, 100: 1.203634e-10, 1e3: 2.397906e-10, 1e4: 1.494007e-9,
        1e5: 1.404467e-8, 1e6: 1.395522e-7,
    },
    "helium": {
        1: 3.256267e-10, 100: 3.102798e-10, 1e3: 3.950617e-10, 1e4: 1.515908e-9, 1e5: 1.278528e-8,
        1e6: 1.254858e-7,
    },
}  # fmt: skip


@pytest.mark.parametrize("name", KNUDSEN)
def test_long_tube_from_molecular_to_viscous_flow(name):
    """Checks B14, B15: Knudsen, Ann. Phys. 333 (1909) 75; d 0.1 mm, L 1 m, 293.15 K."""
    for p, c in KNUDSEN[name].items():
        assert conductance(ideal(name), p) == pytest.approx(c, rel=1e-6)


@pytest.mark.parametrize(("name", "molecular"), [("nitrogen", 1.232304e-10), ("helium", 3.260089e-10)])
def test_limits_and_minimum_of_the_long_tube(name, molecular):
    """Check B16: C/Cm -> 1, viscous + Cm/1.24, and the Knudsen minimum 0.950593 at s d p/mu = 0.82353."""
    gas = ideal(name)
    assert conductance(gas, 1e-5) == pytest.approx(molecular, rel=1e-6)
    k = math.pi * 1e-4**4 / (256.0 * gas.r)
    for p in (1e5, 1e6):
        viscous = law(flow.LAMINAR, p * (1 + 5e-6), p * (1 - 5e-6), ROOM, gas, k) * gas.r * ROOM / (1e-5 * p)
        assert conductance(gas, p) - viscous == pytest.approx(molecular / 1.24, rel=0.02)
    per_pressure = 1e-4 / (gas.viscosity * math.sqrt(gas.r * ROOM))
    found = minimize_scalar(
        lambda u: conductance(gas, u / per_pressure) / molecular, bounds=(0.1, 3.0), method="bounded"
    )
    assert found.fun == pytest.approx(0.950593, abs=1e-5)
    assert found.x == pytest.approx(0.82353, abs=2e-3)


@pytest.mark.parametrize(
    ("name", "speed"), [("nitrogen", 470.705), ("air", 462.905), ("helium", 1245.262), ("argon", 394.171)]
)
def test_a_long_tube_without_collisions_passes_gas_at_its_mean_speed(name, speed):
    """Check B18: mean speed sqrt(8 R T/(pi M)), and Cm = pi d^3 speed/(12 L) of kinetic theory."""
    assert conductance(ideal(name), 1e-6) == pytest.approx(math.pi * 1e-4**3 * speed / 12.0, rel=1e-5)


def test_vacuum_handbook_numbers_for_air():
    """Check B17: long tube 12.12 d^3/L L/s (cm), viscous 134.9 d^4 p/L L/s (cm, mbar); handbook figures."""
    gas = ideal("air")
    molecular = conductance(gas, 1e-7, d=0.01, length=1.0) / (1e-3 * 1.0**3 / 100.0)
    assert molecular == pytest.approx(12.12, rel=2e-3)
    k = math.pi * 0.01**4 / (256.0 * gas.r)
    viscous = law(flow.LAMINAR, 100.5, 99.5, ROOM, gas, k) * gas.r * ROOM / (1e-3 * 1.0**4 * 1.0 / 100.0)
    assert viscous == pytest.approx(134.9, rel=2e-3)


def test_leak_rates_of_another_gas():
    """Check D13: laminar ~ 1/viscosity (air/helium 1.0781 by 19.61/18.19); 5 -> 1 against 2 -> 1 bar is 8."""
    air, helium = ideal("air", 18.19e-6), ideal("helium", 19.61e-6)
    k = 1e-18
    amount = [law(flow.LAMINAR, 5e5, 1e5, ROOM, g, k / g.r) * g.r for g in (air, helium)]
    assert amount[0] / amount[1] == pytest.approx(1.0781, rel=1e-4)
    low = law(flow.LAMINAR, 2e5, 1e5, ROOM, air, k / air.r) * air.r
    assert amount[0] / low == pytest.approx(8.0, rel=1e-12)
    throughput = [law(flow.MOLECULAR, 2e5, 1e5, ROOM, g, 1e-12 / math.sqrt(g.r)) * g.r for g in (air, helium)]
    assert throughput[1] / throughput[0] == pytest.approx(2.69010, rel=1e-4)


@pytest.mark.parametrize("roughness", [0.0, 1e-5, 1e-4, 1e-3, 1e-2, 0.03])
@pytest.mark.parametrize("re", [10.0, 500.0, 2000.0, 4200.0, 6000.0, 1e4, 1e5, 1e6, 1e7])
def test_friction_factor_against_fluids(re, roughness):
    """`fluids.friction_factor` (Clamond's solution of Colebrook; 64/Re below 2040); ours has no iteration."""
    f = fluids.friction_factor(Re=re, eD=roughness)
    ours, _ = tube.reynolds_number(re * re * f, roughness)
    assert ours == pytest.approx(re, rel=1e-9)


@pytest.mark.parametrize("ratio", [0.995, 0.98, 0.9, 0.8, 0.7])
def test_long_tube_against_isothermal_compressible_flow(ratio):
    """`fluids.isothermal_gas` with upstream density (its formula is then the exact isothermal one)."""
    gas, d, p_up = ideal("nitrogen"), 4e-3, 1e6
    length, p_down = 4000 * d, ratio * p_up
    m = law(flow.TUBE, p_up, p_down, ROOM, gas, d, length, 1.5e-6)
    f = fluids.friction_factor(Re=4.0 * m / (math.pi * d * gas.viscosity), eD=1.5e-6 / d)
    exact = fluids.isothermal_gas(p_up / (gas.r * ROOM), f, P1=p_up, P2=p_down, L=length, D=d)
    assert m == pytest.approx(exact, rel=8e-3)


def fanno_length(mach, g=1.4):
    """4fL*/d of Fanno flow (Shapiro, Compressible Fluid Flow I (1953), chapter 6)."""
    square = mach * mach
    return (1.0 - square) / (g * square) + (g + 1.0) / (2.0 * g) * math.log(
        (g + 1.0) * square / (2.0 + (g - 1.0) * square)
    )


def fanno_flow(gas, p0, p_down, d, friction):
    """Mass flow from a vessel at p0 through a nozzle and a tube with f L/d = friction, adiabatic [kg/s]."""
    g = 1.4

    def exit_pressure(inlet):
        rest = fanno_length(inlet) - friction
        outlet = brentq(lambda mach: fanno_length(mach) - rest, inlet, 1.0) if rest > 1e-12 else 1.0
        p1 = p0 * (1.0 + 0.2 * inlet**2) ** -3.5
        ratio = [math.sqrt((g + 1.0) / (2.0 + (g - 1.0) * mach**2)) / mach for mach in (inlet, outlet)]
        return p1 * ratio[1] / ratio[0]

    choked = brentq(lambda mach: fanno_length(mach) - friction, 1e-4, 1.0 - 1e-12) * (1.0 - 1e-10)
    inlet = choked
    if exit_pressure(choked) < p_down:
        inlet = brentq(lambda mach: exit_pressure(mach) - p_down, 1e-5, choked)
    speed = inlet * (1.0 + 0.2 * inlet**2) ** -3
    return 0.25 * math.pi * d * d * p0 * math.sqrt(g / (gas.r * ROOM)) * speed


@pytest.mark.parametrize("slenderness", [2, 10, 30, 100, 300, 1000, 3000])
@pytest.mark.parametrize(("ratio", "above"), [(0.98, 0.016), (0.9, 0.023), (0.8, 0.036), (0.5, 0.06), (0.1, 0.115)])
def test_distance_from_adiabatic_flow_with_friction(slenderness, ratio, above):
    """Fanno flow with our friction factor: ours is above, up to 3.6 % at p2/p1 0.8 and 11 % when choked."""
    gas, d, p_up = ideal("nitrogen"), 4e-3, 1e6
    m = law(flow.TUBE, p_up, ratio * p_up, ROOM, gas, d, slenderness * d, 1.5e-6)
    f = fluids.friction_factor(Re=4.0 * m / (math.pi * d * gas.viscosity), eD=1.5e-6 / d)
    excess = m / fanno_flow(gas, p_up, ratio * p_up, d, f * slenderness) - 1.0
    assert 0.0 < excess < above


@pytest.mark.parametrize("name", MOLAR_MASS)
@pytest.mark.parametrize("kind", ["hole", "laminar", "molecular", "seat"])
@pytest.mark.parametrize("pressures", [(2e7, 101325.0), (5e5, 1e5), (101325.0, 0.0)])
def test_stated_leak_rate_results_at_the_stated_state(name, kind, pressures):
    """By definition: the path made for a rate passes that rate."""
    table = load(name)
    a = stated.leak_path(kind, 3e-8, *pressures, ROOM, table)
    gas = stated.upstream(table, pressures[0], ROOM)
    m = flow.edge_flow(flow.LAWS[kind], *pressures, ROOM, gas, a)[0]
    assert m / table.molar_mass == pytest.approx(3e-8, rel=1e-12)


def test_wrong_leaks_are_refused_in_words():
    table = load("nitrogen")
    with pytest.raises(ValueError, match='must be "hole", "laminar", "molecular" or "seat"'):
        stated.leak_path("iso", 1e-8, 2e5, 1e5, ROOM, table)
    with pytest.raises(ValueError, match=r"p_high\(=100000 Pa\) must be above p_low\(=200000 Pa\)"):
        stated.leak_path("hole", 1e-8, 1e5, 2e5, ROOM, table)
    with pytest.raises(ValueError, match="must lie inside the gas table"):
        stated.leak_path("hole", 1e-8, 2e5, 1e5, 5000.0, table)
