"""From objects to arrays: gains of the tuning rule, stated rates either way, the source of a known controller."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from simcal.analysis.settle.rig import gains_of
from simcal.bench import tuned as tuning_room
from simcal.bench.checks import faults_of
from simcal.bench.network import build
from simcal.bench.tuned import tuning_pressures
from simcal.control.margins import loop_margins
from simcal.engine import simulate
from simcal.errors import InputError
from simcal.files.bench_file import load_bench
from simcal.physics.flow import SEAL, SEAT, edge_flow
from simcal.physics.stated import upstream

PIPED = "configs/hard-piped-6bar.toml"
OUTSIDE = "configs/nitrogen-160bar.toml"
WEAK_INLET = (
    "supply.pressure=7.1 bar abs",
    "valve.inlet.conductance=0.03 dm3/(s bar)",
    "valve.outlet.conductance=0.01 dm3/(s bar)",
)


def at_pressure(system, pressure):
    """The linear model with all volumes at one pressure but the regulator's, which stays at the supply's."""
    start = np.full_like(system.start_Pa, pressure)
    if "regulator" in system.names.node:
        start[system.names.node["regulator"]] = system.net.bound[0, 0]
    state = simulate.begin(simulate.System(system.net, system.table, system.controller, system.names, start))
    return simulate.linear_model(system, state)


def margins_at(system, pressure):
    """Margins of the loop at a pressure through inlet and outlet, for those that move the reading."""
    linear, ctl, size = at_pressure(system, pressure), system.controller, system.sizes
    row = np.zeros(size.states)
    row[size.gauge + ctl.index[0]] = 1.0 / ctl.scale[1]
    columns = [sign * linear.G[:, ctl.index[i]] for i, sign in ((1, 1.0), (2, -1.0))]
    useful = [c for c in columns if row @ (linear.E @ c + c) > 1e-12]
    return [loop_margins(linear.E, c, row, gains_of(system), ctl.period) for c in useful]


@pytest.mark.parametrize(
    "sets",
    [
        (),
        ("supply.droop=0.2 bar", "supply.droop_at=1 g/s"),
        ("sensor.reference.full_scale=20 bar gauge",),
        ("sensor.reference.full_scale=7 bar gauge",),
        ("supply.pressure=7.1 bar abs",),
        WEAK_INLET,
        ("valve.inlet.dead_band=40 %", "valve.outlet.dead_band=40 %"),
        ("controller.period=0.1 ms", "sensor.reference.lag=60 s"),
    ],
    ids=str,
)
def test_tuned_loops_are_robust_over_the_whole_range(sets):
    # 1.7: peak sensitivity of the rule on its own model, Skogestad, J. Process Control 13 (2003) 291, table 1
    bench = load_bench(PIPED, sets)
    system = build(bench)
    for pressure in np.linspace(101320.0, min(7.0132e5, 0.95 * bench.supply.pressure), 7):
        for found in margins_at(system, pressure):
            assert found.stable
            assert found.sensitivity < 1.8
            assert found.gain > 2.0


def test_the_loop_is_looked_at_where_the_points_are_and_where_the_inlet_chokes():
    bench = load_bench(PIPED)
    assert tuning_pressures(bench) == pytest.approx([101320.0, 0.3 * 8e5, 401320.0, 701320.0])
    high = load_bench(PIPED, ("sensor.reference.full_scale=20 bar gauge", "supply.pressure=7.1 bar abs"))
    assert tuning_pressures(high)[-1] == pytest.approx(0.95 * 7.1e5)


def test_a_drooping_regulator_starts_at_the_supply():
    system = build(load_bench(PIPED, ("supply.droop=0.2 bar", "supply.droop_at=1 g/s")))
    found = simulate.pressures(system, simulate.begin(system))
    assert found[system.names.node["regulator"]] == pytest.approx(8e5, rel=1e-9)
    assert found[system.names.node["port"]] == pytest.approx(101320.0, rel=1e-9)


def test_the_source_of_a_known_controller_keeps_its_name():
    bench = load_bench(OUTSIDE)
    valves = {**bench.valves, "servo": next(iter(load_bench(PIPED).valves.values()))}
    place = faults_of(dataclasses.replace(bench, valves=valves))[0][0]
    assert place == "valve.servo"


def test_a_bench_that_no_rule_fits_is_told_in_one_line(monkeypatch):
    def refuse(*_):
        raise ValueError("no gain keeps this loop well away from instability.")

    monkeypatch.setitem(tuning_room.RULES, "simc", refuse)
    with pytest.raises(InputError) as caught:
        build(load_bench(PIPED))
    assert caught.value.line().startswith("hard-piped-6bar.toml: controller.tuning: no gains by simc: no gain keeps")
    assert "gains = {" in caught.value.right


@pytest.mark.parametrize(("at", "sign"), [("6 bar abs", 1.0), ("50 kPa abs", -1.0)])
@pytest.mark.parametrize("law", ["hole", "laminar", "molecular", "seat"])
def test_a_stated_leak_passes_its_rate_outward_or_inward(at, sign, law):
    """Between the stated pressure and the room's the path passes the stated rate, with the edge from port to room."""
    sets = ("leak.fitting.rate=1e-6 mol/s", f"leak.fitting.rate_at={at}", f"leak.fitting.law={law}")
    system = build(load_bench(PIPED, sets))
    port, room = (6e5 if sign > 0.0 else 5e4), 101320.0
    edge = system.names.edge["leak.fitting"]
    assert list(system.net.edge_int[edge, :2]) == [system.names.node["port"], system.names.boundary["room"]]
    gas = upstream(system.table, max(port, room), 293.15)
    code, a = int(system.net.edge_int[edge, 2]), system.net.edge_par[edge]
    passed = edge_flow(code, max(port, room), min(port, room), 293.15, gas, a)[0]
    assert passed == pytest.approx(1e-6 * system.table.molar_mass, rel=1e-9)


