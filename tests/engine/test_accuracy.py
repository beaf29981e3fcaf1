"""Order of convergence, closed forms and continuity of the engine."""

from __future__ import annotations

import numpy as np
import pytest

from simcal.engine import simulate
from simcal.engine.quiet import exponentials
from simcal.engine.rosenbrock import new_work, step
from simcal.engine.simulate import CONTROL, SHUT, Command, Effort
from simcal.physics import flow
from tests.engine import networks
from tests.ideal import ideal_table


def fixed_steps(system, x, h, count, command):
    """March with steps of one length, whatever their error."""
    net, work = system.net, new_work(system.net)
    x, totals = x.copy(), np.zeros(system.sizes.totals)
    for _ in range(count):
        size_of_error = step(net, system.table, x, totals, command, 0.0, 0.0, h, 1e30, np.inf, work, True, False)
        assert np.isfinite(size_of_error)
    return x, totals


def test_the_step_is_of_third_order():
    """Halving the step divides the error by eight (ROS34PW2 keeps its order with any Jacobian)."""
    system = networks.yardstick(table=networks.load("nitrogen"))
    film = system.net.node_film.copy()
    film[:, 0] = 1.0  # natural convection, whose dependence on the gas is not in the Jacobian
    system = simulate.System(
        system.net._replace(node_film=film), system.table, system.controller, system.names, np.array([2e5, 9e5])
    )
    x = simulate.begin(system).x
    size = system.sizes
    x[size.valve] = 0.4
    command = np.array([0.9, 0.0])
    exact, _ = fixed_steps(system, x, 0.04 / 1024, 1024, command)
    errors = []
    for count in (16, 32, 64):
        found, _ = fixed_steps(system, x, 0.04 / count, count, command)
        core = slice(0, 2 * size.nodes)
        errors.append(np.abs((found[core] - exact[core]) / exact[core]).max())
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    assert (orders > 2.7).all(), orders
    assert (orders < 4.2).all(), orders


def test_the_matrix_functions_equal_scipys():
    """E, F1, F2, F3 against scipy.linalg.expm of the augmented matrix (Van Loan 1978), rates to 1e4 per s."""
    linalg = pytest.importorskip("scipy.linalg")
    rng = np.random.default_rng(5)
    for _ in range(20):
        n = int(rng.integers(2, 12))
        a = rng.normal(size=(n, n)) * 10 ** rng.uniform(-1, 2)
        a -= np.diag(10 ** rng.uniform(0, 4, n) + np.abs(a).sum(axis=1))
        h = 0.01
        big = np.zeros((4 * n, 4 * n))
        big[:n, :n], big[: 3 * n, n:] = a, np.eye(3 * n)
        want = linalg.expm(big * h)
        e, f1, f2, f3 = np.empty((4, n, n))
        exponentials(a, np.ones(n), h, e, f1, f2, f3, np.empty((2, n, 4 * n)))
        assert np.allclose(e, want[:n, :n], rtol=1e-9, atol=1e-12)
        assert np.allclose(f1, want[:n, n : 2 * n], rtol=1e-9, atol=1e-12 * h)
        assert np.allclose(f2, want[:n, 2 * n : 3 * n], rtol=1e-9, atol=1e-12 * h * h)
        assert np.allclose(f3, want[:n, 3 * n :], rtol=1e-9, atol=1e-12 * h**3)


def vessel(table, law, parameters, start, film, wall_heat=1e9):
    """One vessel of 1 L with one way out to the room."""
    net = networks.network(
        table, [1e-3], [(0, 1, law, -1, *parameters)], [networks.ROOM_PA / 1e3], films=[film], wall_heat=wall_heat,
        room_link=0.0, gauges=[(0, 0.01)],
    )  # fmt: skip
    return networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), start)


