"""`settle` on a small bench: against plain loops over the trace, closed forms and conservation."""

import re
from dataclasses import replace

import numpy as np
import pytest

from simcal.analysis.settle import METHOD, settle
from simcal.bench.network import build
from simcal.engine.simulate import CONTROL, VENT, Command, advance, begin
from simcal.errors import InputError

PERIOD = 0.01
ALLOWED = 30.0  # a tenth of 0.05 % of 6 bar
RANDOM = 2.0 * np.sqrt((2.0 / 10.0) ** 2 + 25.0 / 12.0)  # 2 Pa of noise over 100 readings; rounding to 5 Pa stays


@pytest.fixture(scope="module")
def base(make_bench):
    """The small bench as it is."""
    return settle(make_bench())


def plain(bench, target, before, samples, mode=CONTROL, lead=()):
    """Arrival and window start by plain loops over one uncut trace, in s; `lead` are earlier (command, samples)."""
    system = build(bench)
    state = begin(system)
    for command, count in lead:
        state, _ = advance(system, state, command, count)
    _, trace = advance(system, state, Command(mode, target), samples)
    reference = trace.gauge_Pa[:, system.names.gauge["reference"]]
    device = trace.gauge_Pa[:, system.names.gauge["one"]]
    near = max(0.01 * abs(target - before), ALLOWED)
    inside = [abs(r - target) <= near for r in reference]
    fine = [i and abs(d - r) + RANDOM <= ALLOWED for i, d, r in zip(inside, device, reference, strict=True)]
    run = 0
    for k, ok in enumerate(fine):
        run = run + 1 if ok else 0
        if run == 101:
            window = k - 100
            break
    arrival = window
    while arrival > 0 and inside[arrival - 1]:
        arrival -= 1
    error = float(np.mean(device[window : window + 101] - reference[window : window + 101]))
    return arrival * PERIOD, window * PERIOD, error


def test_arrival_and_window_equal_plain_loops_over_an_uncut_trace(make_bench, base):
    bench = make_bench()
    first, second, third = base.points
    arrival, ready, error = plain(bench, 4e5, 1e5, 1200, lead=[(Command(VENT, 1e5), 100)])
    assert second.arrival_s == pytest.approx(arrival, abs=2 * PERIOD)
    assert second.ready_s == pytest.approx(ready, abs=2 * PERIOD)
    assert second.error_at_reading_Pa == pytest.approx(error, abs=0.5)
    lead = [(Command(VENT, 1e5), 100), (Command(CONTROL, 4e5), round(second.end_s / PERIOD))]
    arrival, ready, error = plain(bench, 2.2e5, 4e5, 1600, lead=lead)
    assert third.arrival_s == pytest.approx(arrival, abs=2 * PERIOD)
    assert third.ready_s == pytest.approx(ready, abs=2 * PERIOD)
    assert third.error_at_reading_Pa == pytest.approx(error, abs=0.5)
    assert first.mode == "vent" and first.ready_s == 0.0


def test_times_add_up_and_the_next_command_comes_when_the_window_is_over(base):
    start = 0.0
    for point in base.points:
        assert point.start_s == pytest.approx(start, abs=1e-6)
        assert point.arrival_s + point.dwell_s == pytest.approx(point.ready_s, abs=1e-6)
        start += point.ready_s + point.window_s
    assert base.total_s == pytest.approx(start, abs=1e-6)
    assert base.good


def test_parts_sum_to_the_error_and_the_random_one_is_two_standard_deviations_of_the_mean(base):
    for point in base.points:
        signed = sum(v for name, v in point.error_parts_Pa.items() if name != "ripple")
        assert signed == pytest.approx(point.error_at_reading_Pa, abs=1e-9)
        assert point.error_parts_Pa["ripple"] == pytest.approx(RANDOM, rel=1e-9)
        assert point.allowance_Pa == pytest.approx(ALLOWED, rel=1e-12)
        assert abs(point.error_at_reading_Pa) + RANDOM <= ALLOWED