@pytest.mark.parametrize("stated", ["rate", "wall"])
def test_a_permeation_leak_of_a_bench_reaches_its_rate_and_keeps_its_lag(stated):
    """100 mL shut at 6 bar for four lags: out comes the rate stated there times the time less the lag (Daynes 1920)."""
    sets = ["leak.fitting.law=permeation"]
    if stated == "rate":
        sets += ["leak.fitting.rate=1e-9 mol/s", "leak.fitting.rate_at=6 bar abs", "leak.fitting.lag=1000 s"]
        bench = load_bench(PIPED, sets)
    else:  # 1e-9 mol/s at 498.68 kPa, 1000 s
        text = """[leak.fitting]
            at = "port"
            law = "permeation"
            permeability = "2.00529397609e-15 mol/(m s Pa)"
            area = "3000 mm2"
            thickness = "3 mm"
            diffusivity = "1.5e-9 m2/s"
        """
        lines = Path(PIPED).read_text(encoding="utf-8").partition("[leak.fitting]")
        rest = lines[2].partition("[sequence")
        bench = load_bench(PIPED, texts={"hard-piped-6bar.toml": lines[0] + text + rest[1] + rest[2]})
    system = build(bench)
    start = np.where(np.arange(len(system.start_Pa)) < 3, 6e5, system.start_Pa)
    assert [name for name in system.names.node if name.startswith("leak")] == ["leak.fitting.1", "leak.fitting.2"]
    start[[system.names.node[f"leak.fitting.{k}"] for k in (1, 2)]] = bench.room.barometer
    system = dataclasses.replace(system, start_Pa=start)
    state, _ = simulate.hold(system, simulate.begin(system), np.array([4000.0]))
    out = state.totals[system.names.edge["leak.fitting.2"]] / system.table.molar_mass
    taken = state.totals[system.names.edge["leak.fitting.0"]] / system.table.molar_mass
    assert out == pytest.approx(1e-9 * 3000.0, rel=2e-3)
    assert taken == pytest.approx(1e-9 * 6000.0, rel=2e-3)