def test_isothermal_choked_blowdown_follows_its_exponential():
    """Check B19: 1 L of ideal nitrogen, 1 mm nozzle: 1 to 0.2 MPa in 10.14577 s (text form)."""
    table = ideal_table(0.0280134, 1.4, 17.6e-6, 0.0254)
    system = vessel(table, flow.HOLE, [np.pi / 4 * 1e-6], 1e6, [0, 1.0, 0.1, 1.0, 1e6])
    times = np.array([5.0, 10.14577])
    _, trace = simulate.hold(system, simulate.begin(system), times, Effort(tolerance=0.1))
    assert trace.pressure_Pa[:, 0] / 1e6 == pytest.approx([0.452414, 0.2], rel=2e-5)


def test_adiabatic_choked_blowdown_follows_its_power_law():
    """Check B20: 8.147784 s to 0.2 MPa and 185.0905 K there; 0.356765 of the start after 5 s (text form)."""
    table = ideal_table(0.0280134, 1.4, 17.6e-6, 0.0254)
    system = vessel(table, flow.HOLE, [np.pi / 4 * 1e-6], 1e6, [0, 1e-12, 0.1, 1.0, 1e-9])
    times = np.array([5.0, 8.147784])
    _, trace = simulate.hold(system, simulate.begin(system), times, Effort(tolerance=0.1))
    assert trace.pressure_Pa[:, 0] / 1e6 == pytest.approx([0.356765, 0.2], rel=1e-5)
    assert trace.temperature_K[-1, 0] == pytest.approx(185.0905, rel=1e-5)


def test_a_sealed_hot_gas_cools_with_its_lumped_time_constant():
    """rho cv V / (h A): fixed film, ideal gas, wall of great heat; against the exponential (check C13)."""
    table = ideal_table(0.0280134, 1.4, 17.6e-6, 0.0254)
    system = vessel(table, flow.LAMINAR, [0.0], 1e6, [0, 0.05, 0.1, 1.0, 4.0])
    state = simulate.begin(system)
    x = state.x.copy()
    cv = 2.5 * table.r
    x[1] += x[0] * cv * 10.0
    tau = x[0] * cv / (4.0 * 0.05)
    times = tau * np.array([1e-9, 0.693147, 2.302585, 6.907755])
    _, trace = simulate.hold(system, simulate.State(x, state.totals, state.memory), times)
    excess = trace.temperature_K[:, 0] - 293.15
    assert excess == pytest.approx([10.0, 5.0, 1.0, 0.01], rel=2e-4)


def test_the_trace_has_no_jump_where_a_map_is_renewed():
    """At a change of map pressures may jump by 1e-8 of full scale at most: second differences stay that small."""
    system = networks.yardstick()
    state, _ = simulate.advance(system, simulate.begin(system), Command(CONTROL, 1.6e6), 4000)
    state, quiet = simulate.advance(system, state, Command(CONTROL, 1.6e6), 20000)
    assert quiet.maps > 3
    jumps = np.abs(np.diff(quiet.pressure_Pa, n=2, axis=0)).max()
    assert jumps < 1e-8 * 2e6


def test_pulses_carry_the_gas_that_their_duty_says():
    """A pulsed inlet that is open for a share of every period lets in that share of the full flow."""
    system = networks.yardstick(pulse=(1.0, 1.0, 0.0, 0.0))
    system = simulate.System(
        system.net._replace(valve_lag=np.array([np.inf, np.inf])), system.table, system.controller, system.names,
        system.start_Pa,
    )  # fmt: skip
    _, trace = simulate.advance(system, simulate.begin(system), Command(CONTROL, 4e5), 3000)
    assert trace.reason is None
    assert abs(trace.gauge_Pa[-1000:, 0].mean() - 4e5) < 1e-4 * 2e6