def test_signs_going_up_the_port_lags_below_and_coming_down_above(base):
    _, up, down = base.points
    assert (up.direction, down.direction) == ("up", "down")
    assert up.error_parts_Pa["line"] < 0.0 < down.error_parts_Pa["line"]
    assert up.make_up_mol_per_s > 0.0 > down.make_up_mol_per_s
    assert up.limited_by == down.limited_by == "line"


def test_gas_used_is_what_filled_the_volumes(base):
    """The gas of the step from 1 to 4 bar, V dp/(r T), less what is still missing while it is some 1 % (3 K) warm."""
    cold = (120e-6 + np.pi / 4.0 * 1.5e-3**2) * 3e5 / (296.8 * 293.15)
    assert 0.99 * cold < base.gas_used_kg < cold


def test_a_time_skew_shows_as_rate_times_skew(make_bench, base):
    """On a pressure that changes by v Pa/s the reading taken s later differs by v s; both signs."""
    later = settle(make_bench('sequence.up_down.skew="0.3 s"', "sequence.up_down.dwell='2 s'"))
    level = settle(make_bench("sequence.up_down.dwell='2 s'"))
    system = build(make_bench())
    state, _ = advance(system, begin(system), Command(VENT, 1e5), round(level.points[0].end_s / PERIOD))
    _, trace = advance(system, state, Command(CONTROL, 4e5), 1000)
    reference = trace.gauge_Pa[:, system.names.gauge["reference"]]
    k = round(level.points[1].ready_s / PERIOD)
    expected = float(np.mean(reference[k : k + 101] - reference[k - 30 : k + 71]))
    found = later.points[1].error_parts_Pa["rate"] - level.points[1].error_parts_Pa["rate"]
    assert later.points[1].ready_s == level.points[1].ready_s
    assert found == pytest.approx(expected, rel=0.02)
    assert base.points[1].arrival_s == later.points[1].arrival_s


def test_with_the_setpoint_as_reference_value_control_is_what_is_off(make_bench):
    for point in settle(make_bench('sequence.up_down.reference_value="setpoint"')).points[1:]:
        signed = sum(v for name, v in point.error_parts_Pa.items() if name != "ripple")
        assert signed == pytest.approx(point.error_at_reading_Pa, abs=1e-9)
        assert point.error_parts_Pa["control"] != 0.0
        assert abs(point.error_at_reading_Pa) <= point.allowance_Pa


def test_the_share_of_a_leak_is_its_flow_through_the_line(make_bench):
    """Hagen-Poiseuille for a compressible gas: dp = m mu 128 L r T/(pi d^4 p), nitrogen's mu = 17.6e-6 Pa s."""
    point = settle(make_bench('leak.fitting.rate="2e-5 mol/s"')).points[1]
    flow = 2e-5 * 28.013e-3 * (4e5**2 - 1e5**2) / (6e5**2 - 1e5**2)
    drop = flow * 17.6e-6 * 128.0 * 296.8 * 293.15 / (np.pi * 1.5e-3**4 * 4e5)
    assert point.error_parts_Pa["leak"] == pytest.approx(-drop, rel=0.02)


def test_a_lower_device_reads_more_and_the_head_is_no_error(make_bench, base):
    """E11 of the gas head: (rho - 1.2) g h for a gauge device; rho of nitrogen at 4 bar, 293 K is 4.60 kg/m3."""
    raised = settle(make_bench('device.one.height="0.5 m"', 'sensor.reference.height="0.1 m"')).points[1]
    assert raised.head_Pa == pytest.approx(-(4.60 - 1.2) * 9.80665 * 0.4, rel=0.01)
    assert raised.error_at_reading_Pa == pytest.approx(base.points[1].error_at_reading_Pa, abs=1e-9)


def test_after_effect_is_reported_and_a_sensor_shift_counts(make_bench, base):
    """f (step) exp(-t/T): 0.1 % of 3 bar at the reading, behind the step; 1e-5 of it as a shift of the reference."""
    bench = make_bench("device.one.after_effect=0.1 %", "sensor.reference.step_shift=0.001 %")
    point = settle(bench).points[1]
    left = np.exp(-point.ready_s / 60.0)
    assert point.device_effect_Pa == pytest.approx(-300.0 * left, rel=1e-6)
    assert point.error_parts_Pa["sensor"] == pytest.approx(-3.0 * np.exp(-(point.ready_s + 0.5) / 60.0), rel=1e-3)
    assert point.error_parts_Pa["device"] == 0.0


