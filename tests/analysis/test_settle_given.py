"""A given dwell, in trials and on a loop that hunts, and what trials that fail make of the answer."""

from pathlib import Path

import pytest

from simcal.analysis.settle import settle
from simcal.errors import InputError
from simcal.files.bench_file import load_bench
from simcal.show.jsonout import settle_document
from simcal.show.scales import Setting
from simcal.show.text import settle_text

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.mark.parametrize("how", ["option", "key"])
def test_trials_of_a_given_dwell_are_judged_and_band_the_error(make_bench, how):
    """3 s are too short at the third point in every trial: some 100 Pa are left of 30 Pa."""
    sets, option = ((), 3.0) if how == "option" else (("sequence.up_down.dwell='3 s'",), None)
    bench = make_bench(*sets)
    result = settle(bench, trials=6, dwell_s=option)
    assert result.trials.not_reached == 6
    assert (result.trials.total_low_s, result.trials.total_high_s) == (None, None)
    assert [p.dwell_reached_share for p in result.points] == [1.0, 1.0, 0.0]
    for point in result.points:
        assert (point.dwell_low_s, point.dwell_high_s) == (None, None)
        assert point.error_low_Pa <= point.error_high_Pa
    third = result.points[2]
    assert 30.0 < third.error_low_Pa < third.error_at_reading_Pa < third.error_high_Pa
    document = settle_document(result, bench)
    assert "6 of 6 trials failed" in document["sentence"]
    assert document["points"][2]["error_high_Pa"] == third.error_high_Pa
    assert document["reasons"]["points.*.dwell_low_s"] == "the dwell was given"
    assert "90 % band" in settle_text(result, Setting.of(bench, "one"))


def test_trials_that_reach_every_point_say_so(make_bench):
    result = settle(make_bench(), trials=4, dwell_s=12.0)
    assert result.trials.not_reached == 0
    assert all(p.dwell_reached_share == 1.0 for p in result.points)
    assert result.trials.total_high_s == pytest.approx(result.total_s, rel=0.02)


@pytest.fixture(scope="module")
def short_of_time(make_bench):
    """As long as the nominal third point takes, so that about half of the trials are too late there."""
    plain = settle(make_bench()).points[2]
    bench = make_bench(f'sequence.up_down.longest="{plain.end_s + 0.1:.6f} s"')
    return settle(bench, trials=16, groups=2), bench


def test_trials_that_fail_never_end(short_of_time):
    result, bench = short_of_time
    failed = result.trials.not_reached
    assert result.points[2].reached and 2 <= failed <= 14
    assert result.points[2].dwell_high_s is None and result.points[2].dwell_low_s is not None
    assert result.trials.total_low_s is not None and result.trials.total_high_s is None
    document = settle_document(result, bench)
    assert f"{failed} of 16 trials failed: at least one point not reached" in document["sentence"]
    assert " or more)" in document["sentence"]
    assert document["reasons"]["trials.total_high_s"].startswith("lies among trials")


def test_no_group_covers_trials_that_never_got_there(short_of_time):
    result, _ = short_of_time
    assert result.groups.groups == () and result.groups.total_s is None
    assert result.groups.note == "no dwell covers 95 % of the trials at point 3"


def test_groups_leave_a_given_dwell_alone(make_bench):
    with pytest.raises(InputError, match="has a dwell of its own"):
        settle(make_bench("sequence.up_down.dwell='3 s'"), groups=2)


def test_a_given_dwell_is_good_only_if_every_sample_of_the_window_is():
    """A slow device behind a hunting loop: the means agree, single readings are beyond the allowance."""
    sets = ['device.small.lag="1 s"', 'device.small.allowance="100 Pa"', 'sequence.up_down.points=["0 %", "50 %"]']
    result = settle(load_bench(ROOT / "configs/tiny-volume.toml", sets), dwell_s=8.0)
    point = result.points[1]
    device = point.devices["small"]
    assert point.cycle is not None and point.cycle.reference_amplitude_Pa > 100.0
    assert device.largest_Pa > 100.0 and not point.reached
    assert f"up to {device.largest_Pa:.4g} Pa are left, 100 Pa are allowed" in point.reason
    assert point.error_parts_Pa["ripple"] > 10.0, "from the cycle: one window holds less than one of it"


def test_the_earliest_dwell_is_good_when_it_is_given_and_a_sample_less_is_not(make_bench):
    """Both questions ask the same of every sample."""
    found = settle(make_bench(), device="one").points[1]
    given, before = (settle(make_bench(), dwell_s=d).points[1] for d in (found.dwell_s, found.dwell_s - 0.01))
    assert given.reached and given.devices["one"].largest_Pa <= given.allowance_Pa
    assert not before.reached and before.devices["one"].largest_Pa > before.allowance_Pa
