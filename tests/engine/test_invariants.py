"""What must hold on any network: balances, positivity, direction of flow, independence of numbering and of effort."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from simcal.engine import elimination, simulate
from simcal.engine.plant import P, plant
from simcal.engine.simulate import CONTROL, SHUT, Command, Effort
from simcal.engine.slow import add_jets, add_slow
from tests.engine import networks
from tests.engine.strategies import random_system, seeds
from tests.ideal import ideal_table

CALM = 0.3
"""gain at which no drawn loop hunts: two traces of a hunting loop part whatever the engine does"""
few = settings(max_examples=15, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))


def legs(system, effort=None):
    """A run with slewing, quiet parts and an isolated stretch."""
    state = simulate.begin(system)
    out = []
    for command, samples in ((Command(CONTROL, 1.2e6), 900), (Command(SHUT), 300), (Command(CONTROL, 4e5), 900)):
        state, trace = simulate.advance(system, state, command, samples, effort)
        assert trace.reason is None
        out.append(trace)
    return state, out


def carried(system, state):
    """Mass and energy that crossed the boundaries into the network, and the sums of what crossed in either way."""
    size, net = system.sizes, system.net
    mass = energy = moved = 0.0
    for k, (a, b, *_) in enumerate(net.edge_int):
        sign = (1.0 if a >= size.nodes else 0.0) - (1.0 if b >= size.nodes else 0.0)
        mass += sign * state.totals[k]
        energy += sign * state.totals[size.edges + k]
        moved += abs(state.totals[k])
    heat, work = state.totals[2 * size.edges :]
    return mass, energy + heat - work, moved


@few
@given(seeds)
def test_mass_and_energy_balance_on_random_networks(seed):
    """What is inside changes by what was carried through: mass to 1e-10, energy to 1e-8."""
    system = random_system(seed)
    state, _ = legs(system)
    start = simulate.begin(system)
    mass, energy, moved = carried(system, state)
    n = system.sizes.nodes
    assert abs((state.x[:n] - start.x[:n]).sum() - mass) <= 1e-10 * moved
    inside = simulate.total_energy(system, state) - simulate.total_energy(system, start)
    through = moved * abs(system.net.bound[0, 2]) + abs(energy)
    assert abs(inside - energy) <= 1e-8 * through


@few
@given(seeds)
def test_mass_and_energy_stay_positive_and_pressures_between_the_boundaries(seed):
    """No volume empties or passes the supply by more than what compression warms."""
    system = random_system(seed)
    state, traces = legs(system)
    assert (state.x[: system.sizes.nodes] > 0.0).all()
    pressures = np.concatenate([trace.pressure_Pa for trace in traces])
    assert pressures.min() > 0.9 * networks.ROOM_PA
    assert pressures.max() < 1.2 * system.net.bound[0, 0]


@few
@given(seeds)
def test_a_network_left_alone_at_the_rooms_pressure_stays_as_it_is(seed):
    """Without a difference nothing flows: shut, unleaking from the supply, at rest."""
    system = random_system(seed)
    edge_par = system.net.edge_par.copy()
    edge_par[-1] = 0.0  # the seat from the supply
    room = system.net.room.copy()
    room[1:3] = 0.0
    system = simulate.System(
        system.net._replace(edge_par=edge_par, room=room),
        system.table,
        system.controller,
        system.names,
        system.start_Pa,
    )
    start = simulate.begin(system)
    state, trace = simulate.advance(system, start, Command(SHUT), 500)
    assert np.abs(trace.pressure_Pa - networks.ROOM_PA).max() < 1e-6
    assert np.abs(state.totals[: system.sizes.edges]).max() < 1e-15


@few
@given(seeds)
def test_gas_flows_from_higher_to_lower_pressure(seed):
    """Every edge's mass flow has the sign of its pressure difference, at random states."""
    system = random_system(seed)
    random = np.random.default_rng(seed)
    size, net = system.sizes, system.net
    values = [random.uniform(0.5e5, 2.9e6) for _ in range(size.nodes)]
    system = simulate.System(net, system.table, system.controller, system.names, np.array(values))
    state = simulate.begin(system)
    x = state.x.copy()
    x[size.valve : size.valve + size.valves] = 0.3
    gas = simulate._gas(system, state)
    f, rate = np.empty(size.states), np.empty(size.totals)
    jac, tot = np.empty((size.states, size.states)), np.empty((size.totals, size.states))
    assert plant(net, system.table, x, np.zeros(size.valves), 0.0, 0.0, gas, f, rate, jac, tot, True)
    for k, (a, b, *_) in enumerate(net.edge_int):
        assert rate[k] * (gas[a, P] - gas[b, P]) >= 0.0


def displaced(system, rng):
    """A state away from rest: drawn pressures, walls 3 K off, valves part open."""
    start = rng.uniform(2e5, 2.5e6, system.sizes.nodes)
    system = simulate.System(system.net, system.table, system.controller, system.names, start)
    state, size = simulate.begin(system), system.sizes
    x = state.x.copy()
    x[size.valve : size.valve + size.valves] = 0.2
    x[size.wall : size.wall + size.nodes] += 3.0
    return x, simulate._gas(system, state)