def test_isolated_the_valves_shut_after_the_soak_and_latest_ends_with_the_leak(make_bench):
    """With the valves shut a leak takes the reading out of nearness: N p V/(q r T) after the shutting, near enough."""
    sets = ['sequence.up_down.read="isolated"', 'sequence.up_down.soak="40 s"', 'leak.fitting.rate="1e-6 mol/s"',
            'sequence.up_down.nearness="500 Pa"', "leak.fitting.law='laminar'"]  # fmt: skip
    point = settle(make_bench(*sets)).points[1]
    assert point.mode == "isolated" and point.reached
    assert point.shut_s == pytest.approx(point.arrival_s + 40.0, abs=PERIOD)
    assert point.limited_by == "soak", "the error was good long before"
    assert point.ready_s >= point.shut_s
    flow = 1e-6 * 28.013e-3 * (4e5**2 - 1e5**2) / (6e5**2 - 1e5**2)
    fall = flow * 296.8 * 293.15 / 121.8e-6
    assert point.latest_s == pytest.approx(point.shut_s + 500.0 / fall, rel=0.1)
    assert all(p.latest_s is None for p in settle(make_bench()).points)


def test_a_given_dwell_says_what_error_is_left(make_bench):
    """The reverse question: 3 s are enough on the way up, not on the way down."""
    result = settle(make_bench(), dwell_s=3.0)
    assert result.fixed_dwell_s == 3.0
    assert [p.dwell_s for p in result.points] == [3.0, 3.0, 3.0]
    assert [p.reached for p in result.points] == [True, True, False]
    assert "Pa are left, 30 Pa are allowed" in result.points[2].reason
    assert abs(result.points[2].error_at_reading_Pa) > 30.0


def test_limits_are_said_first_and_an_overshot_point_is_void(make_bench):
    result = settle(make_bench('device.one.overshoot="50 Pa"', 'device.one.highest_rate="0.2 bar/s"'))
    assert any("changes by up to" in v and v.startswith("point 2, one:") for v in result.violations)
    up, down = result.points[1:]
    assert up.void is None and up.overshoot_Pa < 50.0
    assert down.overshoot_Pa > 50.0 and "way down" in down.void and down.reason == down.void
    assert not result.good


def test_a_ramp_keeps_the_rate(make_bench):
    result = settle(make_bench('sequence.up_down.ramp="0.2 bar/s"'))
    assert result.points[1].peak_rate_Pa_per_s < 0.25e5
    assert result.points[1].arrival_s > 14.0


def test_preloads_are_gone_to_and_back_and_not_read(make_bench):
    result = settle(make_bench('sequence.up_down.preloads=["100 %", "100 %"]'))
    assert [(p.percent, p.mode, p.reached) for p in result.preloads] == [
        (100.0, "held", True), (0.0, "vent", True), (100.0, "held", True),
    ]  # fmt: skip
    assert len(result.points) == 3
    assert result.points[0].start_s > 20.0 and result.points[0].direction == "down"
    assert result.highest_Pa == pytest.approx(7e5, rel=2e-3)


def test_several_devices_wait_for_the_slowest(make_bench):
    far = """
[volume.far]
capacity = "100 cm3"
[line.long]
between = ["port", "far"]
bore = "1.5 mm"
length = "2 m"
[device.two]
at = "far"
full_scale = "6 bar gauge"
accuracy = { span = "0.05 %", is = "limits" }
lag = "50 ms"
resolution = "5 Pa"
[device.low]
at = "port"
full_scale = "2 bar gauge"
accuracy = { span = "0.05 %", is = "limits" }
highest = "7 bar gauge"
"""
    bench = make_bench("sequence.up_down.device='one'", extra=far)
    point = settle(bench).points[1]
    assert set(point.devices) == {"one", "two", "low"}
    assert point.device == "two"
    assert point.devices["one"].ready_s < point.devices["two"].ready_s == point.ready_s
    assert point.devices["low"].error_at_reading_Pa is None, "3 bar gauge is beyond its range"
    alone = settle(bench, device="one").points[1]
    assert alone.device == "one" and alone.ready_s == alone.devices["one"].ready_s < point.ready_s


