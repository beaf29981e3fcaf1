"""The body of one closed volume: its derivatives, its heat, and what closed forms say."""

import math

import numpy as np
import pytest

from simcal.engine import vessel
from simcal.physics import heat

SHELLS = 5


def body(film_area=0.02, film=40.0, shells=1e9, outside=0.0):
    f = np.zeros(8)
    f[heat.KIND], f[heat.AREA], f[heat.DIAMETER], f[heat.MULTIPLIER] = heat.FIXED, film_area, 0.04, 1.0
    f[heat.COEFFICIENT] = film
    gas = np.array([1.8e-5, 0.026, 1040.0, 743.0, 1.0 / 293.15])
    return vessel.Body(f, gas, np.full(SHELLS, shells / SHELLS), np.full(SHELLS - 1, 1e6), 1e9, outside)


def drives(time, capacity=2.0, heat_in=0.0, knots=2, columns=1):
    n = len(time) - 1
    before = (time[1:] <= 0.0).astype(float)
    weights = np.zeros((n, knots))
    weights[:, 0], weights[:, -1] = before, 1.0 - before
    source = before * heat_in / max(-time[0], 1e-9)
    on_gas, room, on_wall = (np.zeros((n, columns)) for _ in range(3))
    return vessel.Drives(
        np.diff(time),
        np.full(n, 10.0),
        np.full(n, capacity),
        np.zeros(n),
        source,
        before,
        weights,
        on_gas,
        room,
        on_wall,
    )


def respond(b, d, theta, fall=0.0):
    n = len(d.step) + 1
    m = vessel.FIRST_KNOT + d.knots.shape[1] + d.on_gas.shape[1] + d.room.shape[1] + d.on_wall.shape[1]
    out, d_gas, d_outer = np.zeros((n, 3)), np.zeros((n, m)), np.zeros((n, m))
    states, columns, work = np.zeros((2, 6)), np.zeros((3, 6, m)), np.zeros((4, 6))
    vessel.respond(b, d, theta, fall, out, d_gas, d_outer, states, columns, work)
    return out, d_gas, d_outer


def parameters(knots=2, **given):
    theta = np.zeros(vessel.FIRST_KNOT + knots)
    theta[vessel.HEAT] = 1.0
    for name, value in given.items():
        theta[getattr(vessel, name)] = value
    return theta


def test_gas_on_a_large_wall_cools_by_one_exponential():
    # closed form: dT/dt = -h A T / C
    time = np.concatenate([[0.0], np.geomspace(0.01, 20.0, 200)])
    out, _, _ = respond(body(), drives(time), parameters(JUMP=5.0))
    assert out[:, 0] == pytest.approx(5.0 * np.exp(-40.0 * 0.02 / 2.0 * time), abs=2e-4)


def test_a_thin_body_cools_to_the_room_by_the_sum_of_its_capacities():
    # closed form of one lump: gas and wall together, C = C_gas + C_wall, on h A to the room
    time = np.linspace(0.0, 400.0, 300)
    out, _, _ = respond(body(film=4e5, shells=100.0, outside=0.5), drives(time), parameters(START=1.0))
    assert out[:, 2] == pytest.approx(np.exp(-0.5 / 102.0 * time), abs=1e-4)


def test_no_heat_is_lost_between_gas_and_wall():
    # first law: with the room shut off, all heat of the move is in gas and wall at the end
    time = np.concatenate([np.linspace(-5.0, 0.0, 20), np.geomspace(0.01, 500.0, 150)])
    out, _, _ = respond(body(shells=50.0), drives(time, heat_in=300.0), parameters())
    assert out[-1, 0] * 2.0 + out[-1, 1] * 50.0 == pytest.approx(300.0, rel=1e-6)


def test_the_scheme_is_of_second_order():
    def error(steps):
        time = np.linspace(0.0, 2.0, steps + 1)
        out, _, _ = respond(body(), drives(time), parameters(JUMP=5.0))
        return abs(out[-1, 0] - 5.0 * math.exp(-0.8))

    assert math.log2(error(10) / error(20)) == pytest.approx(2.0, abs=0.3)


@pytest.mark.parametrize("kind", [heat.FIXED, heat.CYLINDER])
def test_derivatives_are_those_of_the_discrete_solution(kind):
    time = np.concatenate([np.linspace(-6.0, 0.0, 12), np.geomspace(0.02, 120.0, 40)])
    b, d = body(shells=80.0, outside=0.4), drives(time, heat_in=120.0)
    b.film[heat.KIND] = kind
    d.on_gas[:, 0], d.room[:, 0], d.on_wall[:, 0] = np.sin(time[1:]), np.cos(0.1 * time[1:]), 1.0
    theta = parameters(JUMP=0.7, PACE=0.2, OUTSIDE=-0.1, WALL=0.3, START=0.4)
    theta[vessel.FIRST_KNOT :] = 0.3, -0.2
    _, d_gas, d_outer = respond(b, d, theta, fall=2.0)
    for j in range(len(theta)):
        up, down = theta.copy(), theta.copy()
        up[j] += 1e-5
        down[j] -= 1e-5
        above, below = respond(b, d, up, fall=2.0)[0], respond(b, d, down, fall=2.0)[0]
        assert d_gas[:, j] == pytest.approx((above[:, 0] - below[:, 0]) / 2e-5, rel=1e-5, abs=1e-6), j
        assert d_outer[:, j] == pytest.approx((above[:, 2] - below[:, 2]) / 2e-5, rel=1e-5, abs=1e-6), j
    leak = len(theta)
    above, below = respond(b, d, theta, fall=2.0 + 1e-5)[0], respond(b, d, theta, fall=2.0 - 1e-5)[0]
    assert d_gas[:, leak] == pytest.approx((above[:, 0] - below[:, 0]) / 2e-5, rel=1e-5, abs=1e-6)


def test_the_room_and_a_hand_reach_the_gas_through_the_wall():
    # closed form of a slow room: everything follows it; of a steady hand: its watts over h A to the room
    time = np.linspace(0.0, 5000.0, 400)
    b, d = body(film=400.0, shells=20.0, outside=0.5), drives(time)
    d.room[:, 0], d.on_wall[:, 0] = 1.0, 1.0
    _, d_gas, _ = respond(b, d, parameters())
    first = vessel.FIRST_KNOT + 2
    assert d_gas[-1, first + 1] == pytest.approx(1.0, abs=1e-6)
    assert d_gas[-1, first + 2] == pytest.approx(1.0 / 0.5, rel=1e-6)