def differences(system, x, gas, share):
    """Central differences of the rates with every state; share: the step, of a state's size."""
    size, net, command = system.sizes, system.net, np.zeros(system.sizes.valves)
    jac, tot = np.empty((size.states, size.states)), np.empty((size.totals, size.states))
    rate, up, down, slopes = np.empty(size.totals), *np.empty((2, size.states)), np.empty_like(jac)
    for j in range(size.states):
        step = max(abs(x[j]), 1.0 if j >= 2 * size.nodes else 0.0) * share
        for sign, out in ((1.0, up), (-1.0, down)):
            moved = x.copy()
            moved[j] += sign * step
            assert plant(net, system.table, moved, command, 0.0, 0.0, gas.copy(), out, rate, jac, tot, False)
        slopes[:, j] = (up - down) / (2.0 * step)
    return slopes


def derivatives(system, x, gas):
    """Those of `plant` at x, with the rates' own totals."""
    size = system.sizes
    f, rate = np.empty(size.states), np.empty(size.totals)
    jac, tot = np.empty((size.states, size.states)), np.empty((size.totals, size.states))
    assert plant(system.net, system.table, x, np.zeros(size.valves), 0.0, 0.0, gas, f, rate, jac, tot, True)
    return jac, tot, rate


@few
@given(seeds)
def test_derivatives_equal_a_central_difference(seed):
    """With an ideal gas of fixed properties and fixed films, which the Jacobian holds fixed, it is exact."""
    system = random_system(seed, most=4)
    film = system.net.node_film.copy()
    film[:, 0] = 0
    table = ideal_table(0.0280134, 1.4, 17.6e-6, 0.0254)
    net = system.net._replace(node_film=film)
    system = simulate.System(net, table, system.controller, system.names, system.start_Pa)
    x, gas = displaced(system, np.random.default_rng(seed))
    jac, _, _ = derivatives(system, x, gas)
    slopes = differences(system, x, gas, 1e-4)  # a smaller step drowns in rounding
    for j in range(system.sizes.states):
        assert np.abs(slopes[:, j] - jac[:, j]) == pytest.approx(0.0, abs=1e-4 * np.abs(jac[:, j]).max() + 1e-12), j


@few
@given(seeds)
def test_derivatives_of_the_map_equal_a_central_difference(seed):
    """With real gases, films that mind gas and jets: the map's derivatives leave nothing out."""
    system = random_system(seed, most=4)
    x, gas = displaced(system, np.random.default_rng(seed))
    jac, tot, rate = derivatives(system, x, gas)
    add_slow(system.net, system.table, x, gas, gas.copy(), rate, jac, tot)
    add_jets(system.net, x, gas, rate, jac, tot)
    slopes = differences(system, x, gas, 1e-5)
    for j in range(system.sizes.states):
        assert np.abs(slopes[:, j] - jac[:, j]) == pytest.approx(0.0, abs=1e-4 * np.abs(jac[:, j]).max() + 1e-12), j


@few
@given(seeds)
def test_the_numbering_of_the_volumes_does_not_matter(seed):
    """The same network with its volumes in another order gives the same pressures."""
    system = random_system(seed, most=5, kp=CALM)
    random = np.random.default_rng(seed)
    size, net = system.sizes, system.net
    n = size.nodes
    order = list(range(n))
    random.shuffle(order)
    place = {old: new for new, old in enumerate(order)}
    edges = net.edge_int.copy()
    for row in edges:
        row[0], row[1] = place.get(int(row[0]), int(row[0])), place.get(int(row[1]), int(row[1]))
    strain = net.node_strain[order]
    shuffled = elimination.with_plan(
        net._replace(
            node_par=net.node_par[order], node_film=net.node_film[order], node_strain=strain, edge_int=edges,
            gauge_node=np.array([place[int(i)] for i in net.gauge_node]),
        )
    )  # fmt: skip
    other = simulate.System(shuffled, system.table, system.controller, system.names, system.start_Pa[order])
    _, first = legs(system)
    _, second = legs(other)
    for a, b in zip(first, second, strict=True):
        assert np.abs(a.pressure_Pa[:, order] - b.pressure_Pa).max() < 1e-6 * 2e6


@few
@given(seeds)
def test_halving_box_and_tolerance_moves_no_pressure_by_1e_5_of_full_scale(seed):
    """The engine's own check of its effort."""
    system = random_system(seed, most=3, kp=CALM)
    _, first = legs(system)
    _, second = legs(system, Effort(0.5, 0.5))
    worst = max(np.abs(a.pressure_Pa - b.pressure_Pa).max() for a, b in zip(first, second, strict=True))
    assert worst < 1e-5 * 2e6


@pytest.mark.parametrize("nodes", [2, 8])
def test_a_run_that_is_cut_into_calls_goes_on_where_it_was(nodes):
    """Thirty calls of 30 samples give the pressures of one call of 900, to the map's own accuracy."""
    system = networks.yardstick(nodes)
    whole, trace = simulate.advance(system, simulate.begin(system), Command(CONTROL, 9e5), 900)
    state = simulate.begin(system)
    for _ in range(30):
        state, part = simulate.advance(system, state, Command(CONTROL, 9e5), 30)
    assert np.abs(part.pressure_Pa - trace.pressure_Pa[-30:]).max() < 2e-6 * 2e6
    assert state.sample == whole.sample