def test_percent_with_several_devices_must_name_one(make_bench):
    two = '[device.two]\nat = "port"\nfull_scale = "6 bar gauge"\naccuracy = { span = "0.05 %", is = "limits" }\n'
    bench = make_bench("sequence.up_down.device='one'", extra=two)
    nameless = replace(bench, sequences={"up_down": replace(bench.sequences["up_down"], device="")})
    with pytest.raises(InputError, match="% with several devices"):
        settle(nameless)
    with pytest.raises(InputError, match='no device "three"'):
        settle(bench, device="three")
    with pytest.raises(InputError, match='no sequence "down"'):
        settle(bench, sequence="down")


def test_zero_gauge_without_a_vent_is_controlled_and_said(make_bench):
    point = settle(make_bench(without="valve.vent")).points[0]
    assert point.mode == "held" and "no authority" in point.notes[0]
    assert point.authority.lost.startswith("outlet")


def test_a_point_near_the_supply_has_lost_its_inlet(make_bench):
    result = settle(make_bench('supply.pressure="4.05 bar abs"'))
    assert result.points[1].authority.lost.startswith("inlet")
    assert result.points[2].authority.lost is None


def test_margins_fall_with_the_volume(make_bench, base):
    """The plant's gain goes with 1/V: a fifth of the manifold and port leaves far less gain margin."""
    small = settle(make_bench('volume.port.capacity="20 cm3"', 'volume.manifold.capacity="4 cm3"'))
    assert small.points[1].margins.gain < 0.5 * base.points[1].margins.gain
    assert base.points[0].margins is None


def test_a_quantised_drive_on_a_tiny_volume_cycles(make_bench):
    sets = ["valve.inlet.levels=20", "valve.outlet.levels=20", 'volume.port.capacity="8 cm3"',
            'volume.manifold.capacity="4 cm3"', 'leak.fitting.rate="2e-5 mol/s"',
            "sequence.up_down.longest='30 s'"]  # fmt: skip
    point = settle(make_bench(*sets)).points[1]
    assert not point.reached and point.limited_by == "ripple" and "governs is ripple" in point.reason
    assert point.cycle is not None and point.cycle.cause == "quantised drive" and point.cycle.cures
    assert point.cycle.share == pytest.approx(point.cycle.amplitude_Pa / point.allowance_Pa)
    step = point.authority.smallest_step_Pa
    assert 0.1 * step < point.cycle.reference_amplitude_Pa < 30.0 * step


def test_a_cycle_longer_than_the_window_is_ripple_and_the_chance_of_the_window_is_said(make_bench):
    """Judged over periods of the known cycle, not over one window, in which it does not turn often enough."""
    sets = ["valve.inlet.levels=20", "valve.outlet.levels=20", 'volume.port.capacity="8 cm3"',
            'volume.manifold.capacity="4 cm3"', 'leak.fitting.rate="2e-6 mol/s"',
            'sequence.up_down.longest="20 s"']  # fmt: skip
    point = settle(make_bench(*sets)).points[1]
    assert point.reached and point.limited_by == "ripple"
    assert point.cycle is not None and point.cycle.period_s > 0.5 * point.window_s
    (note,) = point.notes
    found = re.search(r"may be off by ([\d.]+) Pa, a comparison of single readings by ([\d.]+) Pa$", note)
    assert note.startswith("the window lies between two swings") and found is not None
    assert 0.0 < float(found[1]) <= float(found[2])
    assert point.error_parts_Pa["ripple"] > 2.0 * RANDOM


def test_a_vent_that_is_too_fast_has_its_own_cure_and_a_gauge_device_is_told_in_gauge(make_bench):
    sets = ['device.one.highest_rate="0.2 bar/s"', 'device.one.highest="6 bar gauge"',
            'sequence.up_down.points=["100 %", "0 %"]']  # fmt: skip
    up, vent = settle(make_bench(*sets)).points
    assert up.violations[0].endswith("bar gauge, its highest pressure is 6 bar gauge")
    assert up.violations[1].endswith("a ramp below that keeps it")
    assert vent.mode == "vent" and vent.violations[1].endswith("or come down under control first")


