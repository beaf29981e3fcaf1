"""What moves the pressure besides the setpoint, and what is said where a run does not go as planned."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

import simcal.show
from simcal.analysis.settle import settle
from simcal.analysis.settle.point import branch_times, command
from simcal.analysis.settle.rig import make
from simcal.analysis.settle.series import Carried, shift
from simcal.show.jsonout import settle_document

WIDE = 'sequence.up_down.allowance="1000 Pa"'
SETPOINT = 'sequence.up_down.reference_value="setpoint"'


def rig_of(bench):
    return make(bench, "up_down", "one", ("one",))


def test_the_loop_follows_the_shift_of_its_own_sensor(make_bench):
    """0.05 % of 6 bar is 300 Pa too much on the reading: the loop holds the pressure 300 Pa too low."""
    sets = ["sensor.reference.step_shift=0.05 %", 'sensor.reference.step_recovery="100000 s"', SETPOINT, WIDE,
            'sequence.up_down.points=["0 %", "100 %"]', 'sequence.up_down.dwell="60 s"']  # fmt: skip
    point = settle(make_bench(*sets)).points[1]
    assert point.error_at_reading_Pa == pytest.approx(-300.0, abs=10.0)
    assert point.error_parts_Pa["sensor"] == pytest.approx(-300.0 * math.exp(-point.ready_s / 1e5), rel=1e-3)
    assert point.error_parts_Pa["control"] == pytest.approx(0.0, abs=10.0)


def test_the_loop_follows_its_zero_as_it_is_at_the_command(make_bench):
    """100 Pa/K in a room that warms by 20 K/h, 601 s after the start: 334 Pa."""
    sets = ['room.ramp="20 K/h"', SETPOINT, WIDE, 'sequence.up_down.points=["0 %", "50 %"]',
            'sequence.up_down.longest="1800 s"']  # fmt: skip
    bench = make_bench(*sets, 'sequence.up_down.dwell="60 s"').replace("sensor.reference.zero_shift", 1000.0)
    point = settle(bench).points[1]
    off = 1000.0 * 20.0 / 3600.0 * point.start_s
    assert off > 300.0
    assert point.error_at_reading_Pa == pytest.approx(-off, abs=20.0)


def test_what_the_controller_is_told_is_what_its_reading_gets(make_bench):
    """Left from earlier steps, this step's share and the zero's shift: the same at the command as in the comparison."""
    bench = make_bench("sensor.reference.step_shift=0.1 %", 'room.ramp="20 K/h"')
    rig = rig_of(bench.replace("sensor.reference.zero_shift", 30.0))
    carried, step, start = Carried({"reference": 17.0}, {}), rig.steps[1], 40000
    order = command(rig, step, carried, start)
    assert order.shift_Pa == pytest.approx(17.0 + 0.001 * 3e5)
    assert order.shift_time_s == 60.0
    assert order.offset_Pa == pytest.approx(30.0 * 20.0 / 3600.0 * 400.0)
    (seen,) = shift(rig, rig.reference, step, carried, start, np.zeros(1))
    assert order.offset_Pa + order.shift_Pa == pytest.approx(seen)


def test_a_drifting_barometer_parts_gauge_from_absolute(make_bench):
    """Two gauge instruments agree whatever the room does; an absolute one is ahead by drift times the clock."""
    still, moving = (settle(make_bench(WIDE).replace("room.barometer_drift", d)) for d in (0.0, 1.0))
    for one, other in zip(still.points, moving.points, strict=True):
        assert other.error_parts_Pa["sensor"] == 0.0
        assert other.error_at_reading_Pa == pytest.approx(one.error_at_reading_Pa, abs=1.0)
    sets = ['device.one.full_scale="7 bar abs"', 'sequence.up_down.points=["1 bar abs", "4 bar abs", "2 bar abs"]',
            'sequence.up_down.dwell="30 s"', WIDE]  # fmt: skip
    for point in settle(make_bench(*sets).replace("room.barometer_drift", 2.0)).points:
        late = 2.0 * (point.start_s + point.ready_s + 0.5 * point.window_s)
        assert point.error_parts_Pa["sensor"] == pytest.approx(late, abs=1e-6)
        assert point.error_at_reading_Pa == pytest.approx(late, abs=15.0)


def test_trials_draw_the_barometer_and_it_widens_the_error(make_bench):
    sets = ['room.barometer_drift="2 kPa/h"', 'device.one.full_scale="7 bar abs"', WIDE,
            'sequence.up_down.points=["1 bar abs", "4 bar abs"]', 'sequence.up_down.dwell="60 s"']  # fmt: skip
    point = settle(make_bench(*sets), trials=12).points[1]
    assert point.error_high_Pa - point.error_low_Pa > 40.0, "60 s to 120 s at about 0.28 Pa/s, both signs"


def test_a_run_that_ends_at_its_first_sample_is_told(make_bench):
    sets = ['valve.outlet.conductance="1e-4 m3/(s Pa)"', 'valve.inlet.conductance="1e-4 m3/(s Pa)"',
            'volume.manifold.capacity="0.02 cm3"', 'volume.manifold.wall.bore="2 mm"', 'exhaust.pressure="1 Pa abs"',
            'supply.pressure="300 bar abs"', 'controller.period="1 s"', 'sequence.up_down.longest="2 s"',
            'sequence.up_down.points=["50 %", "20 %"]']  # fmt: skip
    bench = make_bench(*sets)
    result = settle(bench, trials=2)
    assert result.total_s == 0.0 and not result.reached_end and len(result.points) == 1
    assert "the run ended here" in result.points[0].reason
    assert result.points[0].peak_Pa == pytest.approx(1e5) and result.highest_Pa == pytest.approx(1e5)
    schema = json.loads((Path(simcal.show.__file__).parent / "schemas/settle.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator(schema).validate(json.loads(json.dumps(settle_document(result, bench), allow_nan=False)))


def test_a_point_after_a_missed_one_begins_where_the_pressure_is(make_bench):
    """A far too small inlet: 80 % after 100 % is still a way up, and nothing was overshot."""
    sets = ['valve.inlet.conductance="1e-12 m3/(s Pa)"', 'sequence.up_down.longest="20 s"',
            'sequence.up_down.points=["0 %", "100 %", "80 %", "0 %"]', 'device.one.overshoot="50 Pa"',
            "device.one.after_effect=0.1 %", 'device.one.after_time="100000 s"']  # fmt: skip
    first, missed, after, last = settle(make_bench(*sets)).points
    assert not missed.reached and not after.reached
    assert (missed.direction, after.direction, last.direction) == ("up", "up", "down")
    assert 0.0 < after.step_Pa < 4.8e5
    assert after.overshoot_Pa == 0.0 and after.violations == () and after.void is None and after.reason
    assert after.nearness_Pa == pytest.approx(max(0.01 * after.step_Pa, after.allowance_Pa))
    assert last.void is None and last.violations == ()
    # the steps that were made add up: back at zero nothing is left of the after-effect
    assert last.device_effect_Pa == pytest.approx(0.0, abs=1.0)
    assert first.reached and last.step_Pa < 0.0


def test_a_branch_is_looked_at_early_and_late():
    times = branch_times(1800.0, 0.01)
    assert times[0] == 0.0 and times[-1] == 1800.0 and (np.diff(times) > 0.0).all()
    assert np.diff(times)[times[1:] < 10.0].max() < 0.5 and np.diff(times).max() < 10.0
