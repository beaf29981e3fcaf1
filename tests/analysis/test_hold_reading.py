"""What the logger shows of a hold: order of rows, seeds, and what sensor, barometer and thermometer add."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from simcal.analysis.hold import hold
from simcal.analysis.hold.reading import lagged
from simcal.bench import network
from simcal.bench.values import Level
from simcal.errors import InputError

STILL = (
    "sensor.reference.noise='0 Pa'", "volume.port.capacity='100 cm3'", "volume.port.wall.film_factor='1'",
    "volume.manifold.wall.film_factor='1'",
)  # fmt: skip


def held(bench, pressure=5e5, **how):
    """A hold of the small bench at an absolute pressure."""
    return hold(bench, pressure=Level(pressure, False), **{"watch_s": 60.0, **how})


def gained(result):
    """What the reading of every row holds beyond the true pressure, less its value at the start of the watch, Pa."""
    more = result.rows.pressure_Pa - result.truth.pressure_Pa
    first = int(np.searchsorted(result.rows.time_s, result.watch_from_s - 1e-9))
    return result.rows.time_s[first:] - result.watch_from_s, more[first:] - more[first]


def drawn(result, key):
    """What a hold drew of one key, SI."""
    return result.truth.drawn[key]


def test_the_same_seed_is_the_same_record_in_any_order_and_on_any_number_of_threads(make_bench):
    bench = make_bench()
    one = {seed: held(bench, seed=seed).rows.pressure_Pa for seed in (1, 2, 3, 4)}
    with ThreadPoolExecutor(2) as threads:
        again = dict(zip((4, 3, 2, 1), threads.map(lambda seed: held(bench, seed=seed).rows.pressure_Pa, (4, 3, 2, 1)),
                         strict=True))  # fmt: skip
    assert all((again[seed] == one[seed]).all() for seed in one)
    assert not (one[1] == one[2]).any()


def test_gains_stay_those_of_the_nominal_bench(make_bench, monkeypatch):
    """Nobody tunes anew for the capacity that a bench happens to have; `settle --trials` does the same."""
    bench = make_bench("controller={ reads = 'reference', tuning = 'simc' }", "volume.port.capacity='100 cm3 +- 20 %'")
    asked, rule = [], network.tuned

    def noted(one, system):
        asked.append(one.volumes["port"].capacity)
        return rule(one, system)

    monkeypatch.setattr(network, "tuned", noted)
    found = held(bench, seed=3, soak_s=5.0, watch_s=10.0)
    assert asked == [100e-6] and drawn(found, "volume.port.capacity") != 100e-6


def test_rows_are_even_and_the_watch_begins_and_ends_with_one(make_bench):
    result = held(make_bench(*STILL), soak_s=20.0, wait_s=5.0, watch_s=31.0, every_s=3.0)
    assert np.allclose(np.diff(result.rows.time_s), 3.0)
    assert result.rows.time_s[0] == 0.0
    assert result.watch_from_s - result.isolated_at_s == pytest.approx(5.0)
    assert result.watch_until_s - result.watch_from_s == pytest.approx(30.0)
    assert result.rows.time_s[-1] == pytest.approx(result.watch_until_s)
    assert np.abs(result.rows.time_s - result.watch_from_s).min() < 1e-9
    assert result.notes == ("the watch of 31 s became 30 s, a whole number of rows",)
    assert 15.0 <= result.isolated_at_s <= 20.0  # as much of the soak as whole rows fill


def test_without_a_soak_the_record_begins_when_the_valves_shut(make_bench):
    result = held(make_bench(*STILL), soak_s=0.0, wait_s=1.0, watch_s=9.0, every_s=3.0)
    assert result.isolated_at_s == 0.0
    assert result.rows.time_s == pytest.approx([1.0, 4.0, 7.0, 10.0])


def test_the_reading_is_gauge_or_absolute_as_the_sensor_is(make_bench):
    gauge = held(make_bench(*STILL))
    assert gauge.reading == "gauge"
    assert gauge.rows.pressure_Pa[0] == pytest.approx(5e5 - 1e5, rel=1e-4)
    absolute = held(make_bench(*STILL, "sensor.reference.full_scale='7 bar abs'"))
    assert absolute.reading == "absolute"
    assert absolute.rows.pressure_Pa[0] == pytest.approx(5e5, rel=1e-4)


def test_a_steady_drift_is_found_in_the_reading_as_drawn(make_bench):
    result = held(make_bench(*STILL, "sensor.reference.drift='3600 Pa/h'"))
    t, more = gained(result)
    rate = drawn(result, "sensor.reference.drift")
    assert 0.01 < abs(rate) < 3.0  # half of 1 Pa/s is its standard deviation
    assert more == pytest.approx(rate * t, abs=1.0)  # the sensor's lag of 10 ms on a falling pressure
    assert result.truth.parts_Pa["other"] == pytest.approx(rate * 60.0, abs=1.5)


def test_the_barometer_moves_a_gauge_reading_against_itself_and_an_absolute_one_not_at_all(make_bench):
    sets = (*STILL, "room.barometer_drift='2 kPa/h'")
    result = held(make_bench(*sets))
    t, more = gained(result)
    rate = drawn(result, "room.barometer_drift")
    assert more == pytest.approx(-rate * t, abs=1.0) and abs(rate) > 0.02
    _, none = gained(held(make_bench(*sets, "sensor.reference.full_scale='7 bar abs'")))
    assert none == pytest.approx(0.0 * t, abs=1.0)


def test_the_zero_follows_the_room(make_bench):
    result = held(make_bench(*STILL, "sensor.reference.zero_shift='1 kPa/K'", "room.ramp='10 K/h'"), watch_s=360.0)
    t, more = gained(result)
    shift = drawn(result, "sensor.reference.zero_shift")
    assert more == pytest.approx(shift * 10.0 / 3600.0 * t, abs=2.0) and abs(shift) > 50.0


def test_the_shift_after_a_step_fades_from_the_move_on(make_bench):
    sets = ("sensor.reference.step_shift='0.1 %'", "sensor.reference.step_recovery='100 s'")
    result = held(make_bench(*STILL, *sets), soak_s=10.0)
    more = result.rows.pressure_Pa - (result.truth.pressure_Pa - 1e5)
    since = result.rows.time_s - result.isolated_at_s + 10.0 + result.moved_in_s
    closed = 1e-3 * (5e5 - 1e5) * np.exp(-since / 100.0)
    quiet = result.rows.time_s > 4.0  # before, the loop still moves and the sensor lags
    assert more[quiet] == pytest.approx(closed[quiet], rel=0.02, abs=1.0)
    below = held(make_bench(*STILL, *sets), soak_s=10.0, direction="above", pressure=4e5)
    assert (below.rows.pressure_Pa - (below.truth.pressure_Pa - 1e5))[0] < -50.0  # the step was down


def test_noise_has_the_stated_size_and_is_white(make_bench):
    _, more = gained(held(make_bench(*STILL[1:], "sensor.reference.noise='50 Pa'"), watch_s=600.0, every_s=0.5))
    # 1201 rows: the standard deviation within 4 of its own standard errors, 50/sqrt(2n) = 1.0 Pa
    assert more.std() == pytest.approx(50.0, abs=4.1)
    steps = np.diff(more)
    assert np.corrcoef(steps[1:], steps[:-1])[0, 1] == pytest.approx(-0.5, abs=0.1)  # of white noise


def test_the_resolution_rounds_what_is_shown(make_bench):
    result = held(make_bench(*STILL, "sensor.reference.resolution='20 Pa'"))
    steps = result.rows.pressure_Pa / 20.0
    assert steps == pytest.approx(np.round(steps), abs=1e-9)
    assert abs(result.truth.parts_Pa["unexplained"]) <= 20.0
    _, more = gained(result)
    assert np.abs(more).max() > 5.0


def test_the_sensor_that_is_logged_may_be_another_than_the_controllers(make_bench):
    other = '[sensor.coarse]\nat = "port"\nfull_scale = "7 bar abs"\nresolution = "100 Pa"\n'
    result = held(make_bench(*STILL, extra=other), sensor="coarse")
    assert result.reading == "absolute"
    assert np.mod(result.rows.pressure_Pa + 50.0, 100.0) == pytest.approx(50.0, abs=1e-6)


def test_a_thermometer_lags_and_has_an_error_of_its_own(make_bench):
    probe = '[thermometer]\nat = "port"\nlag = "30 s"\naccuracy = "0.5 K"\nresolution = "0.01 K"\n'
    warm = "volume.port.wall.warmer='5 K'"
    runs = [held(make_bench(*STILL, warm, extra=probe), seed=seed, watch_s=100.0) for seed in range(1, 25)]
    clear = held(make_bench(*STILL, warm, extra='[thermometer]\nat = "port"\nlag = "0 s"\naccuracy = "0 K"\n'),
                 watch_s=100.0).rows  # fmt: skip
    errors = np.array([run.rows.temperature_K[0] - clear.temperature_K[0] for run in runs])
    assert errors.std() == pytest.approx(0.25, abs=0.15)  # 4 standard errors of 24 draws
    late = runs[0].rows.temperature_K - errors[0] - clear.temperature_K
    speed = np.gradient(clear.temperature_K, clear.time_s)
    assert late[-1] == pytest.approx(-30.0 * speed[-1], abs=0.02) and late[-1] > 0.05
    assert held(make_bench(*STILL)).rows.temperature_K is None


def test_a_lag_on_a_ramp_settles_behind_by_rate_times_lag():
    """A first-order lag T behind a ramp r t: r (t - T + T exp(-t/T))."""
    time = np.sort(np.concatenate([[0.0, 40.0], np.random.default_rng(3).uniform(0.0, 40.0, 30)]))
    assert lagged(2.0 * time, time, 5.0) == pytest.approx(2.0 * (time - 5.0 + 5.0 * np.exp(-time / 5.0)), abs=1e-12)
    assert lagged(time, time, 0.0) is time


@pytest.mark.parametrize(
    ("how", "place", "found"),
    [
        ({"pressure": 9e5}, "--pressure", "9 bar abs is out of reach"),
        ({"pressure": 1e5}, "--pressure", "1 bar abs is out of reach"),
        ({"pressure": 0.9e5}, "--pressure", "out of reach"),
        ({"pressure": 7e5, "direction": "above"}, "--from", "from above, but the bench may not go far enough above 7"),
        ({"direction": "sideways"}, "--from", '"sideways"'),
        ({"sensor": "nobody"}, "--sensor", 'no sensor "nobody"'),
        ({"watch_s": 2.0, "every_s": 3.0}, "--watch", "2 s holds no row, one every 3 s"),
        ({"wait_s": -1.0}, "--watch", "holds no row"),
    ],
)
def test_what_the_bench_must_not_do_is_refused_in_one_line(make_bench, how, place, found):
    with pytest.raises(InputError) as caught:
        held(make_bench(), **how)
    assert caught.value.place == place
    assert found in caught.value.line() and "\n" not in caught.value.line()


def test_a_hold_is_never_above_a_devices_limit(make_bench):
    bench = make_bench("device.one.highest='6 bar gauge'", "sensor.reference.full_scale='8 bar gauge'")
    with pytest.raises(InputError, match="at most 7 bar abs"):
        held(bench, pressure=7.1e5)
    from_above = held(bench, pressure=6e5, direction="above")
    assert from_above.plan.start_Pa == pytest.approx(6.86e5)
    assert 6.86e5 < from_above.highest_Pa < 7e5 and from_above.notes == ()
    over = held(bench, pressure=7e5)
    assert over.highest_Pa > 7e5
    assert over.notes[0].startswith("DEVICE LIMIT BROKEN: one may see 7 bar abs, the peak was 7.0")


def test_below_the_rooms_pressure_the_sides_change(make_bench):
    sets = ("sequence.up_down.points=['50 %']", "sensor.reference.full_scale='2 bar abs'",
            "device.one.full_scale='2 bar abs'")  # fmt: skip
    bench = make_bench(*STILL, *sets, extra='[exhaust]\npressure = "1 kPa abs"\n', without="leak.fitting")
    above, below = (held(bench, pressure=2e4, direction=way, soak_s=1.0) for way in ("above", "below"))
    assert (above.plan.start_Pa, below.plan.start_Pa) == (1e5, 1e4)
    assert above.truth.pressure_Pa[0] == pytest.approx(2e4, rel=0.05) == below.truth.pressure_Pa[0]
    with pytest.raises(InputError, match="from below, but the bench may not go far enough below"):
        held(bench, pressure=1.02e3, direction="below")


def test_a_pressure_that_the_valves_cannot_bring_is_refused(make_bench, monkeypatch):
    monkeypatch.setattr("simcal.analysis.hold.run.LONGEST", 20.0)
    bench = make_bench(extra='[leak.burst]\nat = "manifold"\ndiameter = "2 mm"\n')
    with pytest.raises(InputError, match="is not reached within 20 s"):
        held(bench)


def test_the_only_devices_full_scale_is_the_pressure_unless_stated(make_bench):
    assert hold(make_bench(*STILL), watch_s=10.0).plan.pressure_Pa == 7e5
    two = '[device.two]\nat = "port"\nfull_scale = "6 bar gauge"\nallowance = "5 Pa"\n'
    with pytest.raises(InputError, match="2 devices, so no full scale to hold at"):
        hold(make_bench(*STILL, "sequence.up_down.device=one", extra=two))