def test_a_controller_known_from_outside(make_bench):
    """No valves are needed; the approach follows the stated rate and its net flow is the gas used."""
    known = '{ rate = "0.5 bar/s", settled_in = "2 s", loop_time = "0.2 s" }'
    bench = make_bench(without="controller", extra=f'[controller]\nreads = "reference"\nbehaviour = {known}\n')
    point = settle(bench).points[1]
    assert point.reached and point.margins is None and point.authority is None
    assert point.peak_rate_Pa_per_s == pytest.approx(0.5e5, rel=0.1)


def test_the_method_says_what_is_net_and_what_the_loop_sees():
    said = " ".join(METHOD.split())
    assert "its gas used is what each step takes in on balance" in said
    assert "`step_shift` as they go on, `zero_shift` as it is at the command" in said
    assert "the larger of the controller's period and the instrument's lag" in said
    assert "Between samples too, wherever the run goes in steps" in said
    assert "from the end of the way, step / rate" in said


def test_trials_are_the_same_for_any_number_of_workers_and_of_trials(make_bench):
    bench = make_bench()
    one, two = (settle(bench, trials=4, workers=w) for w in (1, 2))
    more = settle(bench, trials=6, workers=2)
    assert np.array_equal(one.trials.dwell_s, two.trials.dwell_s, equal_nan=True)
    assert np.array_equal(one.trials.dwell_s, more.trials.dwell_s[:4], equal_nan=True)
    other = settle(bench, trials=4, seed=2)
    assert not np.array_equal(one.trials.dwell_s, other.trials.dwell_s, equal_nan=True)


def test_trials_give_a_band_and_name_what_widens_it(make_bench, base):
    result = settle(make_bench('device.one.resolution="0 Pa"'), trials=30)
    point = result.points[2]
    assert point.dwell_low_s < point.dwell_s < point.dwell_high_s
    assert point.dwell_reached_share == 1.0
    assert result.trials.count == 30 and result.trials.not_reached == 0
    assert result.sensitivity[0].key == "volume.port.wall.film_factor"
    assert base.points[2].dwell_low_s is None and base.sensitivity == ()


def test_groups_cost_what_the_run_with_them_takes_longer(make_bench):
    result = settle(make_bench(), groups=2)
    groups = result.groups
    assert len(groups.groups) <= 2
    assert sorted(n for g in groups.groups for n in g.points) == [1, 2, 3]
    for group in groups.groups:
        assert all(group.dwell_s >= result.points[n - 1].dwell_s for n in group.points)
    assert groups.total_s == pytest.approx(result.total_s + groups.extra_s, abs=1e-6)
    assert groups.largest_share <= 1.0


def test_traces_are_thinned_and_hold_the_ends(base):
    trace = base.trace
    assert trace.time_s[0] == 0.0 and trace.time_s[-1] == pytest.approx(base.total_s, abs=1e-6)
    assert (np.diff(trace.time_s) >= 0.0).all() and trace.time_s.shape[0] < 1300
    assert set(trace.device_Pa) == {"one"} and np.isnan(trace.drive[0])
    zoom = base.zooms[1]
    total = sum(zoom.parts_Pa.values())
    assert total == pytest.approx(zoom.error_Pa["one"], abs=1e-6)


def test_a_slow_cycle_after_a_long_approach_is_seen(make_bench):
    """One step of a quantised inlet lets in what a leak takes in seconds: the loop goes up and down between two steps.

    The swing cannot be less than half of what one step of the drive makes within one sample.
    """
    sets = ["valve.inlet.levels=20", "valve.outlet.levels=20", 'controller.gains={kp=40, ti="10 s"}',
            'leak.fitting.rate="2e-7 mol/s"', 'sequence.up_down.points=["0 %", "50 %"]']  # fmt: skip
    point = settle(make_bench(*sets)).points[1]
    assert point.cycle is not None and point.cycle.cause == "quantised drive"
    assert point.cycle.period_s > 5.0
    assert point.cycle.reference_amplitude_Pa > 0.5 * point.authority.smallest_step_Pa