def test_a_seal_of_a_bench_leaks_what_its_channels_pass_and_a_trial_may_draw_its_torque():
    """Shut at 6 bar: the gas that the nut's channels lose in 10 s, against their law at that pressure."""
    bench = load_bench("configs/seals-6bar.toml", ("seal.nut.nick=15 um",))
    system = build(bench)
    edges = [name for name in system.names.edge if name.startswith("seal.")]
    assert edges == [
        "seal.nut", "seal.nut.nick", "seal.nut.edge", "seal.cover", "seal.cover.edge", "seal.cover.ring.0",
        "seal.cover.ring.1", "seal.cover.ring.2", "seal.plug", "seal.plug.edge",
    ]  # fmt: skip
    system = dataclasses.replace(system, start_Pa=np.full_like(system.start_Pa, 6e5))
    state, trace = simulate.hold(system, simulate.begin(system), np.array([0.0, 10.0]))
    k = system.names.edge["seal.nut.nick"]
    p = trace.pressure_Pa[:, system.names.node["port"]].mean()
    gas = upstream(system.table, p, 293.15)
    passed = edge_flow(SEAL, p, 101300.0, 293.15, gas, system.net.edge_par[k])[0]
    assert state.totals[k] == pytest.approx(10.0 * passed, rel=1e-3)
    looser = build(bench.replace("seal.nut.nut_factor", 0.4))
    assert looser.net.edge_par[k][3] < system.net.edge_par[k][3]


def test_a_vacuum_bench_takes_in_what_its_leak_states():
    """Shut at 50 kPa for 100 s: the gas that came in, against the rate stated there; the pressure hardly moves."""
    system = build(
        load_bench("configs/low-absolute.toml", ("leak.fitting.rate=1e-8 mol/s", "leak.fitting.rate_at=50 kPa abs"))
    )
    start = np.full_like(system.start_Pa, 5e4)
    state = simulate.begin(simulate.System(system.net, system.table, system.controller, system.names, start))
    samples = round(100.0 / system.controller.period)
    after, _ = simulate.advance(system, state, simulate.Command(simulate.SHUT), samples)
    leaked = after.totals[system.names.edge["leak.fitting"]] / system.table.molar_mass
    assert leaked == pytest.approx(-1e-6, rel=2e-3)


def test_a_seat_is_stated_for_a_supply_below_the_room_too():
    bench = load_bench("configs/low-absolute.toml").replace("supply.pressure", 9e4)
    bench = bench.replace("valve.inlet.seat", 1e-8).replace("valve.inlet.seat_at", 9e4)
    system = build(bench)
    a = system.net.edge_par[system.names.edge["seat.inlet"]]
    high, low = bench.room.barometer, 9e4
    passed = edge_flow(SEAT, high, low, 293.15, upstream(system.table, high, 293.15), a)[0]
    assert passed == pytest.approx(1e-8 * system.table.molar_mass, rel=1e-9)


@pytest.fixture(scope="module")
def stood():
    """Function: how far the node of a known controller stands from its reference after 40 s, Pa; and the span, Pa."""

    def run(*sets):
        bench = load_bench(OUTSIDE, ("controller.behaviour.ripple=0 Pa", "sequence.up_down.window=60 s", *sets))
        system = build(bench)
        sensor, period = bench.sensors["reference"], bench.controller.period
        samples = round(40.0 / period)
        _, trace = simulate.advance(system, simulate.begin(system), simulate.Command(simulate.CONTROL, 6e6), samples)
        wanted = system.controller.scale[0] + system.controller.scale[1] * trace.drive
        node = trace.pressure_Pa[:, system.names.node[sensor.at]]
        return node[-1] - wanted[-2], sensor.range.span

    return run


def leaking(rate):
    return f"leak.fitting.rate={rate} mol/s", "leak.fitting.rate_at=60 bar abs", "leak.fitting.law=laminar"


@pytest.mark.parametrize("period", ["5 ms", "20 ms", "1 s", "10 s"])
def test_the_node_of_a_known_controller_follows_with_any_period(stood, period):
    off, span = stood(f"controller.period={period}")
    assert abs(off) < 1e-6 * span


@pytest.mark.parametrize("period", ["20 ms", "1 s"])
def test_a_leak_does_not_pull_the_node_off_a_known_approach(stood, period):
    still, span = stood(f"controller.period={period}", *leaking("0"))
    small, _ = stood(f"controller.period={period}", *leaking("1e-5"))
    large, _ = stood(f"controller.period={period}", *leaking("1e-3"))
    assert abs(small - still) < 1e-6 * span
    assert abs(large - still) < 1e-6 * span  # about 1 Pa of 160 bar
    assert large - still == pytest.approx(100.0 * (small - still), rel=0.05)  # flow / conductance