def test_a_hose_gives_way_and_comes_back():
    """A volume that stretches by 2 % per MPa reads the pressure that its larger volume leaves, and keeps its energy."""
    table = ideal_table(0.0280134, 1.4, 17.6e-6, 0.0254)
    net = networks.network(
        table, [1e-4], [], [networks.ROOM_PA], films=[[0, 1.0, 0.1, 1.0, 1e3]], wall_heat=1e4, room_link=0.0,
        gauges=[(0, 0.01)], strains={0: (2e-8, 0.02, 0.0, 1.0)},
    )  # fmt: skip
    system = networks.system(net, table, networks.pid(0, inlet=-1, outlet=-1), 1.1e6)
    state, trace = simulate.hold(system, simulate.begin(system), np.array([100.0]))
    p = trace.pressure_Pa[0, 0]
    assert p * (1.0 + 2e-8 * (p - networks.ROOM_PA)) == pytest.approx(1.1e6, rel=1e-6)
    gained = simulate.total_energy(system, state) - simulate.total_energy(system, simulate.begin(system))
    assert gained == pytest.approx(state.totals[-2] - state.totals[-1], abs=1e-8)


def test_a_hold_leaves_its_state_at_the_last_reading():
    """A vessel that empties through a leak: pressure of the state after the hold is the last one recorded."""
    system = vessel(networks.load("nitrogen"), flow.HOLE, [1e-6], 1e6, [0, 0.05, 0.1, 1.0, 4.0])
    state, trace = simulate.hold(system, simulate.begin(system), np.array([0.3, 1.0]))
    assert simulate.pressures(system, state)[0] == pytest.approx(trace.pressure_Pa[-1, 0], rel=1e-9)


def test_noise_is_the_same_however_the_run_is_cut():
    """Sample k of a stream is a function of the seed and k alone, and is standard normal."""
    from simcal.engine.sample import normal

    spare = np.array([0.0, -1.0])
    values = np.array([normal(7, k, spare) for k in range(20000)])
    assert abs(values.mean()) < 0.03
    assert abs(values.std() - 1.0) < 0.02
    assert abs(np.corrcoef(values[:-1], values[1:])[0, 1]) < 0.03
    assert normal(7, 11, np.array([0.0, -1.0])) == values[11]
    assert normal(8, 11, np.array([0.0, -1.0])) != values[11]


def test_a_run_that_leaves_the_gas_table_ends_there_and_keeps_what_came_before():
    """An adiabatic vessel blown to vacuum gets too cold: the rows before stay, the reason says so."""
    system = vessel(networks.load("nitrogen"), flow.HOLE, [1e-5], 2e6, [0, 1e-12, 0.1, 1.0, 1e-9])
    _, trace = simulate.hold(system, simulate.begin(system), np.linspace(0.01, 5.0, 500))
    assert trace.reason is not None and "gas table" in trace.reason
    assert 0 < len(trace.time_s) < 500
    assert np.isfinite(trace.pressure_Pa).all()


def test_shut_valves_shut():
    """In SHUT mode nothing passes inlet or outlet."""
    system = networks.yardstick()
    state, _ = simulate.advance(system, simulate.begin(system), Command(CONTROL, 1.6e6), 3000)
    state, _ = simulate.advance(system, state, Command(SHUT), 50)
    later, _ = simulate.advance(system, state, Command(SHUT), 2000)
    assert np.abs(later.totals[:2] - state.totals[:2]).max() < 1e-13


def test_the_loop_holds_what_its_sensor_reads():
    """A sensor reads 300 Pa too much, and 500 Pa more that die in 20 s: the reading is held, the pressure is not."""
    system = networks.yardstick()
    _, trace = simulate.advance(
        system, simulate.begin(system), Command(CONTROL, 6e5, offset_Pa=300.0, shift_Pa=500.0, shift_time_s=20.0), 6000
    )
    wrong = 300.0 + 500.0 * np.exp(-trace.time_s[-1000:] / 20.0)
    assert np.abs(trace.gauge_Pa[-1000:, 0] + wrong - 6e5).max() < 2.0
