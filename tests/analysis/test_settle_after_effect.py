"""A dwell that waits for the device's own after-effect, in closed form: f step exp(-t/T) has to die into the allowance.

The bench's own differences are gone long before (below 0.05 Pa, which is 0.1 s of these dwells).
"""

import math

import pytest

from simcal.analysis.settle import settle

PERIOD, SHARE, TIME = 0.01, 1e-3, 60.0
EFFECT = (f"device.one.after_effect={100.0 * SHARE:g} %", f'device.one.after_time="{TIME:g} s"')
WAIT = (*EFFECT, "sequence.up_down.wait_for_after_effect=true")


def left_of(steps, at):
    """What steps (Pa) commanded at the given moments (s) have left at the moment `at`: behind each of them."""
    return -sum(SHARE * step * math.exp(-(at - begun) / TIME) for step, begun in steps)


def mean_left(steps, at, window):
    """Its mean over a window that starts at `at` s: exp(-t/T) integrated."""
    return left_of(steps, at) * TIME / window * (1.0 - math.exp(-window / TIME))


def test_the_dwell_is_as_long_as_the_after_effect_asks(make_bench):
    """T ln(f step / (A - R)) up; down again the rest of the first step works against the second."""
    _, up, down = settle(make_bench(*WAIT)).points
    free = up.allowance_Pa - up.devices["one"].random_Pa
    expected = TIME * math.log(SHARE * 3e5 / free)
    assert expected > 100.0
    assert up.ready_s == pytest.approx(expected, abs=0.2)
    first, second = (3e5, up.start_s), (-1.8e5, down.start_s)
    size = left_of([first, second], down.start_s)
    assert size > free, "the second point waits too"
    assert down.ready_s == pytest.approx(TIME * math.log(size / free), abs=0.2)
    assert up.limited_by == down.limited_by == "device"


def test_it_is_a_part_of_the_error(make_bench):
    """The mean over the window, signed; parts still sum to the error."""
    _, up, down = settle(make_bench(*WAIT)).points
    steps = [(3e5, up.start_s)]
    for point in (up, down):
        steps = steps if point is up else [*steps, (-1.8e5, point.start_s)]
        right = mean_left(steps, point.start_s + point.ready_s, point.window_s)
        assert point.error_parts_Pa["device"] == pytest.approx(right, rel=1e-4)
        assert point.device_effect_Pa == pytest.approx(left_of(steps, point.start_s + point.ready_s), rel=1e-6)
        signed = sum(v for name, v in point.error_parts_Pa.items() if name != "ripple")
        assert signed == pytest.approx(point.error_at_reading_Pa, abs=1e-9)
        assert point.error_at_reading_Pa == pytest.approx(right, abs=0.1)


def test_a_device_read_earlier_shows_what_was_left_then(make_bench):
    """Read 2 s before the reference: exp(2/60) more of it."""
    sets = ("sequence.up_down.dwell='30 s'", 'sequence.up_down.allowance="1 kPa"')
    level, early = (settle(make_bench(*WAIT, *sets, f'sequence.up_down.skew="{s} s"')).points[1] for s in (0, -2))
    assert early.ready_s == level.ready_s
    ratio = early.error_parts_Pa["device"] / level.error_parts_Pa["device"]
    assert ratio == pytest.approx(math.exp(2.0 / TIME), rel=1e-9)


def test_unless_asked_it_stands_beside(make_bench):
    """The answers of a bench without after-effect, to the last digit, and the effect reported."""
    without, beside = settle(make_bench()), settle(make_bench(*EFFECT))
    for one, other in zip(without.points, beside.points, strict=True):
        assert (one.ready_s, one.error_at_reading_Pa) == (other.ready_s, other.error_at_reading_Pa)
        assert other.error_parts_Pa["device"] == 0.0
    assert abs(beside.points[1].device_effect_Pa) > 200.0
